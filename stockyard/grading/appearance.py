"""The appearance grade that a board's map gives it by a list of feature limits, and what it fell short of.

A limit "per any 0.9 m" holds in every stretch of that length, wherever it starts: the window slides. Faces
only are judged, for edges are not mapped.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from stockyard.grading import AID
from stockyard.grading.appearance_rules import (
    Allowed,
    AppearanceRules,
    Limit,
    Surfaces,
    feature_of,
    shipped_rules,
)
from stockyard.grading.marked import UNITS_PER_MM, BoxesOf, Mark, box_around, marked
from stockyard.grading.nhla_limits import Shortfall
from stockyard.timber import Board, Face

Span = tuple[float, float]  # along the board, mm


@dataclass(frozen=True, slots=True)
class AppearanceTrial:
    """A board tried for one appearance grade. face: the one taken for the best, None where all are judged."""

    grade: str
    made: bool
    face: Face | None
    why_not: tuple[Shortfall, ...]


@dataclass(frozen=True, slots=True)
class AppearanceGrade:
    """The grade of a board by a list, how it was come to, and what the list says nothing of.

    grade: None when it makes none. not_judged: ids of the defects that the grade given has no figure for.
    """

    board: str
    rules: str
    grade: str | None
    trials: tuple[AppearanceTrial, ...]
    not_judged: tuple[str, ...]
    note: str = AID

    @property
    def why_no_higher(self) -> tuple[str, ...]:
        """One sentence for each limit that a higher grade's trial passed."""
        return tuple(f"{t.grade}: {lack.why}" for t in self.trials if not t.made for lack in t.why_not)


def appearance_grade(
    board: Board, rules: AppearanceRules | None = None, *, boxes_of: BoxesOf = box_around
) -> AppearanceGrade:
    """The highest grade of a list that a board makes; by default that for seasoned WA hardwoods.

    Features that a grade has no figure for are not judged and are named, never passed over in silence.
    """
    rules = rules or shipped_rules("appearance_wa")
    features = [_Feature.of(mark) for mark in marked(board, boxes_of).marks]
    trials = []
    for grade in rules.grades:
        trial = _try(board, rules, grade, features)
        trials.append(trial)
        if trial.made:
            unjudged = [f.mark.defect.id for f in features if _unjudged(rules.limit(grade, f.name))]
            return AppearanceGrade(board.id, rules.name, grade, tuple(trials), tuple(unjudged))
    return AppearanceGrade(board.id, rules.name, None, tuple(trials), ())


@dataclass(frozen=True, slots=True)
class _Feature:
    mark: Mark
    name: str
    span: Span
    across_mm: float

    @classmethod
    def of(cls, mark: Mark) -> "_Feature":
        """A mark as the feature that grading lists call it."""
        span = (mark.around[0] / UNITS_PER_MM, mark.around[2] / UNITS_PER_MM)
        across = mark.width / UNITS_PER_MM
        return cls(mark, feature_of(mark.defect, span[1] - span[0], across), span, across)

    @property
    def along_mm(self) -> float:
        """Its size along the board."""
        return self.span[1] - self.span[0]

    @property
    def size_mm(self) -> float:
        """Its larger side."""
        return max(self.along_mm, self.across_mm)

    def on(self, face: Face) -> bool:
        """Does it show on that face?"""
        return self.mark.defect.face in (face, Face.BOTH)


def _unjudged(limit: Limit | None) -> bool:
    return limit is None or limit.allowed is Allowed.UNKNOWN


def _try(board: Board, rules: AppearanceRules, grade: str, features: Sequence[_Feature]) -> AppearanceTrial:
    groups: dict[Limit, list[_Feature]] = {}
    for feature in features:
        limit = rules.limit(grade, feature.name)
        if limit is not None and limit.allowed is not Allowed.UNKNOWN:
            groups.setdefault(limit, []).append(feature)
    by_face: dict[Face, list[Shortfall]] = {Face.A: [], Face.B: []}
    always: list[Shortfall] = []
    for limit, found in groups.items():
        for face in (Face.A, Face.B):
            here = list(_passed(board, limit, face, [f for f in found if f.on(face)]))
            (by_face[face] if limit.surfaces is Surfaces.BEST else always).extend(here)
        if limit.surfaces is Surfaces.ONE and all(
            any(f.on(face) for f in found) for face in (Face.A, Face.B)
        ):
            ids = tuple(f.mark.defect.id for f in found)
            always.append(Shortfall(f"{limit.words} on both faces ({', '.join(ids)}), one face allowed", ids))
    best = min(by_face, key=lambda face: len(by_face[face]))
    lacks = (*always, *by_face[best])
    judges_best = any(limit.surfaces is Surfaces.BEST for limit in rules.limits if limit.grade == grade)
    return AppearanceTrial(grade, not lacks, best if judges_best else None, tuple(lacks))


def _passed(board: Board, limit: Limit, face: Face, found: Sequence[_Feature]) -> Iterable[Shortfall]:
    """Every way in which the features of one face pass one limit."""
    if limit.allowed is Allowed.NO:
        if found:
            yield _told(f"face {face} has {limit.words}, none allowed", found)
        return
    found = [f for f in found if limit.ignore_under is None or f.size_mm >= limit.ignore_under]
    for feature in found:
        for lack in _too_big(board, limit, feature):
            yield _told(f"face {face}, {limit.words}: {lack}", [feature])
    count, window = limit.count_for(board.width_mm), limit.window
    if count is not None:
        most, where = most_in_window([f.span for f in found], window, board.length_mm)
        if most > count:
            near = [f for f in found if f.span[0] <= where[1] and f.span[1] >= where[0]]
            yield _told(
                f"face {face} has {most} {limit.words}{_stretch(where, window)}, {count} allowed", near
            )
    if limit.total is not None:
        length, where = longest_in_window([f.span for f in found], window, board.length_mm)
        if length > limit.total + 1e-6:
            near = [f for f in found if f.span[0] < where[1] and f.span[1] > where[0]]
            why = f"face {face} has {length:.0f} mm of {limit.words}{_stretch(where, window)}"
            yield _told(f"{why}, {limit.total:g} allowed", near)


def _too_big(board: Board, limit: Limit, feature: _Feature) -> Iterable[str]:
    sizes = (
        ("mm in size", feature.size_mm, limit.size),
        ("mm across", feature.across_mm, limit.width),
        ("mm long", feature.along_mm, limit.length),
        ("mm open", feature.mark.defect.opening_mm or 0.0, limit.void),
    )
    for words, size, most in sizes:
        if most is not None and size > most + 1e-9:
            yield f"{size:g} {words}, {most:g} allowed"
    if limit.under is not None and feature.size_mm >= limit.under:
        yield f"{feature.size_mm:g} mm in size, under {limit.under:g} allowed"
    if limit.share is not None and feature.across_mm > limit.share * board.width_mm + 1e-6:
        yield f"{feature.across_mm / board.width_mm:.1%} of the face's width, {limit.share:.1%} allowed"
    if not limit.at_end and (feature.span[0] <= 0 or feature.span[1] >= board.length_mm):
        yield "it meets an end of the board"


def most_in_window(spans: Sequence[Span], window: float | None, length_mm: float) -> tuple[int, Span]:
    """The most features that one stretch meets, and such a stretch. [mm]

    window: its length; None for the whole board. A feature counts where it meets the stretch at all.
    """
    if window is None or window >= length_mm:
        return len(spans), (0.0, length_mm)
    starts = [min(max(0.0, span[1]), length_mm - window) for span in spans]
    starts += [min(max(0.0, span[0] - window), length_mm - window) for span in spans]
    counted = [
        (sum(a <= start + window and b >= start for a, b in spans), -start) for start in starts or [0.0]
    ]
    most, start = max(counted)
    return most, (-start, window - start)


def longest_in_window(spans: Sequence[Span], window: float | None, length_mm: float) -> tuple[float, Span]:
    """The greatest length of features together inside one stretch, and such a stretch. [mm]

    Features side by side are each counted. The length inside changes evenly as the stretch slides, so the
    greatest is found where an end of it is at an end of a feature.
    """
    if window is None or window >= length_mm:
        return sum(b - a for a, b in spans), (0.0, length_mm)
    starts = {0.0}
    for a, b in spans:
        starts |= {min(max(0.0, s), length_mm - window) for s in (a, b, a - window, b - window)}
    inside = [
        (sum(max(0.0, min(b, start + window) - max(a, start)) for a, b in spans), -start) for start in starts
    ]
    most, start = max(inside)
    return most, (-start, window - start)


def _stretch(where: Span, window: float | None) -> str:
    return "" if window is None else f" from {where[0]:.0f} to {where[1]:.0f} mm"


def _told(why: str, features: Iterable[_Feature]) -> Shortfall:
    ids = tuple(feature.mark.defect.id for feature in features)
    return Shortfall(f"{why} ({', '.join(ids)})", ids)
