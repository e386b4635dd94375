"""Bow, spring, cup and twist: from what a rule measures to the whole board, and what a shorter piece keeps.

Curvature is taken as constant, so a sagitta grows with the square of the length: d = L2 / (8 R).
"""

from dataclasses import dataclass
from math import isfinite

from stockyard.errors import BadInput, Fault
from stockyard.timber import Distortion

STRAIGHTEDGE_MM = 2000.0
"""European practice measures bow and spring over the worst two metres, cup over the width (EN 1309-3, from
memory of its predecessors); a default, and the length measured over is always asked for."""


@dataclass(frozen=True, slots=True)
class Measured:
    """A distortion as measured. deviation: the greatest, [mm, >= 0]; over: the length or width, [mm, > 0]."""

    deviation_mm: float
    over_mm: float = STRAIGHTEDGE_MM

    def __post_init__(self) -> None:
        if not (isfinite(self.deviation_mm) and self.deviation_mm >= 0):
            raise BadInput(
                "A distortion is not negative.",
                [Fault("deviation", "0 mm or more", f"{self.deviation_mm:g}")],
            )
        if not (isfinite(self.over_mm) and self.over_mm > 0):
            raise BadInput(
                "It is measured over a length.", [Fault("measured over", "above 0 mm", f"{self.over_mm:g}")]
            )

    @property
    def radius_mm(self) -> float | None:
        """Radius of the curve, None where it is straight. [mm]"""
        return self.over_mm**2 / (8 * self.deviation_mm) if self.deviation_mm else None

    def carried_to(self, span_mm: float) -> float:
        """The deviation over another length of the same curve. [mm]"""
        return self.deviation_mm * (span_mm / self.over_mm) ** 2


def whole_board(
    length_mm: float,
    width_mm: float,
    *,
    bow: Measured | None = None,
    spring: Measured | None = None,
    cup: Measured | None = None,
    twist: Measured | None = None,
) -> Distortion:
    """The distortion of a whole board from what was measured over parts of it. [mm]

    twist: a corner's rise over a length, at the board's full width; it grows evenly along the board.
    """
    return Distortion(
        bow.carried_to(length_mm) if bow else 0.0,
        spring.carried_to(length_mm) if spring else 0.0,
        cup.carried_to(width_mm) if cup else 0.0,
        twist.deviation_mm * length_mm / twist.over_mm if twist else 0.0,
    )


def thickness_left(thickness_mm: float, left: Distortion, planing_each_face_mm: float) -> float:
    """A piece's thickness once it is flat: bow, cup and twist planed out, then both faces dressed. [mm]"""
    return thickness_mm - left.bow_mm - left.cup_mm - left.twist_mm - 2 * planing_each_face_mm


def width_left(width_mm: float, left: Distortion, jointing_each_edge_mm: float) -> float:
    """A piece's width once its edges are straight: spring off, then both edges jointed. [mm]"""
    return width_mm - left.spring_mm - 2 * jointing_each_edge_mm


def slope_of_grain(deviation_mm: float, over_mm: float) -> float:
    """How far the grain runs off, as a share of the length. [0..]

    Source: EN 1310:1997 extract (freestandardsdownload.com): x / y, x the deviation over a length y.
    """
    return Measured(deviation_mm, over_mm).deviation_mm / over_mm
