"""Counts of places: begun, read into, and closed with what they came to."""

from collections.abc import Iterable, Mapping
from typing import Any

from sqlalchemy import exists, insert, literal, or_, select, update
from sqlalchemy.exc import IntegrityError

from stockyard.errors import NotFound, Refused
from stockyard.records.repositories.counts import next_numbers
from stockyard.records.repositories.repository import Repository, near
from stockyard.records.tables import (
    MovementLineRow,
    MovementRow,
    PieceChangeRow,
    PieceRow,
    StocktakeExpectedRow,
    StocktakeRow,
    StocktakeScanRow,
)
from stockyard.timber.piece import PieceKind
from stockyard.timber.stocktake import Scan, Seen, Stocktake

_COLUMNS = (
    StocktakeRow.number,
    StocktakeRow.place,
    StocktakeRow.at,
    StocktakeRow.who,
    StocktakeRow.closed_at,
    StocktakeRow.closed_by,
    StocktakeRow.outcome,
)


class StocktakeRepository(Repository):
    """Counts by number."""

    def start(self, place: str) -> Stocktake:
        """Begin a count of a place; the boards and offcuts that stand there now are expected in it.

        Raises NotFound for a place where nothing ever stood, Refused while it is being counted already.
        """
        places = self._connection.execute(select(PieceRow.place).distinct()).scalars().all()
        if place not in places:
            raise NotFound("place", place, near(place, [each for each in places if each]))
        number = next_numbers(self._connection, "stocktake")
        row = {"number": number, "place": place, "open_place": place, **self._signature}
        try:
            id_ = self._connection.execute(insert(StocktakeRow).returning(StocktakeRow.id), row).scalar_one()
        except IntegrityError:
            raise Refused(f"{place} is being counted already; go on with that count, or drop it.") from None
        # A stave waits at the bench for its panel, wherever its board once stood.
        there = select(literal(id_), PieceRow.id).where(
            PieceRow.on_hand == 1, PieceRow.place == place, PieceRow.kind != PieceKind.STAVE
        )
        self._connection.execute(
            insert(StocktakeExpectedRow).from_select(["stocktake_id", "piece_id"], there)
        )
        return self.get(number)

    def get(self, number: int, *, hold: bool = False) -> Stocktake:
        """The count of that number; hold: until this unit of work ends. Raises NotFound."""
        asked = select(*_COLUMNS).where(StocktakeRow.number == number)
        row = self._connection.execute(asked.with_for_update() if hold else asked).first()
        if row is None:
            raise NotFound("stocktake", str(number))
        return _stocktake(row)

    def all(self) -> tuple[Stocktake, ...]:
        """Every count, the oldest first."""
        rows = self._connection.execute(select(*_COLUMNS).order_by(StocktakeRow.number))
        return tuple(map(_stocktake, rows))

    def expected(self, number: int) -> tuple[str, ...]:
        """What stood in the place when the count began, by number."""
        rows = self._connection.execute(
            select(PieceRow.number)
            .join(StocktakeExpectedRow, StocktakeExpectedRow.piece_id == PieceRow.id)
            .where(StocktakeExpectedRow.stocktake_id == self._row_id(number))
            .order_by(PieceRow.number)
        )
        return tuple(rows.scalars())

    def touched(self, number: int) -> frozenset[str]:
        """Those expected that came, went or were moved, by the books, since the count began."""
        began = self.get(number).at
        moved = exists().where(
            PieceChangeRow.piece_id == PieceRow.id, PieceChangeRow.fact == "place", PieceChangeRow.at > began
        )
        came_or_went = (
            exists()
            .where(MovementLineRow.piece_id == PieceRow.id, MovementLineRow.on_hand != 0)
            .where(MovementRow.id == MovementLineRow.movement_id, MovementRow.at > began)
        )
        rows = self._connection.execute(
            select(PieceRow.number)
            .join(StocktakeExpectedRow, StocktakeExpectedRow.piece_id == PieceRow.id)
            .where(StocktakeExpectedRow.stocktake_id == self._row_id(number), or_(moved, came_or_went))
        )
        return frozenset(rows.scalars())

    def add(self, number: int, scans: Iterable[Scan]) -> None:
        """Write down what was read off the rack; the count must be held and open."""
        id_ = self._row_id(number)
        rows = [
            {
                "stocktake_id": id_,
                "number": scan.number,
                "counted": int(scan.counted),
                **dict(
                    zip(("length_mm", "width_mm", "thickness_mm"), scan.size_mm or (None,) * 3, strict=True)
                ),
                "seen": None if scan.seen is None else _told(scan.seen),
                **self._signature,
            }
            for scan in scans
        ]
        if rows:
            self._connection.execute(insert(StocktakeScanRow), rows)

    def scans(self, number: int) -> tuple[Scan, ...]:
        """Everything read, in order."""
        row = StocktakeScanRow
        rows = self._connection.execute(
            select(
                row.number,
                row.counted,
                row.length_mm,
                row.width_mm,
                row.thickness_mm,
                row.seen,
                row.at,
                row.who,
            )
            .where(row.stocktake_id == self._row_id(number))
            .order_by(row.id)
        )
        return tuple(
            Scan(
                name,
                bool(counted),
                None if length is None else (length, width, thickness),
                None if seen is None else Seen(seen["on_hand"], seen["place"], tuple(seen["size_mm"])),
                at,
                who,
            )
            for name, counted, length, width, thickness, seen, at, who in rows
        )

    def close(self, number: int, outcome: Mapping[str, Any]) -> None:
        """End a count with what it came to; the count must be held and open."""
        self._connection.execute(
            update(StocktakeRow)
            .where(StocktakeRow.number == number)
            .values(
                open_place=None, closed_at=self._work.now, closed_by=self._work.who, outcome=dict(outcome)
            )
        )

    def _row_id(self, number: int) -> int:
        found = self._connection.execute(
            select(StocktakeRow.id).where(StocktakeRow.number == number)
        ).scalar()
        if found is None:
            raise NotFound("stocktake", str(number))
        return found


def _told(seen: Seen) -> dict[str, Any]:
    return {"on_hand": seen.on_hand, "place": seen.place, "size_mm": list(seen.size_mm)}


def _stocktake(row: Any) -> Stocktake:
    number, place, at, who, closed_at, closed_by, outcome = row
    return Stocktake(number, place, at, who, closed_at, closed_by or "", outcome)
