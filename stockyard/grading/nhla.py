"""The NHLA grade that a board's map gives it, trial by trial, with what each trial lacked.

Order of work: surface measure, the yield of each face, the poor face, trial grades from the highest down.
FAS is made by both faces; FAS one face and Selects by the better, with No. 1 Common on the other; the rest by
the poor face. The exceptions of particular species are not worked. Source: as tables/nhla.csv, with the order
of work at goodwoodcorp.com and the faces at westcoastlands.net (both read).
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil

from stockyard.grading import AID
from stockyard.grading.cuttings import Box, Cuttings, largest_cuttings
from stockyard.grading.marked import (
    FOOT,
    INCH,
    UNITS_PER_MM,
    BoxesOf,
    Mark,
    MarkedBoard,
    box_around,
    marked,
)
from stockyard.grading.nhla_limits import Shortfall, fas_shortfalls
from stockyard.grading.nhla_rules import UNIT_AREA, GradeRule, NhlaRules, Option, published_rules
from stockyard.measures.volume import HalfFoot, surface_measures
from stockyard.timber import Board, Face

ONE_FACE = "FAS one face"
BELOW = "below grade"
MOST_TRIED_SINGLY, MOST_TOLD = 12, 6
"""Flaws among which the decisive ones are looked for one by one, and flaws told in a sentence."""

EFFORT = 4_000
"""Pieces measured for one question; about a second. Beyond it the trial is told as not decided."""


@dataclass(frozen=True, slots=True)
class Cutting:
    """A clear cutting in the board frame: x0, y0, x1, y1. [mm] units: [cutting units]"""

    box_mm: tuple[float, float, float, float]
    units: float


@dataclass(frozen=True, slots=True)
class FaceTrial:
    """One face tried for one grade.

    units: in the cuttings found; needed: by the way that came nearest; cuttings_allowed: None when any
    number. decided: False when the search stopped before it knew, and the face then counts as short.
    """

    grade: str
    face: Face
    made: bool
    rule: str
    units: float
    needed: float
    cuttings_allowed: int | None
    cuttings: tuple[Cutting, ...]
    shortfalls: tuple[Shortfall, ...]
    decided: bool = True


@dataclass(frozen=True, slots=True)
class Trial:
    """A board tried for one grade: made or not, why not, and the faces tried for it."""

    grade: str
    made: bool
    why_not: tuple[Shortfall, ...]
    faces: tuple[FaceTrial, ...]


@dataclass(frozen=True, slots=True)
class NhlaGrade:
    """The grade of a board, how it was come to, and why no higher one was."""

    board: str
    grade: str
    surface_measure: int
    poor_face: Face
    trials: tuple[Trial, ...]
    note: str = AID

    @property
    def undecided(self) -> tuple[str, ...]:
        """Grades not given because the search stopped before it knew; with more effort they might be."""
        return tuple(t.grade for t in self.trials if not t.made and any(not f.decided for f in t.faces))

    @property
    def why_no_higher(self) -> tuple[str, ...]:
        """One sentence for each thing a higher grade lacked."""
        return tuple(f"{t.grade}: {lack.why}" for t in self.trials if not t.made for lack in t.why_not)


def grade_board(
    board: Board,
    *,
    rules: NhlaRules | None = None,
    half: HalfFoot = HalfFoot.UP,
    boxes_of: BoxesOf = box_around,
    effort: int = EFFORT,
) -> NhlaGrade:
    """The highest NHLA grade that a board makes by its map, both faces mapped.

    half: what becomes of a surface measure that ends in a half. boxes_of: how outlines are boxed. effort:
    pieces measured for each question before it is told as not decided.
    """
    grader = _Grader(marked(board, boxes_of), rules or published_rules(), half, effort)
    return grader.grade()


def requirement(
    grade: str, surface_measure: int, width_in: Fraction, length_ft: Fraction, rules: NhlaRules | None = None
) -> tuple[Option, ...]:
    """What one face of such a board must yield for a grade, every way that is open to it."""
    return (rules or published_rules()).named(grade).options(surface_measure, width_in, length_ft)


class _Grader:
    def __init__(self, board: MarkedBoard, rules: NhlaRules, half: HalfFoot, effort: int) -> None:
        self.board, self.rules, self.effort = board, rules, effort
        sizes = (Decimal(str(board.board.length_mm)), Decimal(str(board.board.width_mm)))
        self.sm = surface_measures([sizes], half)[0]
        self.width_in, self.length_ft = Fraction(board.width, INCH), Fraction(board.length, FOOT)
        self.known: dict[tuple[str, Face], FaceTrial] = {}

    def grade(self) -> NhlaGrade:
        """The first trial that is made, from the highest grade down."""
        poor = self.poor_face()
        trials = []
        for trial in self.trials(poor):
            trials.append(trial)
            if trial.made:
                return NhlaGrade(self.board.board.id, trial.grade, self.sm, poor, tuple(trials))
        return NhlaGrade(self.board.board.id, BELOW, self.sm, poor, tuple(trials))

    def trials(self, poor: Face) -> Iterable[Trial]:
        """Each grade from the highest down, tried only when asked for."""
        common = self.rules.named("No. 1 Common")
        fas, selects = self.rules.named("FAS"), self.rules.named("Selects")
        yield self.tried("FAS", fas, [(fas, Face.A), (fas, Face.B)])
        yield self.tried(ONE_FACE, fas, [(fas, poor.other), (common, poor)])
        yield self.tried("Selects", selects, [(selects, poor.other), (common, poor)])
        for rule in self.rules.grades:
            if not rule.fas_limits:
                yield self.tried(rule.grade, rule, [(rule, poor)])

    def tried(self, grade: str, sizes: GradeRule, asked: list[tuple[GradeRule, Face]]) -> Trial:
        """A trial: the board's size against the grade's, then the faces asked for until one falls short."""
        lacks = []
        if self.width_in < sizes.board_width_in or self.length_ft < sizes.board_length_ft:
            lacks.append(
                Shortfall(
                    f"the board is {float(self.width_in):.2f} in x {float(self.length_ft):.2f} ft,"
                    f" at least {sizes.board_width_in} in x {sizes.board_length_ft} ft is asked for"
                )
            )
            return Trial(grade, False, tuple(lacks), ())
        if self.sm < 1:
            return Trial(grade, False, (Shortfall("its surface measure is nothing"),), ())
        faces = []
        for rule, face in asked:
            tried = self.face(rule, face)
            faces.append(tried)
            lacks.extend(tried.shortfalls)
            if not tried.made:
                break
        return Trial(grade, not lacks, tuple(lacks), tuple(faces))

    def poor_face(self) -> Face:
        """The face of lower grade; of equals the one with fewer units; of equals again B."""
        ranks = {}
        for face in (Face.A, Face.B):
            ladder = [rule for rule in self.rules.grades if rule.grade != "Selects"]
            made = next((n for n, rule in enumerate(ladder) if self.face(rule, face).made), len(ladder))
            units = self.face(ladder[min(made, len(ladder) - 1)], face).units
            ranks[face] = (-made, units)
        return Face.A if ranks[Face.A] < ranks[Face.B] else Face.B

    def face(self, rule: GradeRule, face: Face) -> FaceTrial:
        """One face tried for one rule, worked once."""
        key = (rule.grade, face)
        if key not in self.known:
            self.known[key] = self.try_face(rule, face)
        return self.known[key]

    def try_face(self, rule: GradeRule, face: Face) -> FaceTrial:
        """Every way that is open to the face; the one that makes it, or the one that came nearest."""
        limits = fas_shortfalls(self.board, face, self.sm) if rule.fas_limits else ()
        blocking = self.blocking(rule, face)
        nearest: tuple[Fraction, Option, Cuttings] | None = None
        decided = True
        board_area = self.board.length * self.board.width
        for option in rule.options(self.sm, self.width_in, self.length_ft):
            found = self.cut(rule, option, blocking, self.effort)
            needed = ceil(option.units * UNIT_AREA)
            made = not blocking if option.clear else found.area >= needed
            if made:
                return self.told(rule, face, option, found, not limits, limits, True)
            decided = decided and (option.clear or found.at_most < needed)
            # A way that even a clear board of this size could not go says nothing about its defects.
            lack = Fraction(needed - found.area) + (needed if needed > board_area else 0)
            if not option.clear and (nearest is None or lack < nearest[0]):
                nearest = (lack, option, found)
        assert nearest is not None
        _, option, found = nearest
        lack_of_yield = self.shortfall(rule, face, option, found, blocking)
        return self.told(rule, face, option, found, False, (*limits, lack_of_yield), decided)

    def blocking(self, rule: GradeRule, face: Face) -> list[Mark]:
        """What no cutting may hold: flaws of its face, and what is unsound on the reverse."""
        admitted = self.rules.in_sound if rule.sound else self.rules.in_clear
        here = [mark for mark in self.board.on(face) if mark.defect.kind not in admitted]
        behind = [
            mark
            for mark in self.board.on(face.other)
            if mark.defect.kind not in self.rules.in_sound and mark not in here
        ]
        return here + behind

    def cut(self, rule: GradeRule, option: Option, blocking: Iterable[Mark], effort: int) -> Cuttings:
        """The cuttings that one way allows."""
        boxes = [box for mark in blocking for box in mark.boxes]
        if option.full_width:
            return _full_width(self.board.whole, boxes, option.cuttings or 0)
        return largest_cuttings(
            self.board.whole,
            boxes,
            rule.least,
            option.cuttings,
            enough=max(1, ceil(option.units * UNIT_AREA)),
            limit=effort,
        )

    def shortfall(
        self, rule: GradeRule, face: Face, option: Option, found: Cuttings, blocking: list[Mark]
    ) -> Shortfall:
        """What the yield lacks, and the flaws that decide it."""
        allowed = "any number of" if option.cuttings is None else str(option.cuttings)
        most = "" if found.proved else f", at most {found.at_most / UNIT_AREA:.1f} possible"
        why = (
            f"face {face} yields {found.area / UNIT_AREA:.1f} cutting units{most};"
            f" {float(option.units):g} are needed in {allowed} cutting{'' if option.cuttings == 1 else 's'}"
        )
        decisive = [
            mark
            for mark in blocking
            if len(blocking) <= MOST_TRIED_SINGLY
            and self.cut(rule, option, [o for o in blocking if o is not mark], self.effort // 8).area
            >= option.units * UNIT_AREA
        ]
        named = decisive or blocking
        if named:
            told = [f"{mark.defect.id} ({mark.words})" for mark in named[:MOST_TOLD]]
            more = f" and {len(named) - MOST_TOLD} more" if len(named) > MOST_TOLD else ""
            word = (
                "in the way" if not decisive else "it falls short by" if len(named) == 1 else "by any one of"
            )
            why += f"; {word}: {', '.join(told)}{more}"
        return Shortfall(why, tuple(mark.defect.id for mark in named))

    def told(
        self,
        rule: GradeRule,
        face: Face,
        option: Option,
        found: Cuttings,
        made: bool,
        shortfalls: tuple[Shortfall, ...],
        decided: bool,
    ) -> FaceTrial:
        """The trial in millimetres and cutting units."""
        cuttings = tuple(
            Cutting(
                (a / UNITS_PER_MM, b / UNITS_PER_MM, c / UNITS_PER_MM, d / UNITS_PER_MM),
                (c - a) * (d - b) / UNIT_AREA,
            )
            for a, b, c, d in found.boxes
        )
        return FaceTrial(
            rule.grade,
            face,
            made,
            option.rule,
            found.area / UNIT_AREA,
            float(option.units),
            option.cuttings,
            cuttings,
            shortfalls,
            decided,
        )


def _full_width(board: Box, defects: Iterable[Box], count: int) -> Cuttings:
    """The longest clear lengths over the board's whole width. A defect on the edge alone still bars it."""
    x0, y0, x1, y1 = board
    found, reached = [], x0
    for left, right in [*sorted((d[0], d[2]) for d in defects if d[3] > y0 and d[1] < y1), (x1, x1)]:
        if left > reached:
            found.append((reached, y0, min(left, x1), y1))
        reached = max(reached, right)
    found.sort(key=lambda box: box[0] - box[2])
    area = sum((c - a) * (d - b) for a, b, c, d in found[:count])
    return Cuttings(tuple(found[:count]), area, area)
