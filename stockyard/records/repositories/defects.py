"""Defects on the maps of pieces, every version kept."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, datetime, time
from typing import Any

from sqlalchemy import Row, Select, func, insert, select, update

from stockyard.errors import Broken, NotFound, Refused
from stockyard.records.repositories.repository import Repository, chunks, near
from stockyard.records.tables import DefectRow, DefectVersionRow, PieceRow
from stockyard.timber.defect import Defect, DefectKind, Face, Outline
from stockyard.timber.mapped_defect import DefectOrigin, DefectState, MappedDefect

EDITABLE = ("kind", "face", "outline", "depth_mm", "opening_mm", "note", "state")

_COLUMNS = (
    DefectRow.piece_id,
    PieceRow.number,
    DefectRow.number,
    DefectVersionRow.kind,
    DefectVersionRow.face,
    DefectVersionRow.outline,
    DefectVersionRow.depth_mm,
    DefectVersionRow.opening_mm,
    DefectVersionRow.state,
    DefectVersionRow.note,
    DefectVersionRow.origin,
    DefectVersionRow.removed,
    DefectVersionRow.version,
    DefectVersionRow.cause,
    DefectVersionRow.at,
    DefectVersionRow.who,
)


class DefectRepository(Repository):
    """Defects by id: the piece's number and the defect's own within it ("SG-0017/2")."""

    def add(
        self,
        piece: str,
        kind: DefectKind,
        face: Face,
        outline: Outline,
        *,
        depth_mm: float | None = None,
        opening_mm: float | None = None,
        note: str = "",
        state: DefectState = DefectState.OPEN,
        origin: DefectOrigin = DefectOrigin.HAND,
        cause: str = "",
    ) -> MappedDefect:
        """Map a defect on a piece and return it. The outline is taken as checked. Raises NotFound."""
        (id_,) = self._work.pieces.lock([piece]).values()
        number = self._last_number(id_) + 1
        defect = Defect(f"{piece}/{number}", kind, face, outline, depth_mm, opening_mm)
        mapped = MappedDefect(piece, defect, state, note, origin, cause=cause)
        self.add_many([mapped])
        self._work.pieces.bump({id_: (f"defect {number}", None, _told(mapped))}, cause)
        return self.get(defect.id)

    def add_many(self, mapped: Iterable[MappedDefect]) -> None:
        """Map defects on pieces that are new in this unit of work, numbered as their ids say."""
        mapped = list(mapped)
        pieces = self._work.pieces.row_ids({each.piece for each in mapped})
        keys = [(pieces[each.piece], _number(each.defect.id)) for each in mapped]
        if not keys:
            return
        rows = self._connection.execute(
            insert(DefectRow).returning(DefectRow.piece_id, DefectRow.number, DefectRow.id),
            [{"piece_id": piece, "number": number, "version": 1} for piece, number in keys],
        )
        ids = {(piece, number): id_ for piece, number, id_ in rows}
        self._append([(ids[key], each) for key, each in zip(keys, mapped, strict=True)])

    def edit(self, id_: str, *, cause: str = "", **changes: Any) -> MappedDefect:
        """Change any of EDITABLE of a defect, keeping what it was. Returns it as it stands.

        Raises NotFound, and Refused when it was removed.
        """
        for name in changes:
            if name not in EDITABLE:
                raise Broken(f"{name!r} of a defect cannot be edited.")
        piece_id, old = self._held(id_)
        about = {name: changes[name] for name in ("state", "note") if name in changes}
        flaw = {name: value for name, value in changes.items() if name not in about}
        new = replace(old, defect=replace(old.defect, **flaw), **about, cause=cause)
        if _told(new) == _told(old):
            return old
        return self._supersede(piece_id, old, new)

    def remove(self, id_: str, *, cause: str = "") -> None:
        """Take a defect off the map; its versions stay. Raises NotFound, Refused when it is off already."""
        piece_id, old = self._held(id_)
        self._supersede(piece_id, old, replace(old, removed=True, cause=cause))

    def get(self, id_: str) -> MappedDefect:
        """A defect as it stands, removed or not. Raises NotFound, with near ids."""
        piece, number = _parts(id_)
        row = self._connection.execute(
            _current().where(PieceRow.number == piece, DefectRow.number == number)
        ).first()
        if row is None:
            known = [each.defect.id for each in self.of_piece(piece, removed=True)]
            raise NotFound("defect", id_, near(id_, known))
        return _mapped(row)

    def of_piece(self, piece: str, removed: bool = False) -> tuple[MappedDefect, ...]:
        """The defects on a piece's map, by number; with `removed`, those taken off too. Raises NotFound."""
        asked = _current().where(DefectRow.piece_id == self._work.pieces.row_ids([piece])[piece])
        if not removed:
            asked = asked.where(DefectVersionRow.removed.is_(False))
        return tuple(_mapped(row) for row in self._connection.execute(asked.order_by(DefectRow.number)))

    def of_pieces(self, pieces: Iterable[str]) -> dict[str, tuple[MappedDefect, ...]]:
        """The defects on the maps of many pieces; a clear piece is left out. Raises NotFound."""
        found = self.standing_by_piece(self._work.pieces.row_ids(pieces).values())
        return {mapped[0].piece: mapped for mapped in found.values()}

    def of_pieces_on(self, pieces: Iterable[str], day: date) -> dict[str, tuple[MappedDefect, ...]]:
        """The defects that were on the maps of many pieces by the end of a day; a clear piece is left out."""
        last = datetime.combine(day, time.max, tzinfo=self._work.now.tzinfo)
        newest = (
            select(DefectVersionRow.defect_id, func.max(DefectVersionRow.version).label("version"))
            .where(DefectVersionRow.at <= last)
            .group_by(DefectVersionRow.defect_id)
            .subquery()
        )
        asked = (
            _versions()
            .join(
                newest,
                (newest.c.defect_id == DefectVersionRow.defect_id)
                & (newest.c.version == DefectVersionRow.version),
            )
            .where(DefectVersionRow.removed.is_(False))
            .order_by(DefectRow.piece_id, DefectRow.number)
        )
        found: dict[str, list[MappedDefect]] = {}
        for some in chunks(self._work.pieces.row_ids(pieces).values()):
            for row in self._connection.execute(asked.where(DefectRow.piece_id.in_(some))):
                mapped = _mapped(row)
                found.setdefault(mapped.piece, []).append(mapped)
        return {piece: tuple(mapped) for piece, mapped in found.items()}

    def history(self, id_: str) -> tuple[MappedDefect, ...]:
        """Every version of a defect, the oldest first. Raises NotFound."""
        piece, number = _parts(self.get(id_).defect.id)
        rows = self._connection.execute(
            _versions()
            .where(PieceRow.number == piece, DefectRow.number == number)
            .order_by(DefectVersionRow.version)
        )
        return tuple(_mapped(row) for row in rows)

    # What follows serves the other repositories.

    def standing_by_piece(self, piece_ids: Iterable[int]) -> dict[int, tuple[MappedDefect, ...]]:
        """The defects on each piece's map, by the piece's row id."""
        found: dict[int, list[MappedDefect]] = {}
        for some in chunks(piece_ids):
            asked = _current().where(DefectRow.piece_id.in_(some), DefectVersionRow.removed.is_(False))
            for row in self._connection.execute(asked.order_by(DefectRow.piece_id, DefectRow.number)):
                found.setdefault(row[0], []).append(_mapped(row))
        return {piece_id: tuple(mapped) for piece_id, mapped in found.items()}

    def row_ids(self, ids: Iterable[str]) -> dict[str, int]:
        """Row ids by defect id. Raises NotFound for the first that is not there."""
        wanted = sorted(set(ids))
        pieces = sorted({_parts(id_)[0] for id_ in wanted})
        found: dict[str, int] = {}
        for some in chunks(pieces):
            rows = self._connection.execute(
                select(PieceRow.number, DefectRow.number, DefectRow.id)
                .join(PieceRow, PieceRow.id == DefectRow.piece_id)
                .where(PieceRow.number.in_(some))
            )
            found.update({f"{piece}/{number}": id_ for piece, number, id_ in rows})
        for id_ in wanted:
            if id_ not in found:
                raise NotFound("defect", id_)
        return found

    def _held(self, id_: str) -> tuple[int, MappedDefect]:
        piece, _ = _parts(id_)
        (piece_id,) = self._work.pieces.lock([piece]).values()
        old = self.get(id_)
        if old.removed:
            raise Refused(f"Defect {id_} is off the map already; map it anew if it is there after all.")
        return piece_id, old

    def _supersede(self, piece_id: int, old: MappedDefect, new: MappedDefect) -> MappedDefect:
        new = replace(new, version=old.version + 1)
        defect_id = self.row_ids([old.defect.id])[old.defect.id]
        self._append([(defect_id, new)])
        self._connection.execute(
            update(DefectRow).where(DefectRow.id == defect_id).values(version=new.version)
        )
        fact = f"defect {_number(old.defect.id)}"
        told = None if new.removed else _told(new)
        self._work.pieces.bump({piece_id: (fact, _told(old), told)}, new.cause)
        return self.get(old.defect.id)

    def _append(self, versions: Sequence[tuple[int, MappedDefect]]) -> None:
        self._connection.execute(
            insert(DefectVersionRow),
            [
                {
                    "defect_id": defect_id,
                    "version": each.version,
                    "kind": each.defect.kind,
                    "face": each.defect.face,
                    "outline": [list(point) for point in each.defect.outline],
                    "depth_mm": each.defect.depth_mm,
                    "opening_mm": each.defect.opening_mm,
                    "note": each.note,
                    "state": each.state,
                    "origin": each.origin,
                    "removed": each.removed,
                    "cause": each.cause,
                    **self._signature,
                }
                for defect_id, each in versions
            ],
        )

    def _last_number(self, piece_id: int) -> int:
        last = self._connection.execute(
            select(func.max(DefectRow.number)).where(DefectRow.piece_id == piece_id)
        ).scalar()
        return last or 0


def _versions() -> Select[*tuple[Any, ...]]:
    return (
        select(*_COLUMNS)
        .join(DefectRow, DefectRow.id == DefectVersionRow.defect_id)
        .join(PieceRow, PieceRow.id == DefectRow.piece_id)
    )


def _current() -> Select[*tuple[Any, ...]]:
    return _versions().where(DefectVersionRow.version == DefectRow.version)


def _mapped(row: Row[*tuple[Any, ...]]) -> MappedDefect:
    _, piece, number, kind, face, outline, depth, opening, *rest = tuple(row)
    corners = tuple((x, y) for x, y in outline)
    return MappedDefect(piece, Defect(f"{piece}/{number}", kind, face, corners, depth, opening), *rest)


def _told(mapped: MappedDefect) -> dict[str, Any]:
    """A defect as a piece's history tells it."""
    defect = mapped.defect
    return {
        "kind": defect.kind,
        "face": defect.face,
        "outline": [list(point) for point in defect.outline],
        "depth_mm": defect.depth_mm,
        "opening_mm": defect.opening_mm,
        "state": mapped.state,
        "note": mapped.note,
    }


def _parts(id_: str) -> tuple[str, int]:
    piece, _, number = id_.rpartition("/")
    if not piece or not number.isascii() or not number.isdigit() or len(number) > 9:
        raise NotFound("defect", id_)
    return piece, int(number)


def _number(id_: str) -> int:
    return _parts(id_)[1]
