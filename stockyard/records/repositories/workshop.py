"""The workshop's settings, kept as dated entries: the newest of a key stands, older ones can be read."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import func, insert, select

from stockyard.records.repositories.repository import Repository
from stockyard.records.tables import SettingRow

CURRENCY = "currency"
OFFCUT_POLICY = "offcut_policy"
NUMBERS = "numbers"

STARTING: Mapping[str, Any] = {
    CURRENCY: "AUD",
    OFFCUT_POLICY: "volume",
    NUMBERS: {"separator": "-", "digits": 4},
}
"""What a new yard starts with until the workshop says otherwise (common practice, no published source)."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One dated entry of a setting."""

    key: str
    value: Any
    effective: date
    at: datetime
    who: str


class WorkshopRepository(Repository):
    """Settings by key. A value is anything JSON can say."""

    def get(self, key: str, otherwise: Any = None) -> Any:
        """What stands for `key`; what a new yard starts with, or `otherwise`, when nothing was ever set."""
        found = self._connection.execute(
            select(SettingRow.value).where(SettingRow.key == key).order_by(SettingRow.id.desc()).limit(1)
        ).first()
        return found[0] if found is not None else STARTING.get(key, otherwise)

    def on(self, key: str, day: date) -> Any:
        """What counts for `key` on a day: of the entries that count by then, the one from the latest day."""
        found = self._connection.execute(
            select(SettingRow.value)
            .where(SettingRow.key == key, SettingRow.effective <= day)
            .order_by(SettingRow.effective.desc(), SettingRow.id.desc())
            .limit(1)
        ).first()
        return found[0] if found is not None else STARTING.get(key)

    def set(self, key: str, value: Any, effective: date | None = None) -> None:
        """Add a dated entry, which stands from now on; `on` counts it from `effective`, today when None."""
        day = effective or self._work.today
        row = {"key": key, "value": value, "effective": day, **self._signature}
        self._connection.execute(insert(SettingRow), row)

    def all(self) -> dict[str, Any]:
        """Everything that stands, starting values included."""
        newest = select(func.max(SettingRow.id)).group_by(SettingRow.key)
        rows = self._connection.execute(
            select(SettingRow.key, SettingRow.value).where(SettingRow.id.in_(newest))
        )
        return {**STARTING, **dict(rows.all())}

    def history(self, key: str) -> tuple[Entry, ...]:
        """Every entry of a key, the oldest first."""
        rows = self._connection.execute(
            select(SettingRow.key, SettingRow.value, SettingRow.effective, SettingRow.at, SettingRow.who)
            .where(SettingRow.key == key)
            .order_by(SettingRow.id)
        )
        return tuple(Entry(*row) for row in rows)

    @property
    def currency(self) -> str:
        """The yard's currency (an ISO 4217 code)."""
        return str(self.get(CURRENCY))

    def offcut_policy_on(self, day: date) -> str:
        """By which policy the value of a board cut on that day is shared (a word of ledger.OffcutPolicy)."""
        return str(self.on(OFFCUT_POLICY, day))
