"""Consumables: by name, and what the movements say there is of each."""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import func, insert, select

from stockyard.errors import NotFound
from stockyard.records.columns import Money, Quantity
from stockyard.records.repositories.repository import Repository, near
from stockyard.records.tables import JobRow, MovementLineRow, SupplyRow
from stockyard.timber.movement import Account
from stockyard.timber.supply import Shelf, Supply


class SupplyRepository(Repository):
    """Consumables. Case and spaces around a name do not tell them apart."""

    def add(self, supply: Supply) -> None:
        """Keep a consumable whose name is not kept yet."""
        row = {
            "name": supply.name,
            "kind": supply.kind,
            "unit": supply.unit,
            "note": supply.note,
            **self._signature,
        }
        self._connection.execute(insert(SupplyRow), row)

    def all(self) -> tuple[Supply, ...]:
        """Every consumable, by name."""
        rows = self._connection.execute(
            select(SupplyRow.name, SupplyRow.kind, SupplyRow.unit, SupplyRow.note).order_by(SupplyRow.name)
        )
        return tuple(Supply(*row) for row in rows)

    def find(self, name: str) -> Supply | None:
        """The consumable of that name, or None."""
        # Compared here: SQLite's lower() knows only ASCII.
        return next((each for each in self.all() if _key(each.name) == _key(name)), None)

    def get(self, name: str) -> Supply:
        """The consumable of that name. Raises NotFound, with near names."""
        found = self.find(name)
        if found is None:
            raise NotFound("consumable", name, near(name, [each.name for each in self.all()]))
        return found

    def shelves(self, as_of: date | None = None) -> dict[str, Shelf]:
        """What there is of every consumable by the end of a day; of all that is booked when None."""
        line = MovementLineRow
        asked: Any = (
            select(
                SupplyRow.name,
                func.sum(line.quantity, type_=Quantity()),
                func.sum(line.value, type_=Money()),
            )
            .join(line, line.supply_id == SupplyRow.id)
            .where(line.account == Account.SUPPLIES)
            .group_by(SupplyRow.name)
        )
        if as_of is not None:
            asked = asked.where(line.effective <= as_of)
        shelves = dict.fromkeys((each.name for each in self.all()), Shelf())
        shelves |= {name: Shelf(quantity, value) for name, quantity, value in self._connection.execute(asked)}
        return shelves

    def newest(self, name: str) -> date | None:
        """The day of a consumable's newest movement, None while there is none."""
        found: date | None = self._connection.execute(
            select(func.max(MovementLineRow.effective))
            .join(SupplyRow, SupplyRow.id == MovementLineRow.supply_id)
            .where(MovementLineRow.account == Account.SUPPLIES, SupplyRow.name == name)
        ).scalar()
        return found

    def used_by(self, job: str) -> dict[str, tuple[Decimal, Decimal]]:
        """By consumable, how much a job has used and what that cost; what was taken back is taken off."""
        line, borne = MovementLineRow, MovementLineRow.__table__.alias("borne")
        rows = self._connection.execute(
            select(
                SupplyRow.name,
                func.sum(line.quantity, type_=Quantity()),
                func.sum(line.value, type_=Money()),
            )
            .join(line, line.supply_id == SupplyRow.id)
            .join(borne, (borne.c.movement_id == line.movement_id) & (borne.c.job_id.is_not(None)))
            .join(JobRow, JobRow.id == borne.c.job_id)
            .where(line.account == Account.SUPPLIES, JobRow.name == job)
            .group_by(SupplyRow.name)
            .order_by(SupplyRow.name)
        )
        return {name: (-(quantity or Decimal(0)), -value) for name, quantity, value in rows}

    # What follows serves the other repositories.

    def lock(self, names: Iterable[str]) -> dict[str, int]:
        """Row ids by exact name, the rows held until this unit of work ends. Raises NotFound."""
        wanted = sorted(set(names))
        if not wanted:
            return {}
        rows = self._connection.execute(
            select(SupplyRow.name, SupplyRow.id)
            .where(SupplyRow.name.in_(wanted))
            .order_by(SupplyRow.name)
            .with_for_update()
        )
        found = dict(rows.all())
        for name in wanted:
            if name not in found:
                raise NotFound("consumable", name, near(name, [each.name for each in self.all()]))
        return found


def _key(name: str) -> str:
    return " ".join(name.split()).casefold()
