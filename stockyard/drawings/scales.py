"""Choosing a drawing's scale, and carrying millimetres of wood to millimetres of paper."""

from collections.abc import Iterable
from dataclasses import dataclass

from stockyard.timber import Outline, Point, Window

SCALES = (1, 2, 2.5, 4, 5, 6, 7.5, 8, 10, 12.5, 15, 17.5, 20, 25, 30, 40, 50, 75, 100, 150, 200, 500, 1000)
"""The denominators a drawing may have, from true size down."""


def scale_for(length_mm: float, width_mm: float, room_x_mm: float, room_y_mm: float) -> float:
    """The largest scale at which a piece fits the room, as its denominator (10 for 1 : 10).

    length_mm, width_mm: of wood. room_x_mm, room_y_mm: of paper.
    """
    needed = max(length_mm / room_x_mm, width_mm / room_y_mm)
    return next((scale for scale in SCALES if scale >= needed), needed)


def scale_words(scale: float) -> str:
    """A scale as it is written: 1 : 12.5."""
    return f"1 : {scale:g}"


@dataclass(frozen=True, slots=True)
class View:
    """A piece on the page: wood (0, 0) lies at (x_mm, y_mm) of paper, y of the wood pointing up."""

    x_mm: float
    y_mm: float
    scale: float

    def at(self, point: Point) -> Point:
        """A point of the wood on the paper."""
        return self.x_mm + point[0] / self.scale, self.y_mm - point[1] / self.scale

    def outline(self, points: Outline) -> Outline:
        """An outline of the wood on the paper."""
        return tuple(self.at(point) for point in points)

    def box(self, window: Window) -> Outline:
        """A rectangle of the wood on the paper."""
        return self.outline(corners(window.x0, window.y0, window.x1, window.y1))


def corners(x0: float, y0: float, x1: float, y1: float) -> Outline:
    """The corners of a rectangle of wood. [mm]"""
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def spread(centres: Iterable[float], sizes: Iterable[float], low: float, high: float) -> list[float]:
    """Centres moved as little as needed so that labels of these sizes do not overlap, within [low, high].

    Their order is kept. Where the labels together are longer than the room they are set evenly, overlapping
    equally: ask first with `tiers_needed`.
    """
    wanted, room = list(centres), list(sizes)
    order = sorted(range(len(wanted)), key=lambda i: (wanted[i], i))
    total = sum(room)
    squeeze = min(1.0, (high - low) / total) if total else 1.0
    # Clusters of touching labels: [indices, length, sum of (wanted start of the cluster)]
    clusters: list[tuple[list[int], float, float]] = []
    for index in order:
        size = room[index] * squeeze
        members, length, pull = [index], size, wanted[index] - size / 2
        while clusters:
            before, before_length, before_pull = clusters[-1]
            if _start(before_pull, len(before), before_length, low, high) + before_length <= _start(
                pull, len(members), length, low, high
            ):
                break
            clusters.pop()
            pull = before_pull + pull - before_length * len(members)
            members, length = before + members, before_length + length
        clusters.append((members, length, pull))
    placed = [0.0] * len(wanted)
    for members, length, pull in clusters:
        start = _start(pull, len(members), length, low, high)
        for index in members:
            size = room[index] * squeeze
            placed[index] = start + size / 2
            start += size
    return placed


def tiers_needed(sizes: Iterable[float], room_mm: float) -> int:
    """How many rows labels of these sizes need. [mm of paper]"""
    total = sum(sizes)
    return max(1, -(-int(total * 1.02) // max(1, int(room_mm))))


def _start(pull: float, count: int, length: float, low: float, high: float) -> float:
    return min(max(pull / count, low), high - length)
