"""A piece of timber as the records know it: a board, a stave cut from one, or an offcut back on the rack."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum
from typing import Any

from stockyard.measures.colour import Lab
from stockyard.timber.board import Board, Distortion
from stockyard.timber.defect import Defect, Face
from stockyard.timber.movement import MovementKind
from stockyard.timber.window import Window


class PieceKind(StrEnum):
    """What a piece is."""

    BOARD = "board"
    STAVE = "stave"
    OFFCUT = "offcut"


class PieceStatus(StrEnum):
    """Where a piece stands: to be had, promised to a plan, a stave waiting for its panel, or gone."""

    FREE = "free"
    PROMISED = "promised"
    IN_WORK = "in work"
    GONE = "gone"


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece with the facts that stand.

    number: "SG-0017". delivery: the docket it came on, supplier: whose; row: its row in that tally.
    parent, window: the piece it was cut from and where in that piece's frame. cut_by: the plan that cut it,
    with the panel and place a stave was cut for. promised_to: the plan it is promised to.
    on_hand, promised_to, value, volume_mm3 and ended_by (what took it off hand) come from movements, never
    from whoever adds the piece; moisture_pct and moisture_on from its newest reading.
    version: counts the changes of what a plan rests on (sizes, distortion, faces, flaws, moisture, value).
    ring_angle_deg: between growth rings and wide face, 0 (backsawn) to 90 (quartersawn); None if not known.
    """

    number: str
    species: str
    length_mm: float
    width_mm: float
    thickness_mm: float
    kind: PieceKind = PieceKind.BOARD
    distortion: Distortion = field(default_factory=Distortion)
    heart_face: Face | None = None
    colour_a: Lab | None = None
    colour_b: Lab | None = None
    place: str = ""
    note: str = ""
    supplier: str | None = None
    delivery: str | None = None
    row: int | None = None
    parent: str | None = None
    window: Window | None = None
    cut_by: int | None = None
    panel: str | None = None
    stave: int | None = None
    on_hand: bool = False
    promised_to: int | None = None
    value: Decimal = Decimal(0)
    volume_mm3: int = 0
    ended_by: MovementKind | None = None
    moisture_pct: float | None = None
    moisture_on: date | None = None
    version: int = 1
    ring_angle_deg: float | None = None

    def as_board(self, defects: Iterable[Defect]) -> Board:
        """The piece as selection and the drawings see it. defects: those that stand on its map."""
        return Board(
            id=self.number,
            species=self.species,
            length_mm=self.length_mm,
            width_mm=self.width_mm,
            thickness_mm=self.thickness_mm,
            value=self.value,
            moisture_pct=self.moisture_pct,
            distortion=self.distortion,
            heart_face=self.heart_face,
            colour_a=self.colour_a,
            colour_b=self.colour_b,
            defects=tuple(defects),
        )

    @property
    def status(self) -> PieceStatus:
        """Where it stands."""
        if not self.on_hand:
            return PieceStatus.GONE
        if self.promised_to is not None:
            return PieceStatus.PROMISED
        return PieceStatus.IN_WORK if self.kind is PieceKind.STAVE else PieceStatus.FREE


@dataclass(frozen=True, slots=True)
class PieceChange:
    """One fact of a piece that changed. old, new: plain JSON values. effective: the day it holds from."""

    fact: str
    old: Any
    new: Any
    version: int
    effective: date
    cause: str
    at: datetime
    who: str


def volume_mm3(length_mm: float, width_mm: float, thickness_mm: float) -> int:
    """Gross volume of a square-edged piece, to the nearest whole cubic millimetre. [mm3]"""
    return round(length_mm * width_mm * thickness_mm)
