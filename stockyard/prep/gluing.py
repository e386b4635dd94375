"""What a glue-up takes: pressure, force, clamps, glue, time, cauls, and stages when it is too wide."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, isfinite

from stockyard.errors import BadInput, Fault

PSI_MPA = 0.45359237 * 9.80665 / (0.0254**2) / 1e6
"""One pound-force to the square inch, exact by definition. [MPa]"""

LBF_N = 0.45359237 * 9.80665
"""One pound-force, exact by definition. [N]"""

CLAMPS_N = {
    "parallel-jaw": 370 * LBF_N,
    "3/4 in pipe": 1050 * LBF_N,
    "I-beam": 1350 * LBF_N,
}
"""What a clamp presses, as measured by a woodworking magazine, November/December 2007 (quoted in the archive
of sawmillcreek.org, t-166480)."""

PRESSURES_MPA = {
    "softwood": (100 * PSI_MPA, 150 * PSI_MPA),
    "hardwood": (175 * PSI_MPA, 250 * PSI_MPA),
}
"""An adhesive maker's advice, second hand (three copies of one article): 100-150 and 175-250 psi."""


@dataclass(frozen=True, slots=True)
class GlueHabits:
    """How the workshop glues. Habits without a published source, except as said; the glue's label goes first.

    pressure: 1.2 MPa, where published figures for hardwood meet. clamp_n: of one clamp. spread: on one face
    [g/m2]. open_minutes, clamp_minutes: near 20 °C. unstressed_hours: before it is worked. caul_mm: width of
    the cauls that spread the pressure. widest_mm: what the planer takes, least_c: the coldest to glue at.
    """

    pressure_mpa: float = 1.2
    clamp_n: float = 1050 * LBF_N
    spread_g_m2: float = 180.0
    open_minutes: float = 8.0
    clamp_minutes: float = 60.0
    unstressed_hours: float = 24.0
    caul_mm: float = 50.0
    widest_mm: float = 400.0
    least_c: float = 10.0


@dataclass(frozen=True, slots=True)
class GlueUp:
    """One glue-up. lines: glue lines closed by the same clamps, in series, so that one force serves all.

    clamps: by force or by reach, whichever asks for more; pitch_mm: between them at that number.
    """

    staves: tuple[int, ...]
    lines: int
    width_mm: float
    force_n: float
    clamps_by_force: int
    clamps: int
    pitch_mm: float
    glue_g: float
    cauls: int
    notes: tuple[str, ...] = ()


def clamping_force_n(length_mm: float, thickness_mm: float, pressure_mpa: float) -> float:
    """The force to press one glue line of an edge joint: pressure times its area. [N]"""
    sizes = {"length": length_mm, "thickness": thickness_mm, "pressure": pressure_mpa}
    faults = [Fault(k, "a number above 0", f"{v:g}") for k, v in sizes.items() if not (isfinite(v) and v > 0)]
    if faults:
        raise BadInput("The glue line has no area to press.", faults)
    return length_mm * thickness_mm * pressure_mpa


def clamps_for(force_n: float, clamp_n: float) -> int:
    """How many clamps press so hard together."""
    if not (isfinite(clamp_n) and clamp_n > 0):
        raise BadInput("A clamp has to press.", [Fault("clamp force", "above 0 N", f"{clamp_n:g}")])
    return ceil(force_n / clamp_n - 1e-9)


def glue_mass_g(lines: int, length_mm: float, thickness_mm: float, spread_g_m2: float) -> float:
    """How much glue so many lines take, spread on one face of each. [g]"""
    return lines * length_mm * thickness_mm * 1e-6 * spread_g_m2


def clamp_pitch_mm(outer_stave_mm: float, caul_mm: float) -> float:
    """How far apart clamps may stand, their pressure spreading at 45 degrees: a habit of the trade. [mm]"""
    return 2 * (outer_stave_mm + caul_mm)


def stave_count(width_mm: float, widest_stave_mm: float) -> int:
    """The fewest staves that make up a width."""
    return ceil(width_mm / widest_stave_mm - 1e-9)


def glue_ups(
    stave_widths_mm: Sequence[float], length_mm: float, thickness_mm: float, habits: GlueHabits | None = None
) -> tuple[GlueUp, ...]:
    """The glue-ups that make a panel, in order: one, or parts that fit the planer and then the whole.

    stave_widths_mm: in panel order, as glued. length_mm, thickness_mm: of the glue lines as glued.
    """
    habits = habits or GlueHabits()
    if not stave_widths_mm:
        raise BadInput("There is nothing to glue.")
    if len(stave_widths_mm) == 1:
        return ()
    parts: list[list[int]] = [[]]
    for place, width in enumerate(stave_widths_mm):
        together = sum(stave_widths_mm[n] for n in parts[-1]) + width
        if parts[-1] and together > habits.widest_mm:
            parts.append([])
        parts[-1].append(place)
    if len(parts) == 1:
        return (_glue_up(parts[0], len(parts[0]) - 1, stave_widths_mm, length_mm, thickness_mm, habits),)
    stages = [
        _glue_up(part, len(part) - 1, stave_widths_mm, length_mm, thickness_mm, habits)
        for part in parts
        if len(part) > 1
    ]
    every = list(range(len(stave_widths_mm)))
    whole = _glue_up(every, len(parts) - 1, stave_widths_mm, length_mm, thickness_mm, habits)
    return (*stages, whole)


def _glue_up(
    staves: Sequence[int],
    lines: int,
    widths: Sequence[float],
    length_mm: float,
    thickness_mm: float,
    habits: GlueHabits,
) -> GlueUp:
    force = clamping_force_n(length_mm, thickness_mm, habits.pressure_mpa)
    by_force = clamps_for(force, habits.clamp_n)
    pitch = clamp_pitch_mm(min(widths[staves[0]], widths[staves[-1]]), habits.caul_mm)
    count = max(by_force, ceil(length_mm / pitch), 2)
    minutes = lines * length_mm / 1000
    notes = []
    if minutes > habits.open_minutes:
        notes.append(
            f"Spreading {lines} lines of {length_mm / 1000:.1f} m at a minute to the metre passes the open"
            f" time of {habits.open_minutes:g} min: glue in stages, or with a helper or a slower glue."
        )
    return GlueUp(
        tuple(staves),
        lines,
        sum(widths[n] for n in staves),
        force,
        by_force,
        count,
        length_mm / count,
        glue_mass_g(lines, length_mm, thickness_mm, habits.spread_g_m2),
        2 * ceil(length_mm / 500),
        tuple(notes),
    )
