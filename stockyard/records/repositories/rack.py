"""The rack a page at a time, however long it is, and what the pieces asked for come to."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from sqlalchemy import ColumnElement, and_, func, or_, select

from stockyard.errors import NotFound
from stockyard.records.columns import Money
from stockyard.records.repositories.piece_rows import matching, piece_of, select_pieces, summed
from stockyard.records.repositories.repository import Repository
from stockyard.records.tables import (
    DefectRow,
    DefectVersionRow,
    MovementLineRow,
    PieceChangeRow,
    PieceRow,
    ReadingRow,
    SpeciesRow,
)
from stockyard.timber.piece import Piece
from stockyard.timber.rack_query import RackOrder, RackQuery, RackTotals

_UNREAD = 1e9  # stands last among the driest

_SORTED_BY: dict[RackOrder, tuple[Any, bool]] = {
    RackOrder.LONGEST: (PieceRow.length_mm, True),
    RackOrder.WIDEST: (PieceRow.width_mm, True),
    RackOrder.THICKEST: (PieceRow.thickness_mm, True),
    RackOrder.DRIEST: (func.coalesce(PieceRow.moisture_pct, _UNREAD), False),
    RackOrder.DEAREST: (PieceRow.value, True),
}
"""The column of each order, and whether the greatest stands first."""


class RackRepository(Repository):
    """Pieces in pages, each beginning after the last piece of the one before."""

    def page(
        self,
        query: RackQuery,
        order: RackOrder = RackOrder.NUMBER,
        after: str | None = None,
        limit: int = 60,
    ) -> list[Piece]:
        """The next pieces of a query in an order. after: the number of the last piece already shown.

        Raises NotFound for a piece that never was; one that has gone since still says where to go on.
        """
        conditions = matching(query)
        if after is not None:
            conditions.append(self._beyond(order, after))
        column, falls = _SORTED_BY.get(order, (None, False))
        keys = [] if column is None else [column.desc() if falls else column]
        asked = select_pieces().where(*conditions).order_by(*keys, PieceRow.number).limit(limit)
        return [piece_of(row) for row in self._connection.execute(asked)]

    def totals(self, query: RackQuery) -> RackTotals:
        """What all the pieces of a query come to."""
        asked = summed(
            query,
            func.count(),
            func.sum(PieceRow.volume_mm3),
            func.sum(PieceRow.length_mm),
            func.sum(PieceRow.value, type_=Money()),
        )
        count, volume, length, value = self._connection.execute(asked).one()
        return RackTotals(count, int(volume or 0), float(length or 0), value or Decimal(0))

    def ends(self, place: str, limit: int) -> list[tuple[float, float]]:
        """Width and thickness of pieces on hand in a place, the thickest and widest first. [mm]"""
        rows = self._connection.execute(
            select(PieceRow.width_mm, PieceRow.thickness_mm)
            .where(PieceRow.on_hand == 1, PieceRow.place == place)
            .order_by(PieceRow.thickness_mm.desc(), PieceRow.width_mm.desc(), PieceRow.number)
            .limit(limit)
        )
        return [(width, thickness) for width, thickness in rows]

    def places(self) -> dict[str, int]:
        """Where pieces on hand stand, by name, and how many there."""
        rows = self._connection.execute(
            select(PieceRow.place, func.count())
            .where(PieceRow.on_hand == 1)
            .group_by(PieceRow.place)
            .order_by(PieceRow.place)
        )
        return dict(rows.all())

    def species(self) -> dict[str, int]:
        """Of which species there are pieces on hand, by name, and how many."""
        rows = self._connection.execute(
            select(SpeciesRow.name, func.count())
            .join(PieceRow, PieceRow.species_id == SpeciesRow.id)
            .where(PieceRow.on_hand == 1)
            .group_by(SpeciesRow.name)
            .order_by(SpeciesRow.name)
        )
        return dict(rows.all())

    def thicknesses(self) -> dict[float, int]:
        """Which thicknesses there are on hand, and how many of each. [mm]"""
        rows = self._connection.execute(
            select(PieceRow.thickness_mm, func.count())
            .where(PieceRow.on_hand == 1)
            .group_by(PieceRow.thickness_mm)
            .order_by(PieceRow.thickness_mm)
        )
        return dict(rows.all())

    def mark(self, number: str) -> str:
        """What tells one state of a piece from another: the last line of each of its histories.

        Raises NotFound.
        """
        id_ = self._work.pieces.row_ids([number])[number]
        version = (
            select(func.max(DefectVersionRow.id))
            .join(DefectRow, DefectRow.id == DefectVersionRow.defect_id)
            .where(DefectRow.piece_id == id_)
        )
        lasts: Sequence[Any] = [
            select(func.max(PieceChangeRow.id)).where(PieceChangeRow.piece_id == id_),
            select(func.max(MovementLineRow.id)).where(MovementLineRow.piece_id == id_),
            select(func.max(ReadingRow.id)).where(ReadingRow.piece_id == id_),
            version,
        ]
        found = self._connection.execute(
            select(PieceRow.version, *(each.scalar_subquery() for each in lasts)).where(PieceRow.id == id_)
        ).one()
        return ".".join(str(each or 0) for each in found)

    def _beyond(self, order: RackOrder, after: str) -> ColumnElement[bool]:
        column, falls = _SORTED_BY.get(order, (None, False))
        further = PieceRow.number > after
        if column is None:
            return further
        found = self._connection.execute(select(column).where(PieceRow.number == after)).first()
        if found is None:
            raise NotFound("board", after)
        return or_(column < found[0] if falls else column > found[0], and_(column == found[0], further))
