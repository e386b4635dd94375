"""Keys set clear of a drawing: in rows over it with a line down to each thing, or close beside the thing."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from stockyard.drawings.lettering import width_mm
from stockyard.drawings.scales import spread, tiers_needed
from stockyard.drawings.sheet import HAIR, LINE, PAPER, Line, Mark, Shape, Words, rectangle
from stockyard.timber import Outline, Point

KEY_MM = 4.2
TIER_MM = 5.4
"""Capitals of a key are 3 mm tall, five minutes of arc from two metres: what normal sight reads."""


@dataclass(frozen=True, slots=True)
class Callout:
    """A key and the point it belongs to. framed: its key stands in a box. [mm of paper]"""

    key: str
    at: Point
    framed: bool = False


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle of the page, x0 < x1 and y0 < y1. [mm of paper]"""

    x0: float
    y0: float
    x1: float
    y1: float

    def meets(self, other: "Box") -> bool:
        """Do the two overlap?"""
        return self.x0 < other.x1 and other.x0 < self.x1 and self.y0 < other.y1 and other.y0 < self.y1

    def holds(self, other: "Box") -> bool:
        """Does `other` lie inside?"""
        return self.x0 <= other.x0 and other.x1 <= self.x1 and self.y0 <= other.y0 and other.y1 <= self.y1


def around(points: Outline) -> Box:
    """The box around an outline. [mm of paper]"""
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return Box(min(xs), min(ys), max(xs), max(ys))


def first_free(candidates: Sequence[Box], taken: Iterable[Box]) -> Box | None:
    """The first candidate that overlaps nothing, None when all do."""
    obstacles = tuple(taken)
    return next((box for box in candidates if not any(box.meets(other) for other in obstacles)), None)


def key_width(key: str) -> float:
    """The room a key takes in its row. [mm of paper]"""
    return width_mm(key, KEY_MM, bold=True) + 1.6


def callout_tiers(keys: Sequence[str], room_mm: float) -> int:
    """How many rows of keys stand over a drawing that is `room_mm` of paper wide."""
    return tiers_needed([key_width(key) for key in keys], room_mm) if keys else 0


def callouts_over(callouts: Sequence[Callout], left: float, right: float, top: float) -> list[Mark]:
    """Keys in rows over the line y = top, each with a thin line down to its point. [mm of paper]"""
    tiers = callout_tiers([callout.key for callout in callouts], right - left)
    by_place = sorted(callouts, key=lambda callout: callout.at)
    leaders: list[Mark] = []
    writing: list[Mark] = []
    for tier in range(tiers):
        row = by_place[tier::tiers]
        sizes = [key_width(callout.key) for callout in row]
        baseline = top - 1.9 - tier * TIER_MM
        for callout, size, x in zip(
            row, sizes, spread([callout.at[0] for callout in row], sizes, left, right), strict=True
        ):
            # Slanting only between the keys and the drawing, so that lines inside it are all upright.
            leaders.append(Line(((x, baseline + 0.5), (callout.at[0], top - 0.4), callout.at), HAIR))
            backing = rectangle(
                x - size / 2 + 0.4, baseline - KEY_MM * 0.78, x + size / 2 - 0.4, baseline + 0.6
            )
            writing.append(Shape(backing, LINE if callout.framed else None, PAPER))
            writing.append(Words(x, baseline, callout.key, KEY_MM, "middle", bold=True))
    return leaders + writing


def beside(thing: Box, wide: float, high: float) -> list[Box]:
    """Places close to a thing for a label of that size: right, left, above and below it. [mm of paper]"""
    gap = 0.6
    cx, cy = (thing.x0 + thing.x1) / 2, (thing.y0 + thing.y1) / 2
    boxes = [
        Box(thing.x1 + gap, cy - high / 2, thing.x1 + gap + wide, cy + high / 2),
        Box(thing.x0 - gap - wide, cy - high / 2, thing.x0 - gap, cy + high / 2),
    ]
    for x in (cx, thing.x0 + wide / 2, thing.x1 - wide / 2):
        boxes.append(Box(x - wide / 2, thing.y0 - gap - high, x + wide / 2, thing.y0 - gap))
        boxes.append(Box(x - wide / 2, thing.y1 + gap, x + wide / 2, thing.y1 + gap + high))
    return boxes
