"""The hatchings that tell things apart without colour."""

from dataclasses import dataclass

from stockyard.drawings.sheet import Line, Pen

_THIN, _MID, _FAT = Pen(0.15), Pen(0.25), Pen(0.5)


@dataclass(frozen=True, slots=True)
class Hatch:
    """A tile repeated over a shape. [mm of paper]

    turn_deg: the whole pattern turned, clockwise. dots: (x, y, radius, filled).
    """

    width_mm: float
    height_mm: float
    lines: tuple[Line, ...] = ()
    dots: tuple[tuple[float, float, float, bool], ...] = ()
    turn_deg: float = 0


def _ruled(gap_mm: float, turn_deg: float, pen: Pen = _THIN) -> Hatch:
    """Parallel lines a gap apart."""
    middle = gap_mm / 2
    return Hatch(gap_mm, gap_mm, (Line(((0, middle), (gap_mm, middle)), pen),), turn_deg=turn_deg)


def _crossed(gap_mm: float, turn_deg: float, pen: Pen = _THIN) -> Hatch:
    middle = gap_mm / 2
    return Hatch(
        gap_mm,
        gap_mm,
        (Line(((0, middle), (gap_mm, middle)), pen), Line(((middle, 0), (middle, gap_mm)), pen)),
        turn_deg=turn_deg,
    )


HATCHES = {
    "rising": _ruled(0.8, -45, _MID),
    "falling": _ruled(0.8, 45, _MID),
    "rising-fat": _ruled(1.4, -45, _FAT),
    "falling-fat": _ruled(1.4, 45, _FAT),
    "level": _ruled(0.7, 0, _MID),
    "upright": _ruled(0.7, 90, _MID),
    "net": _crossed(0.9, 45, _MID),
    "grid": _crossed(1.0, 0, _MID),
    "rings": Hatch(1.2, 1.2, dots=((0.6, 0.6, 0.38, False),)),
    "dots": Hatch(0.9, 0.9, dots=((0.45, 0.45, 0.24, True),), turn_deg=30),
    "sand": Hatch(1.6, 1.6, dots=((0.4, 0.4, 0.14, True), (1.2, 1.2, 0.14, True))),
    "dashes": Hatch(2.0, 1.2, (Line(((0, 0.3), (1.2, 0.3)), _MID), Line(((1.0, 0.9), (2.0, 0.9)), _MID))),
    "rain": Hatch(1.4, 2.0, (Line(((0.35, 0.2), (0.35, 1.0)), _MID), Line(((1.05, 1.2), (1.05, 2.0)), _MID))),
    "steep": _ruled(1.1, -70, _THIN),
    "solid": Hatch(1.0, 1.0, (Line(((0, 0.5), (1.0, 0.5)), Pen(1.02)),)),
    "waste": _ruled(2.2, -45, Pen(0.12, "#8a857b")),
    "trim": _ruled(1.5, 45, Pen(0.12, "#8a857b")),
}
