"""Moisture readings: each stays as it was taken; one that was wrong is taken back, never changed."""

from collections.abc import Iterable
from typing import Any

from sqlalchemy import bindparam, func, insert, select, update
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import aliased

from stockyard.errors import NotFound, Refused
from stockyard.records.repositories.repository import Repository, chunks
from stockyard.records.tables import PieceRow, ReadingRow, ReadingVoidRow
from stockyard.timber.moisture_reading import MoistureReading

_Source = aliased(ReadingRow)
_SourcePiece = aliased(PieceRow)

_ASKED = (
    select(
        PieceRow.number,
        ReadingRow.taken_on,
        ReadingRow.raw_pct,
        ReadingRow.corrected_pct,
        ReadingRow.meter,
        ReadingRow.wood_c,
        ReadingRow.rule,
        ReadingRow.note,
        _SourcePiece.number,
        ReadingVoidRow.cause,
        ReadingRow.id,
        ReadingRow.at,
        ReadingRow.who,
    )
    .join(PieceRow, PieceRow.id == ReadingRow.piece_id)
    .outerjoin(ReadingVoidRow, ReadingVoidRow.reading_id == ReadingRow.id)
    .outerjoin(_Source, _Source.id == ReadingRow.copied_from_id)
    .outerjoin(_SourcePiece, _SourcePiece.id == _Source.piece_id)
    .order_by(ReadingRow.taken_on, ReadingRow.id)
)


class ReadingRepository(Repository):
    """Readings by piece.

    The newest that stands and has a corrected figure, by date and then by entry, is the piece's moisture.
    """

    def add(self, readings: Iterable[MoistureReading], *, cause: str = "moisture read") -> None:
        """Add readings, of one piece or of thousands. Raises NotFound for a piece that is not there."""
        readings = list(readings)
        if not readings:
            return
        pieces = self._work.pieces.lock({reading.piece for reading in readings})
        sources = self._sources(readings)
        rows = [
            {
                "piece_id": pieces[reading.piece],
                "taken_on": reading.taken_on,
                "raw_pct": reading.raw_pct,
                "corrected_pct": reading.corrected_pct,
                "meter": reading.meter,
                "wood_c": reading.wood_c,
                "rule": reading.rule,
                "note": reading.note,
                "copied_from_id": sources.get(reading.id or 0) if reading.copied_from else None,
                **self._signature,
            }
            for reading in readings
        ]
        self._connection.execute(insert(ReadingRow), rows)
        self._refresh(pieces.values(), cause)

    def void(self, id_: int, *, cause: str) -> None:
        """Take a reading back. Raises NotFound, and Refused when it was taken back before."""
        piece = self._connection.execute(
            select(PieceRow.number)
            .join(ReadingRow, ReadingRow.piece_id == PieceRow.id)
            .where(ReadingRow.id == id_)
        ).scalar()
        if piece is None:
            raise NotFound("moisture reading", str(id_))
        held = self._work.pieces.lock([piece])
        try:
            self._connection.execute(
                insert(ReadingVoidRow), {"reading_id": id_, "cause": cause, **self._signature}
            )
        except IntegrityError:
            raise Refused(f"Reading {id_} of {piece} was taken back already.") from None
        self._refresh(held.values(), cause)

    def of_piece(self, piece: str) -> tuple[MoistureReading, ...]:
        """Every reading of a piece, taken back or not, the oldest first. Raises NotFound."""
        return self.of_pieces([piece])[piece]

    def of_pieces(self, pieces: Iterable[str]) -> dict[str, tuple[MoistureReading, ...]]:
        """Every reading of each piece, taken back or not, the oldest first. Raises NotFound."""
        ids = self._work.pieces.row_ids(pieces)
        found: dict[str, list[MoistureReading]] = {piece: [] for piece in ids}
        for some in chunks(ids.values()):
            for row in self._connection.execute(_ASKED.where(ReadingRow.piece_id.in_(some))):
                found[row[0]].append(MoistureReading(*row))
        return {piece: tuple(readings) for piece, readings in found.items()}

    def _sources(self, readings: list[MoistureReading]) -> dict[int, int]:
        """A copy's `id` is its source's; a copy of a copy points to the reading that was really taken."""
        ids = {reading.id for reading in readings if reading.copied_from and reading.id is not None}
        found: dict[int, int] = {}
        for some in chunks(sorted(ids)):
            rows = self._connection.execute(
                select(ReadingRow.id, func.coalesce(ReadingRow.copied_from_id, ReadingRow.id)).where(
                    ReadingRow.id.in_(some)
                )
            )
            found.update(dict(rows.all()))
        return found

    def _refresh(self, piece_ids: Iterable[int], cause: str) -> None:
        """Bring what the pieces show along with their newest standing readings."""
        changes: dict[int, tuple[str, Any, Any]] = {}
        rows: list[dict[str, Any]] = []
        for some in chunks(piece_ids):
            ranked = (
                select(
                    ReadingRow.piece_id,
                    ReadingRow.corrected_pct,
                    ReadingRow.taken_on,
                    func.row_number()
                    .over(
                        partition_by=ReadingRow.piece_id,
                        order_by=(ReadingRow.taken_on.desc(), ReadingRow.id.desc()),
                    )
                    .label("rank"),
                )
                .outerjoin(ReadingVoidRow, ReadingVoidRow.reading_id == ReadingRow.id)
                .where(
                    ReadingRow.piece_id.in_(some),
                    ReadingRow.corrected_pct.is_not(None),
                    ReadingVoidRow.reading_id.is_(None),
                )
                .subquery()
            )
            asked = (
                select(
                    PieceRow.id,
                    PieceRow.moisture_pct,
                    PieceRow.moisture_on,
                    ranked.c.corrected_pct,
                    ranked.c.taken_on,
                )
                .outerjoin(ranked, (ranked.c.piece_id == PieceRow.id) & (ranked.c["rank"] == 1))
                .where(PieceRow.id.in_(some))
            )
            for id_, was, was_on, now, now_on in self._connection.execute(asked):
                if (was, was_on) != (now, now_on):
                    rows.append({"row": id_, "pct": now, "on": now_on})
                if was != now:
                    changes[id_] = ("moisture_pct", was, now)
        if rows:
            self._connection.execute(
                update(PieceRow)
                .where(PieceRow.id == bindparam("row"))
                .values(moisture_pct=bindparam("pct"), moisture_on=bindparam("on")),
                rows,
            )
        if changes:
            self._work.pieces.bump(changes, cause)
