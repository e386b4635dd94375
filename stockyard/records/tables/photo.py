"""Tables of photographs: pictures kept, faces put to scale, what was suggested, and what was said to it."""

from typing import Any

from sqlalchemy import Boolean, ForeignKey, Index, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from stockyard.records.columns import Document, Id, Millimetres, Sentence, Share, Word, one_of
from stockyard.records.tables.base import Base, Signed
from stockyard.timber.defect import DefectKind, Face
from stockyard.timber.photo import Verdict


class PictureRow(Signed, Base):
    """A picture's file, named by its SHA-256, and that of what was handed in."""

    __tablename__ = "picture"
    __table_args__ = (UniqueConstraint("digest"), Index(None, "given_digest"))

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    digest: Mapped[str] = mapped_column(Word)
    given_digest: Mapped[str] = mapped_column(Word)
    extension: Mapped[str] = mapped_column(Word)
    thumb_digest: Mapped[str] = mapped_column(Word)
    size_bytes: Mapped[int] = mapped_column(Id)
    width_px: Mapped[int] = mapped_column(Id)
    height_px: Mapped[int] = mapped_column(Id)
    name: Mapped[str] = mapped_column(Word)
    taken: Mapped[str | None] = mapped_column(Word)
    located: Mapped[bool] = mapped_column(Boolean(create_constraint=False))


class PhotoRow(Signed, Base):
    """A face put to scale. scale, colour: documents, as the values of the trade hold them."""

    __tablename__ = "photo"
    __table_args__ = (UniqueConstraint("number"), Index(None, "piece_id", "face"))

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    number: Mapped[int] = mapped_column(Id)
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id"))
    face: Mapped[Face] = mapped_column(one_of(Face, "face"))
    length_mm: Mapped[float] = mapped_column(Millimetres)
    width_mm: Mapped[float] = mapped_column(Millimetres)
    way: Mapped[str] = mapped_column(Word)
    scale: Mapped[dict[str, Any]] = mapped_column(Document)
    colour: Mapped[dict[str, Any] | None] = mapped_column(Document(none_as_null=True))
    face_digest: Mapped[str] = mapped_column(Word)
    thumb_digest: Mapped[str] = mapped_column(Word)


class PhotoPictureRow(Base):
    """Which pictures a photo was made of, in order from end 1."""

    __tablename__ = "photo_picture"
    __table_args__ = (Index(None, "picture_id"),)

    photo_id: Mapped[int] = mapped_column(ForeignKey("photo.id"), primary_key=True)
    place: Mapped[int] = mapped_column(Id, primary_key=True, autoincrement=False)
    picture_id: Mapped[int] = mapped_column(ForeignKey("picture.id"))


class PhotoVoidRow(Signed, Base):
    """A photo taken back, and why. The photo itself stays."""

    __tablename__ = "photo_void"

    photo_id: Mapped[int] = mapped_column(ForeignKey("photo.id"), primary_key=True)
    cause: Mapped[str] = mapped_column(Sentence)


class DetectionRow(Signed, Base):
    """One reading of a photo: by what settings, and the name of the figures it was judged by."""

    __tablename__ = "detection"
    __table_args__ = (Index(None, "photo_id"),)

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    photo_id: Mapped[int] = mapped_column(ForeignKey("photo.id"))
    settings: Mapped[dict[str, Any]] = mapped_column(Document)
    fitted: Mapped[str] = mapped_column(Word)


class SuggestionRow(Base):
    """A defect that may be there, exactly as it was found; numbered within its piece."""

    __tablename__ = "suggestion"
    __table_args__ = (UniqueConstraint("piece_id", "number"), Index(None, "detection_id"))

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    detection_id: Mapped[int] = mapped_column(ForeignKey("detection.id"))
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id"))
    number: Mapped[int] = mapped_column(Id)
    kind: Mapped[DefectKind] = mapped_column(one_of(DefectKind, "kind"))
    could_be: Mapped[list[str]] = mapped_column(Document)
    outline: Mapped[list[list[float]]] = mapped_column(Document)
    confidence: Mapped[float] = mapped_column(Share)
    length_mm: Mapped[float] = mapped_column(Millimetres)
    width_mm: Mapped[float] = mapped_column(Millimetres)
    opening_mm: Mapped[float | None] = mapped_column(Millimetres)
    at_end: Mapped[bool] = mapped_column(Boolean(create_constraint=False))
    at_edge: Mapped[bool] = mapped_column(Boolean(create_constraint=False))


class SuggestionDecisionRow(Signed, Base):
    """What a person said of a suggestion; the newest counts. changed: what differs on the map."""

    __tablename__ = "suggestion_decision"
    __table_args__ = (Index(None, "suggestion_id"),)

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    suggestion_id: Mapped[int] = mapped_column(ForeignKey("suggestion.id"))
    verdict: Mapped[Verdict] = mapped_column(one_of(Verdict, "verdict"))
    defect_id: Mapped[int | None] = mapped_column(ForeignKey("defect.id"))
    changed: Mapped[dict[str, Any]] = mapped_column(Document)
    cause: Mapped[str] = mapped_column(Sentence)
