"""Pieces of timber: adding, finding, listing and changing them, and boards as selection sees them."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from sqlalchemy import func, insert, select, update

from stockyard.errors import BadInput, Broken, NotFound
from stockyard.records.repositories.counts import next_numbers
from stockyard.records.repositories.piece_rows import columns_of, matching, piece_of, select_pieces, summed
from stockyard.records.repositories.repository import AT_ONCE, Repository, chunks, near
from stockyard.records.repositories.workshop import NUMBERS
from stockyard.records.tables import PieceChangeRow, PieceRow
from stockyard.timber.board import Board, Distortion
from stockyard.timber.movement import Line, Movement, MovementKind
from stockyard.timber.piece import Piece, PieceChange, PieceKind, PieceStatus, volume_mm3
from stockyard.timber.rack_query import RackQuery

ON_HAND = RackQuery()
"""Everything on hand."""

SELECTABLE = RackQuery(kinds=(PieceKind.BOARD, PieceKind.OFFCUT), status=(PieceStatus.FREE,))
"""What a selection may choose from: everything free on the rack."""

CHANGEABLE = (
    "length_mm",
    "width_mm",
    "thickness_mm",
    "bow_mm",
    "spring_mm",
    "cup_mm",
    "twist_mm",
    "heart_face",
    "colour_a",
    "colour_b",
    "ring_angle_deg",
    "place",
    "note",
)
"""Facts that a person may correct. The rest follow from movements, readings and the map."""

UNSEEN_BY_PLANS = ("ring_angle_deg", "place", "note")
"""Facts whose change leaves every plan as good as it was."""


class PieceRepository(Repository):
    """Pieces by number."""

    def new_numbers(self, species: str, count: int = 1) -> list[str]:
        """Numbers for `count` new pieces of a species, never given to anyone else.

        The species' own prefix and a running count of at least four digits, such as "SG-0017"; the
        workshop's setting "numbers" may say otherwise. Raises NotFound for a species nobody knows.
        """
        known = self._work.species.get(species)
        self._work.species.row_ids({known.name})
        prefix = self._work.species.get(known.name).prefix
        scheme = self._work.workshop.get(NUMBERS)
        first = next_numbers(self._connection, prefix, count)
        return [f"{prefix}{scheme['separator']}{n:0{scheme['digits']}d}" for n in range(first, first + count)]

    def add(self, pieces: Iterable[Piece]) -> None:
        """Add pieces that a movement of this unit of work then brings on hand.

        Their species must be known by exact name, their delivery booked and their parent there. What
        movements and readings decide (on hand, promise, value, volume, moisture) is not taken from them.
        """
        pieces = list(pieces)
        species = self._work.species.row_ids({piece.species for piece in pieces})
        parents = self.row_ids({piece.parent for piece in pieces if piece.parent})
        plans = self._work.plans.row_ids({piece.cut_by for piece in pieces if piece.cut_by is not None})
        dockets = {(p.supplier, p.delivery) for p in pieces if p.supplier and p.delivery}
        deliveries = {key: self._work.deliveries.row_id(*key) for key in dockets}
        rows = [
            {
                **self._signature,
                **columns_of(piece),
                "species_id": species[piece.species],
                "delivery_id": deliveries.get((piece.supplier or "", piece.delivery or "")),
                "parent_id": parents.get(piece.parent or ""),
                "cut_plan_id": plans.get(piece.cut_by or 0),
            }
            for piece in pieces
        ]
        if rows:
            self._connection.execute(insert(PieceRow), rows)

    def get(self, number: str) -> Piece:
        """The piece of that number. Raises NotFound, with near numbers."""
        found = self.get_many([number])
        return found[number]

    def get_many(self, numbers: Iterable[str]) -> dict[str, Piece]:
        """Pieces by number, gone ones too. Raises NotFound for the first that is not there."""
        wanted = list(dict.fromkeys(numbers))
        found: dict[str, Piece] = {}
        for some in chunks(wanted):
            rows = self._connection.execute(select_pieces().where(PieceRow.number.in_(some)))
            found.update({piece.number: piece for piece in map(piece_of, rows)})
        for number in wanted:
            if number not in found:
                raise self._not_found(number)
        return found

    def find(
        self,
        query: RackQuery = ON_HAND,
        limit: int | None = None,
        offset: int = 0,
    ) -> list[Piece]:
        """The pieces that a query asks for, by number."""
        return [piece for _, piece in self._rows(query, limit, offset)]

    def count(self, query: RackQuery = ON_HAND) -> int:
        """How many pieces a query asks for."""
        if query.numbers is not None:
            return len(self.find(query))
        return int(self._connection.execute(summed(query, func.count())).scalar_one())

    def children(self, number: str) -> list[Piece]:
        """What was cut from a piece, by number."""
        self.row_ids([number])
        return self.find(replace(RackQuery(), parent=number, status=tuple(PieceStatus)))

    def boards_for_selection(self, query: RackQuery = SELECTABLE) -> list[Board]:
        """Boards as selection sees them: newest corrected reading, defects on the map, value in the books."""
        rows = self._rows(query)
        defects = self._work.defects.standing_by_piece(id_ for id_, _ in rows)
        return [piece.as_board(mapped.defect for mapped in defects.get(id_, ())) for id_, piece in rows]

    def versions(self, numbers: Iterable[str]) -> dict[str, int]:
        """Each piece's version: how often what a plan rests on has changed."""
        return {number: piece.version for number, piece in self.get_many(numbers).items()}

    def change(self, number: str, *, cause: str = "", effective: date | None = None, **facts: Any) -> Piece:
        """Correct facts of a piece, keeping what they were. Returns the piece as it now stands.

        facts: any of CHANGEABLE, or `distortion`. A size that changes alters the piece's volume by a count,
        and never its value. Raises NotFound, or BadInput when the piece is gone.
        """
        (id_,) = self.lock([number]).values()
        old = self.get(number)
        if not old.on_hand:
            raise BadInput(f"{number} is no longer on hand, so nothing about it can be corrected.")
        new = _changed(facts)
        before = {**columns_of(old), "place": old.place}
        changed = {fact: value for fact, value in new.items() if before[fact] != value}
        if not changed:
            return old
        seen = any(fact not in UNSEEN_BY_PLANS for fact in changed)
        version = old.version + seen
        self._connection.execute(
            update(PieceRow).where(PieceRow.id == id_).values(**changed, version=version)
        )
        changes = [
            {"piece_id": id_, "fact": fact, "old": before[fact], "new": value, "version": version}
            for fact, value in changed.items()
        ]
        self.record_changes(changes, cause, effective)
        now = self.get(number)
        more = volume_mm3(now.length_mm, now.width_mm, now.thickness_mm) - old.volume_mm3
        if more:
            line = Line(number, volume_mm3=more)
            day = effective or self._work.today
            self._work.movements.book(Movement(MovementKind.COUNT, (line,), day, cause or "measured again"))
        return self.get(number)

    def history(self, number: str) -> tuple[PieceChange, ...]:
        """Every fact of a piece that changed, the oldest first."""
        rows = self._connection.execute(
            select(
                PieceChangeRow.fact,
                PieceChangeRow.old,
                PieceChangeRow.new,
                PieceChangeRow.version,
                PieceChangeRow.effective,
                PieceChangeRow.cause,
                PieceChangeRow.at,
                PieceChangeRow.who,
            )
            .where(PieceChangeRow.piece_id == self.row_ids([number])[number])
            .order_by(PieceChangeRow.id)
        )
        return tuple(PieceChange(*row) for row in rows)

    def promise(self, plan: int, seen: Mapping[str, int]) -> bool:
        """Promise boards to a plan, those still free and at the version seen. Says whether that was all.

        The movement that books the promise follows in the same unit of work; when this says no, nothing may.
        """
        plan_id = self._work.plans.row_ids({plan})[plan]
        promised = 0
        for number in sorted(seen):
            statement = (
                update(PieceRow)
                .where(
                    PieceRow.number == number,
                    PieceRow.version == seen[number],
                    PieceRow.promised_plan_id.is_(None),
                    PieceRow.on_hand == 1,
                )
                .values(promised_plan_id=plan_id)
            )
            promised += self._connection.execute(statement).rowcount
        return promised == len(seen)

    # What follows serves the other repositories.

    def row_ids(self, numbers: Iterable[str]) -> dict[str, int]:
        """Row ids by number. Raises NotFound for the first that is not there."""
        return self._ids_of(numbers, lock=False)

    def lock(self, numbers: Iterable[str]) -> dict[str, int]:
        """Row ids by number, the rows held until this unit of work ends. Raises NotFound."""
        return self._ids_of(numbers, lock=True)

    def bump(self, changes: Mapping[int, tuple[str, Any, Any]], cause: str) -> None:
        """Count a change of what plans rest on, for each row id: which fact, what it was, what it is.

        The rows must be held.
        """
        versions: dict[int, int] = {}
        for some in chunks(changes):
            self._connection.execute(
                update(PieceRow).where(PieceRow.id.in_(some)).values(version=PieceRow.version + 1)
            )
            rows = self._connection.execute(
                select(PieceRow.id, PieceRow.version).where(PieceRow.id.in_(some))
            )
            versions.update(dict(rows.all()))
        self.record_changes(
            [
                {"piece_id": id_, "fact": fact, "old": old, "new": new, "version": versions[id_]}
                for id_, (fact, old, new) in changes.items()
            ],
            cause,
        )

    def record_changes(
        self, changes: list[dict[str, Any]], cause: str, effective: date | None = None
    ) -> None:
        """Append lines of history: piece_id, fact, old, new and version each."""
        day = effective or self._work.today
        more = {"cause": cause, "effective": day, **self._signature}
        if changes:
            self._connection.execute(insert(PieceChangeRow), [{**change, **more} for change in changes])

    def _rows(self, query: RackQuery, limit: int | None = None, offset: int = 0) -> list[tuple[int, Piece]]:
        asked = select_pieces().where(*matching(query)).order_by(PieceRow.number)
        if query.numbers is None:
            rows = self._connection.execute(asked.limit(limit).offset(offset))
            return [(row[0], piece_of(row)) for row in rows]
        found: list[tuple[int, Piece]] = []
        for some in chunks(sorted(set(query.numbers))):
            some_rows = self._connection.execute(asked.where(PieceRow.number.in_(some)))
            found += [(row[0], piece_of(row)) for row in some_rows]
        return found[offset:][:limit]

    def _ids_of(self, numbers: Iterable[str], lock: bool) -> dict[str, int]:
        wanted = sorted(set(numbers))
        found: dict[str, int] = {}
        for some in chunks(wanted):
            # In one order for everyone, so that two who hold many rows cannot each wait for the other.
            asked = select(PieceRow.number, PieceRow.id).where(PieceRow.number.in_(some))
            if lock:
                asked = asked.order_by(PieceRow.number).with_for_update()
            found.update(dict(self._connection.execute(asked).all()))
        for number in wanted:
            if number not in found:
                raise self._not_found(number)
        return found

    def _not_found(self, number: str) -> NotFound:
        like = f"{number[:2]}%"
        rows = self._connection.execute(
            select(PieceRow.number).where(PieceRow.number.like(like)).limit(AT_ONCE)
        )
        return NotFound("board", number, near(number, rows.scalars()))


def _changed(facts: Mapping[str, Any]) -> dict[str, Any]:
    new = dict(facts)
    distortion = new.pop("distortion", None)
    if isinstance(distortion, Distortion):
        new.update({name: getattr(distortion, name) for name in Distortion.__dataclass_fields__})
    for fact in new:
        if fact not in CHANGEABLE:
            raise Broken(f"{fact!r} is not a fact that can be corrected.")
    return {fact: list(value) if isinstance(value, tuple) else value for fact, value in new.items()}
