"""The yields and sizes that NHLA grades ask for, read from the table beside this module."""

import csv
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from importlib.resources import files

from stockyard.grading.cuttings import LeastSize
from stockyard.grading.marked import FOOT, INCH
from stockyard.timber import DefectKind

UNIT_AREA = INCH * FOOT
"""A cutting unit: one inch by one foot. [square units of length]"""


@dataclass(frozen=True, slots=True)
class Option:
    """One way to make a grade: that many cuttings (None: any number), that many cutting units. rule: which.

    full_width: cuttings must span the board's width, and may be of any length. clear: the whole face.
    """

    cuttings: int | None
    units: Fraction
    rule: str
    full_width: bool = False
    clear: bool = False


@dataclass(frozen=True, slots=True)
class GradeRule:
    """What one grade asks of a board and of one face.

    cuttings: (SM + add) / by, the fraction dropped, at most `most`. extra: from SM, to SM, units per SM that
    earn one cutting more. small: SM -> units per SM in one cutting. sound: cuttings need only be sound.
    """

    grade: str
    board_width_in: Fraction
    board_length_ft: Fraction
    least: tuple[LeastSize, ...]
    units_per_sm: int
    add: int
    by: int | None
    most: int | None
    extra: tuple[int, int, int] | None
    small: Mapping[int, int] = field(default_factory=dict)
    sound: bool = False

    @property
    def fas_limits(self) -> bool:
        """Do pith, wane, knots, splits and the ends' first foot have limits?"""
        return self.grade in ("FAS", "Selects")

    def cuttings(self, surface_measure: int, length_ft: Fraction = Fraction(0)) -> int | None:
        """How many cuttings the plain rule allows; None when any number.

        length_ft: FAS and Selects boards of 17 ft and more over 16 SM have one more for each further 4 SM,
        7 at most.
        """
        if self.by is None or self.most is None:
            return None
        plain = min(self.most, (surface_measure + self.add) // self.by)
        if self.fas_limits and length_ft >= 17 and surface_measure > 16:
            return min(7, plain + (surface_measure - 16) // 4)
        return plain

    def options(self, surface_measure: int, width_in: Fraction, length_ft: Fraction) -> tuple[Option, ...]:
        """Every way that a face of this board may make the grade."""
        sm = surface_measure
        if sm in self.small:
            per_sm = self.small[sm]
            return (
                Option(1, Fraction(sm * per_sm), f"{per_sm} units per SM in one cutting"),
                Option(1, Fraction(0), "a clear face", clear=True),
            )
        count = self.cuttings(sm, length_ft)
        ways = [Option(count, Fraction(sm * self.units_per_sm), f"{self.units_per_sm} units per SM")]
        if count is not None and self.extra is not None and self.extra[0] <= sm <= self.extra[1]:
            rule = f"one extra cutting for {self.extra[2]} units per SM"
            ways.append(Option(count + 1, Fraction(sm * self.extra[2]), rule))
        if self.fas_limits and 6 <= sm <= 12 and width_in >= 6:
            rule = "two cuttings of full width for 97 %"
            ways.append(Option(2, Fraction(sm * 1164, 100), rule, full_width=True))
        return tuple(ways)


@dataclass(frozen=True, slots=True)
class NhlaRules:
    """The grades from the highest down, and what counts as a defect in a cutting.

    in_clear: kinds that a clear cutting admits; in_sound: kinds that a sound one admits. Both are settings:
    the rule book's own lists (season checks, bird pecks, stain, worm holes by size) were not read.
    """

    grades: tuple[GradeRule, ...]
    in_clear: frozenset[DefectKind] = frozenset({DefectKind.SAPWOOD})
    in_sound: frozenset[DefectKind] = frozenset(
        {
            DefectKind.SAPWOOD,
            DefectKind.SOUND_KNOT,
            DefectKind.STAIN,
            DefectKind.GUM_VEIN,
            DefectKind.CHECK,
        }
    )

    def named(self, grade: str) -> GradeRule:
        """The rule of that grade."""
        return next(rule for rule in self.grades if rule.grade == grade)


@lru_cache(maxsize=1)
def published_rules() -> NhlaRules:
    """The rules as far as they could be read."""
    text = files("stockyard.grading").joinpath("tables", "nhla.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))
    return NhlaRules(tuple(_rule(row) for row in rows))


def _rule(row: dict[str, str]) -> GradeRule:
    sizes = [size.split("x") for size in row["least"].split(";")]
    small = [part.split(":") for part in row["small"].split(";") if part]
    return GradeRule(
        row["grade"],
        Fraction(row["board_width_in"]),
        Fraction(row["board_length_ft"]),
        tuple(
            LeastSize(round(Fraction(length) * FOOT), round(Fraction(width) * INCH))
            for width, length in sizes
        ),
        int(row["units_per_sm"]),
        int(row["add"] or 0),
        _whole(row["by"]),
        _whole(row["most"]),
        (int(row["extra_from"]), int(row["extra_to"]), int(row["extra_units_per_sm"]))
        if row["extra_from"]
        else None,
        {int(sm): int(units) for sm, units in small},
        row["sound"] == "yes",
    )


def _whole(cell: str) -> int | None:
    return int(cell) if cell else None
