"""How a piece is read from its row and written to it, and how a rack query becomes a condition."""

from typing import Any

from sqlalchemy import ColumnElement, Row, Select, and_, or_, select
from sqlalchemy.orm import aliased

from stockyard.records.tables import DeliveryRow, PieceRow, PlanRow, SpeciesRow, SupplierRow
from stockyard.timber.board import Distortion
from stockyard.timber.piece import Piece, PieceKind, PieceStatus
from stockyard.timber.rack_query import STANDING, RackQuery
from stockyard.timber.window import Window

Parent = aliased(PieceRow, name="parent")
PromisedTo = aliased(PlanRow, name="promised_to")
CutBy = aliased(PlanRow, name="cut_by")


def select_pieces() -> Select[*tuple[Any, ...]]:
    """Every column a Piece is made of, in the order of its fields, its row id first."""
    return (
        select(
            PieceRow.id,
            PieceRow.number,
            SpeciesRow.name,
            PieceRow.length_mm,
            PieceRow.width_mm,
            PieceRow.thickness_mm,
            PieceRow.kind,
            PieceRow.bow_mm,
            PieceRow.spring_mm,
            PieceRow.cup_mm,
            PieceRow.twist_mm,
            PieceRow.heart_face,
            PieceRow.colour_a,
            PieceRow.colour_b,
            PieceRow.place,
            PieceRow.note,
            SupplierRow.name,
            DeliveryRow.docket,
            PieceRow.delivery_row,
            Parent.number,
            PieceRow.x0,
            PieceRow.y0,
            PieceRow.x1,
            PieceRow.y1,
            CutBy.number,
            PieceRow.panel,
            PieceRow.stave,
            PieceRow.on_hand,
            PromisedTo.number,
            PieceRow.value,
            PieceRow.volume_mm3,
            PieceRow.ended_by,
            PieceRow.moisture_pct,
            PieceRow.moisture_on,
            PieceRow.version,
            PieceRow.ring_angle_deg,
        )
        .join(SpeciesRow, SpeciesRow.id == PieceRow.species_id)
        .outerjoin(DeliveryRow, DeliveryRow.id == PieceRow.delivery_id)
        .outerjoin(SupplierRow, SupplierRow.id == DeliveryRow.supplier_id)
        .outerjoin(Parent, Parent.id == PieceRow.parent_id)
        .outerjoin(PromisedTo, PromisedTo.id == PieceRow.promised_plan_id)
        .outerjoin(CutBy, CutBy.id == PieceRow.cut_plan_id)
    )


def piece_of(row: Row[*tuple[Any, ...]]) -> Piece:
    """A Piece from a row of `select_pieces`."""
    # By position: a rack of many thousands is listed this way, and naming every field takes twice as long.
    colour_a, colour_b, x0 = row[12], row[13], row[20]
    fields: list[Any] = [
        *row[1:7],
        _STRAIGHT if row[7:11] == _NO_BEND else Distortion(*row[7:11]),
        row[11],
        None if colour_a is None else tuple(colour_a),
        None if colour_b is None else tuple(colour_b),
        *row[14:20],
        None if x0 is None else Window(*row[20:24]),
        *row[24:27],
        bool(row[27]),
        *row[28:],
    ]
    return Piece(*fields)


_NO_BEND = (0.0, 0.0, 0.0, 0.0)
_STRAIGHT = Distortion()


def columns_of(piece: Piece) -> dict[str, Any]:
    """The columns that whoever adds a piece decides, and the rest as they are before any movement."""
    window, distortion = piece.window, piece.distortion
    return {
        "number": piece.number,
        "kind": piece.kind,
        "length_mm": piece.length_mm,
        "width_mm": piece.width_mm,
        "thickness_mm": piece.thickness_mm,
        "bow_mm": distortion.bow_mm,
        "spring_mm": distortion.spring_mm,
        "cup_mm": distortion.cup_mm,
        "twist_mm": distortion.twist_mm,
        "heart_face": piece.heart_face,
        "colour_a": None if piece.colour_a is None else list(piece.colour_a),
        "colour_b": None if piece.colour_b is None else list(piece.colour_b),
        "place": piece.place,
        "note": piece.note,
        "delivery_row": piece.row,
        "x0": None if window is None else window.x0,
        "y0": None if window is None else window.y0,
        "x1": None if window is None else window.x1,
        "y1": None if window is None else window.y1,
        "panel": piece.panel,
        "stave": piece.stave,
        "ring_angle_deg": piece.ring_angle_deg,
        "version": 1,
        "on_hand": 0,
        "value": 0,
        "volume_mm3": 0,
    }


def matching(query: RackQuery) -> list[ColumnElement[bool]]:
    """The conditions of a rack query, all of which must hold."""
    if set(query.status) == set(STANDING):  # said in one, so that an index can be used
        conditions = [PieceRow.on_hand == 1]
    else:
        conditions = [or_(*(_stands(status) for status in query.status))]
    if query.species:
        conditions.append(SpeciesRow.name.in_(query.species))
    if query.kinds:
        conditions.append(PieceRow.kind.in_(query.kinds))
    bounds = [
        (PieceRow.length_mm, query.length_at_least_mm, query.length_at_most_mm),
        (PieceRow.width_mm, query.width_at_least_mm, query.width_at_most_mm),
        (PieceRow.thickness_mm, query.thickness_at_least_mm, query.thickness_at_most_mm),
        (PieceRow.moisture_pct, query.moisture_at_least_pct, query.moisture_at_most_pct),
    ]
    for column, low, high in bounds:
        if low is not None:
            conditions.append(column >= low)
        if high is not None:
            conditions.append(column <= high)
    equals = [
        (PieceRow.place, query.place),
        (DeliveryRow.docket, query.delivery),
        (SupplierRow.name, query.supplier),
        (Parent.number, query.parent),
        (PromisedTo.number, query.promised_to),
        (CutBy.number, query.cut_by),
    ]
    conditions += [column == wanted for column, wanted in equals if wanted is not None]
    conditions += [_tells_of(word) for word in query.words]
    if query.unread:
        conditions.append(PieceRow.moisture_pct.is_(None))
    return conditions


def summed(query: RackQuery, *columns: Any) -> Select[*tuple[Any, ...]]:
    """Columns that add up the pieces of a query, from the piece's own table where that is all it asks of."""
    beyond = (query.species, query.words)
    named = (query.delivery, query.supplier, query.parent, query.promised_to, query.cut_by)
    if any(beyond) or any(name is not None for name in named):
        asked = select_pieces().with_only_columns(*columns, maintain_column_froms=True)
    else:
        asked = select(*columns).select_from(PieceRow)
    return asked.where(*matching(query))


def _tells_of(word: str) -> ColumnElement[bool]:
    """Does a word begin the number, or stand in anything else that is said of the piece?"""
    told = (SpeciesRow.name, PieceRow.place, PieceRow.note, DeliveryRow.docket, SupplierRow.name)
    return or_(
        PieceRow.number.istartswith(word, autoescape=True),
        *(column.icontains(word, autoescape=True) for column in told),
    )


def _stands(status: PieceStatus) -> ColumnElement[bool]:
    if status is PieceStatus.GONE:
        return PieceRow.on_hand == 0
    if status is PieceStatus.PROMISED:
        return and_(PieceRow.on_hand == 1, PieceRow.promised_plan_id.is_not(None))
    stave = PieceRow.kind == PieceKind.STAVE
    return and_(
        PieceRow.on_hand == 1,
        PieceRow.promised_plan_id.is_(None),
        stave if status is PieceStatus.IN_WORK else ~stave,
    )
