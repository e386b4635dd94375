"""Defects suggested on photographs, exactly as found, and everything a person said to them."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from sqlalchemy import Row, Select, func, insert, select

from stockyard.errors import NotFound
from stockyard.records.repositories.repository import Repository, chunks, near
from stockyard.records.tables import (
    DefectRow,
    DetectionRow,
    PhotoRow,
    PhotoVoidRow,
    PieceRow,
    SuggestionDecisionRow,
    SuggestionRow,
)
from stockyard.timber.defect import DefectKind
from stockyard.timber.photo import Decision, KeptDetection, Photo, SuggestedDefect

_COLUMNS = (
    SuggestionRow.id,
    PieceRow.number,
    SuggestionRow.number,
    PhotoRow.face,
    SuggestionRow.kind,
    SuggestionRow.outline,
    SuggestionRow.confidence,
    SuggestionRow.could_be,
    SuggestionRow.length_mm,
    SuggestionRow.width_mm,
    SuggestionRow.opening_mm,
    SuggestionRow.at_end,
    SuggestionRow.at_edge,
    PhotoRow.number,
    DetectionRow.id,
)


class SuggestionRepository(Repository):
    """Suggestions by id: the piece's number and the suggestion's own within it ("SG-0017:4")."""

    def add(
        self, photo: Photo, settings: Mapping[str, Any], fitted: str, found: Sequence[SuggestedDefect]
    ) -> KeptDetection:
        """Keep what was found on a photo, numbered on from the piece's last. Returns the detection."""
        (piece_id,) = self._work.pieces.lock([photo.piece]).values()
        row = {
            "photo_id": self._work.photos.row_id(photo.number),
            "settings": dict(settings),
            "fitted": fitted,
            **self._signature,
        }
        id_ = self._connection.execute(insert(DetectionRow).returning(DetectionRow.id), [row]).scalar_one()
        last = self._connection.execute(
            select(func.max(SuggestionRow.number)).where(SuggestionRow.piece_id == piece_id)
        ).scalar()
        rows = [
            {
                "detection_id": id_,
                "piece_id": piece_id,
                "number": number,
                "kind": each.kind,
                "could_be": [kind.value for kind in each.could_be],
                "outline": [list(point) for point in each.outline],
                "confidence": each.confidence,
                "length_mm": each.length_mm,
                "width_mm": each.width_mm,
                "opening_mm": each.opening_mm,
                "at_end": each.at_end,
                "at_edge": each.at_edge,
            }
            for number, each in enumerate(found, (last or 0) + 1)
        ]
        if rows:
            self._connection.execute(insert(SuggestionRow), rows)
        return KeptDetection(id_, photo.number, settings, fitted, self._work.now, self._work.who)

    def detections(self, photos: Iterable[int]) -> dict[int, KeptDetection]:
        """The newest reading of each of these photos; one never read is left out."""
        found: dict[int, KeptDetection] = {}
        for some in chunks(sorted(set(photos))):
            for id_, photo, settings, fitted, at, who in self._connection.execute(
                select(
                    DetectionRow.id,
                    PhotoRow.number,
                    DetectionRow.settings,
                    DetectionRow.fitted,
                    DetectionRow.at,
                    DetectionRow.who,
                )
                .join(PhotoRow, PhotoRow.id == DetectionRow.photo_id)
                .where(PhotoRow.number.in_(some))
                .order_by(DetectionRow.id)
            ):
                found[photo] = KeptDetection(id_, photo, settings, fitted, at, who)
        return found

    def of_detections(self, detections: Iterable[int]) -> tuple[SuggestedDefect, ...]:
        """What these readings found, each with its newest decision, by number."""
        rows = [
            row
            for some in chunks(sorted(set(detections)))
            for row in self._connection.execute(_asked().where(DetectionRow.id.in_(some)))
        ]
        return self._with_decisions(rows)

    def of_piece(self, piece: str) -> tuple[SuggestedDefect, ...]:
        """Everything that was ever suggested on a piece, on photos taken back too, by number."""
        id_ = self._work.pieces.row_ids([piece])[piece]
        return self._with_decisions(self._connection.execute(_asked().where(SuggestionRow.piece_id == id_)))

    def waiting(self) -> dict[str, int]:
        """How many suggestions nobody has decided on, by the number of their piece, of those on hand.

        Only the newest reading of the newest photo of a face counts.
        """
        standing = (
            select(func.max(PhotoRow.id))
            .outerjoin(PhotoVoidRow, PhotoVoidRow.photo_id == PhotoRow.id)
            .where(PhotoVoidRow.photo_id.is_(None))
            .group_by(PhotoRow.piece_id, PhotoRow.face)
        )
        newest = (
            select(func.max(DetectionRow.id))
            .where(DetectionRow.photo_id.in_(standing))
            .group_by(DetectionRow.photo_id)
        )
        rows = self._connection.execute(
            select(PieceRow.number, func.count())
            .join(SuggestionRow, SuggestionRow.piece_id == PieceRow.id)
            .outerjoin(SuggestionDecisionRow, SuggestionDecisionRow.suggestion_id == SuggestionRow.id)
            .where(
                PieceRow.on_hand == 1,
                SuggestionRow.detection_id.in_(newest),
                SuggestionDecisionRow.id.is_(None),
            )
            .group_by(PieceRow.number)
            .order_by(PieceRow.number)
        )
        return dict(rows.all())

    def rejected(self, pieces: Iterable[str]) -> tuple[SuggestedDefect, ...]:
        """What a person said no to, on photos that stand, of these pieces."""
        rows = [
            row
            for some in chunks(sorted(set(pieces)))
            for row in self._connection.execute(
                _asked()
                .outerjoin(PhotoVoidRow, PhotoVoidRow.photo_id == PhotoRow.id)
                .where(PieceRow.number.in_(some), PhotoVoidRow.photo_id.is_(None))
            )
        ]
        found = self._with_decisions(rows)
        return tuple(each for each in found if each.decided and each.decided.verdict.value == "rejected")

    def get(self, id_: str) -> SuggestedDefect:
        """A suggestion with its newest decision. Raises NotFound, with near ids."""
        piece, number = _parts(id_)
        rows = self._connection.execute(
            _asked().where(PieceRow.number == piece, SuggestionRow.number == number)
        ).all()
        if not rows:
            raise NotFound("suggestion", id_, near(id_, (each.id for each in self.of_piece(piece))))
        return self._with_decisions(rows)[0]

    def decide(self, decisions: Sequence[tuple[SuggestedDefect, Decision]]) -> None:
        """Append what a person said to suggestions; what was said before stays on record."""
        defects = self._work.defects.row_ids(
            decision.defect for _, decision in decisions if decision.defect is not None
        )
        rows = [
            {
                "suggestion_id": self._row_id(suggestion),
                "verdict": decision.verdict,
                "defect_id": None if decision.defect is None else defects[decision.defect],
                "changed": dict(decision.changed),
                "cause": decision.cause,
                **self._signature,
            }
            for suggestion, decision in decisions
        ]
        if rows:
            self._connection.execute(insert(SuggestionDecisionRow), rows)

    def history(self, id_: str) -> tuple[Decision, ...]:
        """Every decision on a suggestion, the oldest first. Raises NotFound."""
        row_id = self._row_id(self.get(id_))
        return tuple(each for _, each in self._decisions([row_id]))

    def _row_id(self, suggestion: SuggestedDefect) -> int:
        found = self._connection.execute(
            select(SuggestionRow.id)
            .join(PieceRow, PieceRow.id == SuggestionRow.piece_id)
            .where(PieceRow.number == suggestion.piece, SuggestionRow.number == suggestion.number)
        ).scalar()
        if found is None:
            raise NotFound("suggestion", suggestion.id)
        return int(found)

    def _with_decisions(self, rows: Iterable[Row[*tuple[Any, ...]]]) -> tuple[SuggestedDefect, ...]:
        suggested = {row[0]: _suggestion(row) for row in rows}
        newest = dict(self._decisions(suggested))
        found = (replace(each, decided=newest.get(id_)) for id_, each in suggested.items())
        return tuple(sorted(found, key=lambda each: (each.piece, each.number)))

    def _decisions(self, suggestion_ids: Iterable[int]) -> list[tuple[int, Decision]]:
        """Decisions with their suggestion's row id, the oldest first."""
        found = []
        for some in chunks(suggestion_ids):
            for id_, verdict, piece, number, changed, cause, at, who in self._connection.execute(
                select(
                    SuggestionDecisionRow.suggestion_id,
                    SuggestionDecisionRow.verdict,
                    PieceRow.number,
                    DefectRow.number,
                    SuggestionDecisionRow.changed,
                    SuggestionDecisionRow.cause,
                    SuggestionDecisionRow.at,
                    SuggestionDecisionRow.who,
                )
                .outerjoin(DefectRow, DefectRow.id == SuggestionDecisionRow.defect_id)
                .outerjoin(PieceRow, PieceRow.id == DefectRow.piece_id)
                .where(SuggestionDecisionRow.suggestion_id.in_(some))
                .order_by(SuggestionDecisionRow.id)
            ):
                defect = None if piece is None else f"{piece}/{number}"
                found.append((id_, Decision(verdict, defect, changed, cause, at, who)))
        return found


def _asked() -> Select[*tuple[Any, ...]]:
    return (
        select(*_COLUMNS)
        .join(DetectionRow, DetectionRow.id == SuggestionRow.detection_id)
        .join(PhotoRow, PhotoRow.id == DetectionRow.photo_id)
        .join(PieceRow, PieceRow.id == SuggestionRow.piece_id)
    )


def _suggestion(row: Row[*tuple[Any, ...]]) -> SuggestedDefect:
    _, piece, number, face, kind, outline, confidence, could_be, length, width, opening, end, edge, *by = row
    photo, detection = by
    return SuggestedDefect(
        piece, number, face, kind, tuple((x, y) for x, y in outline), confidence,
        tuple(DefectKind(each) for each in could_be), length, width, opening, end, edge, photo, detection,
    )  # fmt: skip


def _parts(id_: str) -> tuple[str, int]:
    piece, _, number = id_.rpartition(":")
    if not piece or not number.isascii() or not number.isdigit() or len(number) > 9:
        raise NotFound("suggestion", id_)
    return piece, int(number)
