"""The stock on any date: what was on hand, where, how much of it, and what it stood for in the books."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import Select, case, exists, func, or_, select

from stockyard.ledger.agreement import Disagreement
from stockyard.ledger.fold import Sums
from stockyard.records.columns import Money
from stockyard.records.repositories.repository import Repository, chunks
from stockyard.records.tables import (
    DeliveryRow,
    MovementLineRow,
    MovementRow,
    PieceChangeRow,
    PieceRow,
    SpeciesRow,
    SupplierRow,
)
from stockyard.timber.movement import Account, MovementKind
from stockyard.timber.piece import PieceKind, PieceStatus

DATED = ("length_mm", "width_mm", "thickness_mm", "place")
"""Facts of a piece that a look back on the stock must show as they were."""


@dataclass(frozen=True, slots=True)
class HeldPiece:
    """A piece that was on hand on some date, as it was then."""

    number: str
    kind: PieceKind
    species: str
    length_mm: float
    width_mm: float
    thickness_mm: float
    place: str
    supplier: str | None
    delivery: str | None
    status: PieceStatus
    value: Decimal
    volume_mm3: int


_FACTS = tuple(HeldPiece.__dataclass_fields__)[:9]


@dataclass(frozen=True, slots=True)
class HeldGroup:
    """Pieces on hand that agree in everything but size along and across, added up."""

    species: str
    thickness_mm: float
    place: str
    status: PieceStatus
    delivery: str | None
    pieces: int
    length_mm: float
    volume_mm3: int
    value: Decimal


class StockRepository(Repository):
    """The stock as sums of the ledger.

    as_of: what counts by the end of that day; None for all that is booked, read from what the pieces show.
    """

    def held(self, as_of: date | None = None) -> list[HeldPiece]:
        """Every piece on hand, by number, with its facts as they were."""
        return [piece for _, piece in self._held(as_of)]

    def grouped(self, as_of: date | None = None) -> list[HeldGroup]:
        """Sums by species, thickness, place, status and docket, in that order."""
        asked, value, volume, status = _asked(as_of)
        keys = (SpeciesRow.name, PieceRow.thickness_mm, PieceRow.place, status, DeliveryRow.docket)
        asked = asked.with_only_columns(
            *keys,
            func.count(),
            func.sum(PieceRow.length_mm),
            func.sum(volume),
            func.sum(value, type_=Money()),
            maintain_column_froms=True,
        )
        groups: dict[tuple[Any, ...], list[Any]] = {}
        later = [] if as_of is None else [_changed_since(as_of)]
        for row in self._connection.execute(asked.where(*(~each for each in later)).group_by(*keys)):
            groups[tuple(row[:5])] = list(row[5:])
        if as_of is not None:
            # The few that have been moved or measured again since are as they were then, one by one.
            for _, piece in self._held(as_of, only_changed=True):
                key = (piece.species, piece.thickness_mm, piece.place, piece.status, piece.delivery)
                sums = groups.setdefault(key, [0, 0.0, 0, Decimal(0)])
                for place, more in enumerate((1, piece.length_mm, piece.volume_mm3, piece.value)):
                    sums[place] += more
        return [
            HeldGroup(
                species, thickness, place, PieceStatus(status), docket, count, length, int(volume), value
            )
            for (species, thickness, place, status, docket), (count, length, volume, value) in sorted(
                groups.items(), key=lambda item: tuple(str(part) for part in item[0])
            )
        ]

    def shown(self) -> dict[str, Sums]:
        """What every piece shows, for proving it against the movements."""
        rows = self._connection.execute(
            select(
                PieceRow.number,
                PieceRow.on_hand,
                PieceRow.promised_plan_id,
                PieceRow.value,
                PieceRow.volume_mm3,
            )
        )
        return {
            number: Sums(on_hand, int(plan is not None), value, volume)
            for number, on_hand, plan, value, volume in rows
        }

    def totals(self, as_of: date | None = None) -> tuple[int, int, Decimal]:
        """Pieces on hand, their volume [mm3] and what they stand for."""
        if as_of is not None:
            return self.accounts(as_of).get(Account.STOCK, (0, 0, Decimal(0)))
        asked: Any = select(
            func.count(), func.sum(PieceRow.volume_mm3), func.sum(PieceRow.value, type_=Money())
        ).where(PieceRow.on_hand == 1)
        pieces, volume, value = self._connection.execute(asked).one()
        return int(pieces), int(volume or 0), value or Decimal(0)

    def accounts(self, as_of: date | None = None) -> dict[Account, tuple[int, int, Decimal]]:
        """What each account has come to: pieces, volume [mm3] and value; unused ones are not there."""
        line = MovementLineRow
        asked: Any = select(
            line.account,
            func.sum(line.on_hand),
            func.sum(line.volume_mm3),
            func.sum(line.value, type_=Money()),
        ).group_by(line.account)
        if as_of is not None:
            asked = asked.where(line.effective <= as_of)
        return {
            Account(name): (int(pieces), int(volume), value)
            for name, pieces, volume, value in self._connection.execute(asked)
        }

    def summed(
        self, by: Sequence[str], as_of: date | None = None
    ) -> dict[tuple[Any, ...], tuple[int, int, Decimal]]:
        """Pieces on hand, volume [mm3] and value by any of species, thickness, place, status and docket."""
        if as_of is not None:
            return self._regrouped(by, as_of)
        columns = {
            "species": PieceRow.species_id,
            "thickness": PieceRow.thickness_mm,
            "place": PieceRow.place,
            "status": _status(PieceRow.promised_plan_id.is_not(None)),
            "docket": PieceRow.delivery_id,
        }
        keys = [columns[name] for name in by]
        asked = (
            select(
                *keys, func.count(), func.sum(PieceRow.volume_mm3), func.sum(PieceRow.value, type_=Money())
            )
            .where(PieceRow.on_hand == 1)
            .group_by(*keys)
        )
        # Numbers are grouped in the database, and only then given their names: there are few.
        names = {name: dict(self._connection.execute(_NAMES[name]).all()) for name in by if name in _NAMES}
        sums: dict[tuple[Any, ...], tuple[int, int, Decimal]] = {}
        for *found, pieces, volume, value in self._connection.execute(asked):
            key = tuple(
                names[name].get(part, "") if name in names else part
                for name, part in zip(by, found, strict=True)
            )
            was = sums.get(key, (0, 0, Decimal(0)))
            if pieces:
                sums[key] = (was[0] + int(pieces), was[1] + int(volume), was[2] + value)
        return sums

    def _regrouped(self, by: Sequence[str], as_of: date) -> dict[tuple[Any, ...], tuple[int, int, Decimal]]:
        sums: dict[tuple[Any, ...], tuple[int, int, Decimal]] = {}
        for group in self.grouped(as_of):
            facts = {
                "species": group.species,
                "thickness": group.thickness_mm,
                "place": group.place,
                "status": group.status.value,
                "docket": group.delivery or "",
            }
            key = tuple(facts[name] for name in by)
            was = sums.get(key, (0, 0, Decimal(0)))
            sums[key] = (was[0] + group.pieces, was[1] + group.volume_mm3, was[2] + group.value)
        return sums

    def first_days(self, numbers: Iterable[str]) -> dict[str, date]:
        """The day each piece first came on hand."""
        found: dict[str, date] = {}
        for some in chunks(numbers):
            rows = self._connection.execute(
                select(PieceRow.number, func.min(MovementLineRow.effective))
                .join(MovementLineRow, MovementLineRow.piece_id == PieceRow.id)
                .where(PieceRow.number.in_(some), MovementLineRow.on_hand > 0)
                .group_by(PieceRow.number)
            )
            found.update(dict(rows.all()))
        return found

    def ever_cut(self) -> bool:
        """Was anything ever cut, whether or not that was taken back?"""
        asked = select(MovementRow.id).where(MovementRow.kind == MovementKind.CUT).limit(1)
        return self._connection.execute(asked).first() is not None

    def disagreements(self) -> list[Disagreement]:
        """Everything that does not add up, found by the database itself; an empty list is a proof.

        The same as ledger.disagreements over every movement, for a yard too large to read whole.
        """
        line = MovementLineRow
        lopsided = self._connection.execute(
            select(line.movement_id, func.sum(line.value, type_=Money()))
            .group_by(line.movement_id)
            .having(func.sum(line.value) != 0)
            .order_by(line.movement_id)
        )
        found = [Disagreement(f"movement {id_}", "a complete movement", str(left)) for id_, left in lopsided]
        sums = (
            select(
                line.piece_id,
                func.sum(line.on_hand).label("on_hand"),
                func.sum(line.promised).label("promised"),
                func.sum(line.value, type_=Money()).label("value"),
                func.sum(line.volume_mm3).label("volume_mm3"),
            )
            .where(line.piece_id.is_not(None))
            .group_by(line.piece_id)
            .subquery()
        )
        promised = case((PieceRow.promised_plan_id.is_(None), 0), else_=1)
        shown = (PieceRow.on_hand, promised, PieceRow.value, PieceRow.volume_mm3)
        summed = [
            func.coalesce(column, 0, type_=column.type)
            for column in (sums.c.on_hand, sums.c.promised, sums.c.value, sums.c.volume_mm3)
        ]
        rows = self._connection.execute(
            select(PieceRow.number, *shown, *summed)
            .outerjoin(sums, sums.c.piece_id == PieceRow.id)
            .where(or_(*(told != adds_up for told, adds_up in zip(shown, summed, strict=True))))
            .order_by(PieceRow.number)
        )
        for number, *figures in rows:
            told, adds_up = (Sums(a, int(b), c, int(d)) for a, b, c, d in (figures[:4], figures[4:]))
            found.append(Disagreement(number, str(told), str(adds_up)))
        return found

    def _held(self, as_of: date | None, only_changed: bool = False) -> list[tuple[int, HeldPiece]]:
        asked, value, volume, status = _asked(as_of)
        asked = asked.with_only_columns(
            PieceRow.id,
            PieceRow.number,
            PieceRow.kind,
            SpeciesRow.name,
            PieceRow.length_mm,
            PieceRow.width_mm,
            PieceRow.thickness_mm,
            PieceRow.place,
            SupplierRow.name,
            DeliveryRow.docket,
            status,
            value,
            volume,
            maintain_column_froms=True,
        ).order_by(PieceRow.number)
        if as_of is not None and only_changed:
            asked = asked.where(_changed_since(as_of))
        rows: Any = self._connection.execute(asked)
        held = []
        for id_, *facts, status, value, volume in rows:
            sums = {"status": PieceStatus(status), "value": value, "volume_mm3": int(volume)}
            held.append((id_, HeldPiece(**dict(zip(_FACTS, facts, strict=True)), **sums)))
        if as_of is None:
            return held
        then = self._facts_on(as_of)
        return [(id_, replace(piece, **then.get(id_, {}))) for id_, piece in held]

    def _facts_on(self, as_of: date) -> dict[int, dict[str, Any]]:
        """What pieces changed since `as_of` were on that day, where it differs from what they are."""
        changed = select(PieceChangeRow.piece_id).where(
            PieceChangeRow.fact.in_(DATED), PieceChangeRow.effective > as_of
        )
        rows = self._connection.execute(
            select(
                PieceChangeRow.piece_id,
                PieceChangeRow.fact,
                PieceChangeRow.old,
                PieceChangeRow.new,
                PieceChangeRow.effective,
            )
            .where(PieceChangeRow.fact.in_(DATED), PieceChangeRow.piece_id.in_(changed))
            .order_by(PieceChangeRow.effective, PieceChangeRow.id)
        )
        facts: dict[int, dict[str, Any]] = {}
        for piece_id, fact, old, new, effective in rows:
            then = facts.setdefault(piece_id, {})
            if effective <= as_of:
                then[fact] = new
            else:
                then.setdefault(fact, old)
        return facts


_NAMES: dict[str, Any] = {
    "species": select(SpeciesRow.id, SpeciesRow.name),
    "docket": select(DeliveryRow.id, DeliveryRow.docket),
}


def _asked(as_of: date | None) -> tuple[Select[*tuple[Any, ...]], Any, Any, Any]:
    """Pieces on hand, and the expressions of their value, volume and status, now or as the lines add up."""
    asked = (
        select(PieceRow.id)
        .select_from(PieceRow)
        .join(SpeciesRow, SpeciesRow.id == PieceRow.species_id)
        .outerjoin(DeliveryRow, DeliveryRow.id == PieceRow.delivery_id)
        .outerjoin(SupplierRow, SupplierRow.id == DeliveryRow.supplier_id)
    )
    if as_of is None:
        status = _status(PieceRow.promised_plan_id.is_not(None))
        return asked.where(PieceRow.on_hand == 1), PieceRow.value, PieceRow.volume_mm3, status
    line = MovementLineRow
    sums = (
        select(
            line.piece_id,
            func.sum(line.promised).label("promised"),
            func.sum(line.value, type_=Money()).label("value"),
            func.sum(line.volume_mm3).label("volume_mm3"),
        )
        .where(line.piece_id.is_not(None), line.effective <= as_of)
        .group_by(line.piece_id)
        .having(func.sum(line.on_hand) > 0)
        .subquery()
    )
    asked = asked.join(sums, sums.c.piece_id == PieceRow.id)
    return asked, sums.c.value, sums.c.volume_mm3, _status(sums.c.promised > 0)


def _status(promised: Any) -> Any:
    return case(
        (promised, PieceStatus.PROMISED.value),
        (PieceRow.kind == PieceKind.STAVE, PieceStatus.IN_WORK.value),
        else_=PieceStatus.FREE.value,
    )


def _changed_since(as_of: date) -> Any:
    return exists().where(
        PieceChangeRow.piece_id == PieceRow.id,
        PieceChangeRow.fact.in_(DATED),
        PieceChangeRow.effective > as_of,
    )
