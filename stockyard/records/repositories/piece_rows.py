"""How a piece is read from its row and the rows it refers to, and how a rack query becomes a condition."""

from typing import Any

from sqlalchemy import ColumnElement, Row, Select, and_, or_, select
from sqlalchemy.orm import aliased

from stockyard.records.tables import DeliveryRow, PieceRow, PlanRow, SpeciesRow, SupplierRow
from stockyard.timber.board import Distortion
from stockyard.timber.piece import Piece, PieceKind, PieceStatus
from stockyard.timber.rack_query import RackQuery
from stockyard.timber.window import Window

Parent = aliased(PieceRow, name="parent")
PromisedTo = aliased(PlanRow, name="promised_to")
CutBy = aliased(PlanRow, name="cut_by")

_OWN = (
    PieceRow.number,
    PieceRow.length_mm,
    PieceRow.width_mm,
    PieceRow.thickness_mm,
    PieceRow.kind,
    PieceRow.heart_face,
    PieceRow.place,
    PieceRow.note,
    PieceRow.panel,
    PieceRow.stave,
    PieceRow.value,
    PieceRow.volume_mm3,
    PieceRow.ended_by,
    PieceRow.moisture_pct,
    PieceRow.moisture_on,
    PieceRow.version,
)
_OWN_NAMES = tuple(column.key for column in _OWN)


def select_pieces() -> Select[*tuple[Any, ...]]:
    """Every column a Piece is made of, its row id first."""
    return (
        select(
            PieceRow.id,
            *_OWN,
            SpeciesRow.name,
            PieceRow.delivery_row,
            DeliveryRow.docket,
            SupplierRow.name,
            Parent.number,
            PromisedTo.number,
            CutBy.number,
            PieceRow.on_hand,
            PieceRow.bow_mm,
            PieceRow.spring_mm,
            PieceRow.cup_mm,
            PieceRow.twist_mm,
            PieceRow.colour_a,
            PieceRow.colour_b,
            PieceRow.x0,
            PieceRow.y0,
            PieceRow.x1,
            PieceRow.y1,
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
    own: dict[str, Any] = dict(zip(_OWN_NAMES, row[1:], strict=False))
    rest = row[1 + len(_OWN) :]
    species, delivery_row, docket, supplier, parent, promised_to, cut_by, on_hand = rest[:8]
    bow, spring, cup, twist, colour_a, colour_b, x0, y0, x1, y1 = rest[8:]
    return Piece(
        **own,
        species=species,
        row=delivery_row,
        delivery=docket,
        supplier=supplier,
        parent=parent,
        promised_to=promised_to,
        cut_by=cut_by,
        on_hand=bool(on_hand),
        distortion=Distortion(bow, spring, cup, twist),
        colour_a=None if colour_a is None else tuple(colour_a),
        colour_b=None if colour_b is None else tuple(colour_b),
        window=None if x0 is None else Window(x0, y0, x1, y1),
    )


def matching(query: RackQuery) -> list[ColumnElement[bool]]:
    """The conditions of a rack query, all of which must hold."""
    conditions = [or_(*(_stands(status) for status in query.status))]
    if query.species:
        conditions.append(SpeciesRow.name.in_(query.species))
    if query.kinds:
        conditions.append(PieceRow.kind.in_(query.kinds))
    bounds = [
        (PieceRow.length_mm, query.length_at_least_mm, None),
        (PieceRow.width_mm, query.width_at_least_mm, None),
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
    ]
    conditions += [column == wanted for column, wanted in equals if wanted is not None]
    return conditions


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
