"""Tables of defects: each keeps every version of itself."""

from sqlalchemy import Boolean, ForeignKey, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from stockyard.records.columns import Document, Id, Millimetres, Sentence, one_of
from stockyard.records.tables.base import Base, Signed
from stockyard.timber.defect import DefectKind, Face
from stockyard.timber.mapped_defect import DefectOrigin, DefectState


class DefectRow(Base):
    """A defect of a piece, numbered within it; `version` names the one of its versions that stands."""

    __tablename__ = "defect"
    __table_args__ = (UniqueConstraint("piece_id", "number"),)

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id"))
    number: Mapped[int] = mapped_column(Id)
    version: Mapped[int] = mapped_column(Id)


class DefectVersionRow(Signed, Base):
    """A defect as it was known at one time. Its removal is a version too."""

    __tablename__ = "defect_version"
    __table_args__ = (UniqueConstraint("defect_id", "version"),)

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    defect_id: Mapped[int] = mapped_column(ForeignKey("defect.id"))
    version: Mapped[int] = mapped_column(Id)
    kind: Mapped[DefectKind] = mapped_column(one_of(DefectKind, "kind"))
    face: Mapped[Face] = mapped_column(one_of(Face, "face"))
    outline: Mapped[list[list[float]]] = mapped_column(Document)
    depth_mm: Mapped[float | None] = mapped_column(Millimetres)
    opening_mm: Mapped[float | None] = mapped_column(Millimetres)
    note: Mapped[str] = mapped_column(Sentence)
    state: Mapped[DefectState] = mapped_column(one_of(DefectState, "state"))
    origin: Mapped[DefectOrigin] = mapped_column(one_of(DefectOrigin, "origin"))
    removed: Mapped[bool] = mapped_column(Boolean(create_constraint=False))
    cause: Mapped[str] = mapped_column(Sentence)
