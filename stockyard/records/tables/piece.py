"""Tables of pieces of timber: the facts that stand, the history of those facts, and moisture readings."""

from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from stockyard.records.columns import (
    Day,
    Degrees,
    Document,
    Id,
    Millimetres,
    Money,
    Percent,
    Sentence,
    Word,
    one_of,
)
from stockyard.records.tables.base import Base, Signed
from stockyard.timber.defect import Face
from stockyard.timber.movement import MovementKind
from stockyard.timber.piece import PieceKind


class PieceRow(Signed, Base):
    """A board, stave or offcut as it stands.

    on_hand, promised_plan_id, value, volume_mm3, ended_by and moisture_* repeat what the sums of movement
    lines and the newest reading say, so that a rack of a million pieces can be listed without adding up its
    history; they are written in the transaction that appends to it.
    version counts the changes of what a plan rests on, so that a plan can tell whether a board is as it saw.
    """

    __tablename__ = "piece"
    __table_args__ = (
        CheckConstraint("on_hand IN (0, 1)", name="on_hand"),
        CheckConstraint("length_mm > 0 AND width_mm > 0 AND thickness_mm > 0", name="size"),
        CheckConstraint("value >= 0 AND volume_mm3 >= 0", name="not_negative"),
        Index(None, "on_hand", "species_id", "thickness_mm"),
        Index(None, "on_hand", "place"),
        Index(None, "delivery_id"),
        Index(None, "parent_id"),
        Index(None, "promised_plan_id"),
        Index(None, "species_id"),
    )

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    number: Mapped[str] = mapped_column(Word, unique=True)
    kind: Mapped[PieceKind] = mapped_column(one_of(PieceKind, "kind"))
    species_id: Mapped[int] = mapped_column(ForeignKey("species.id"))
    length_mm: Mapped[float] = mapped_column(Millimetres)
    width_mm: Mapped[float] = mapped_column(Millimetres)
    thickness_mm: Mapped[float] = mapped_column(Millimetres)
    bow_mm: Mapped[float] = mapped_column(Millimetres)
    spring_mm: Mapped[float] = mapped_column(Millimetres)
    cup_mm: Mapped[float] = mapped_column(Millimetres)
    twist_mm: Mapped[float] = mapped_column(Millimetres)
    heart_face: Mapped[Face | None] = mapped_column(one_of(Face, "heart_face"))
    colour_a: Mapped[list[float] | None] = mapped_column(Document(none_as_null=True))
    colour_b: Mapped[list[float] | None] = mapped_column(Document(none_as_null=True))
    place: Mapped[str] = mapped_column(Word)
    note: Mapped[str] = mapped_column(Sentence)
    delivery_id: Mapped[int | None] = mapped_column(ForeignKey("delivery.id"))
    delivery_row: Mapped[int | None] = mapped_column(Id)
    parent_id: Mapped[int | None] = mapped_column(ForeignKey("piece.id"))
    x0: Mapped[int | None] = mapped_column(Id)
    y0: Mapped[int | None] = mapped_column(Id)
    x1: Mapped[int | None] = mapped_column(Id)
    y1: Mapped[int | None] = mapped_column(Id)
    cut_plan_id: Mapped[int | None] = mapped_column(ForeignKey("plan.id"))
    panel: Mapped[str | None] = mapped_column(Word)
    stave: Mapped[int | None] = mapped_column(Id)
    version: Mapped[int] = mapped_column(Id)
    on_hand: Mapped[int] = mapped_column(Id)
    promised_plan_id: Mapped[int | None] = mapped_column(ForeignKey("plan.id"))
    value: Mapped[Decimal] = mapped_column(Money)
    volume_mm3: Mapped[int] = mapped_column(Id)
    ended_by: Mapped[MovementKind | None] = mapped_column(one_of(MovementKind, "ended_by"))
    moisture_pct: Mapped[float | None] = mapped_column(Percent)
    moisture_on: Mapped[date | None] = mapped_column(Day)
    ring_angle_deg: Mapped[float | None] = mapped_column(Degrees)


class PieceChangeRow(Signed, Base):
    """One fact of one piece that changed: what it was, what it is, since when and why."""

    __tablename__ = "piece_change"
    __table_args__ = (Index(None, "piece_id", "fact"), Index(None, "fact", "effective"))

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id"))
    version: Mapped[int] = mapped_column(Id)
    fact: Mapped[str] = mapped_column(Word)
    old: Mapped[Any] = mapped_column(Document)
    new: Mapped[Any] = mapped_column(Document)
    effective: Mapped[date] = mapped_column(Day)
    cause: Mapped[str] = mapped_column(Sentence)


class ReadingRow(Signed, Base):
    """A moisture reading as it was taken, and what it was corrected to by which rule.

    copied_from_id: on an offcut or a stave, the reading of its parent that this one repeats.
    """

    __tablename__ = "moisture_reading"
    __table_args__ = (Index(None, "piece_id", "taken_on"),)

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id"))
    taken_on: Mapped[date] = mapped_column(Day)
    raw_pct: Mapped[float] = mapped_column(Percent)
    corrected_pct: Mapped[float | None] = mapped_column(Percent)
    meter: Mapped[str] = mapped_column(Word)
    wood_c: Mapped[float | None] = mapped_column(Percent)
    rule: Mapped[str] = mapped_column(Sentence)
    note: Mapped[str] = mapped_column(Sentence)
    copied_from_id: Mapped[int | None] = mapped_column(ForeignKey("moisture_reading.id"))


class ReadingVoidRow(Signed, Base):
    """A reading taken back, and why. The reading itself stays."""

    __tablename__ = "moisture_void"

    reading_id: Mapped[int] = mapped_column(ForeignKey("moisture_reading.id"), primary_key=True)
    cause: Mapped[str] = mapped_column(Sentence)
