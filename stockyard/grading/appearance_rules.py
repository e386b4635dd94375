"""Appearance grades as data: what each allows of each feature, in any stretch of a board.

A list is a CSV a workshop can write from its own copy of a standard; the columns are told at the head of
tables/appearance_wa.csv.
"""

import csv
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from importlib.resources import files
from math import inf, isfinite
from typing import TypeVar

from stockyard.errors import BadInput, Fault
from stockyard.timber import Defect, DefectKind

PIN_HOLE_MM = 3.0
"""A borer hole no larger is a pin hole: the largest that the Western Australian table calls so."""

CANAL_LENGTHS = 3.0
"""A borer hole so many times longer than wide is a canal; the workshop's habit, with no source."""

ANY_OTHER = "*"


class Surfaces(StrEnum):
    """Which faces a limit is judged on."""

    BEST = "best"  # the better face
    ALL = "all"  # each face by itself
    ONE = "one"  # may show on one face only


class Allowed(StrEnum):
    """Whether a grade allows a feature."""

    YES = "yes"  # within the limits
    NO = "no"
    UNKNOWN = "?"  # the figures are not filled in; nothing is judged by it


@dataclass(frozen=True, slots=True)
class Limit:
    """What one grade allows of one group of features. Figures in mm; None does not bind.

    size: of the larger side; under: smaller than; width, length: across and along the board; share: width
    as a share of the face's; void: the opening; count, total: how many and what length together, in any
    `window` (None: the whole board). count_by_width: (face width from, count), rising. ignore_under: smaller
    ones are not counted. at_end: may it meet an end of the board?
    """

    grade: str
    features: frozenset[str]
    words: str
    surfaces: Surfaces = Surfaces.ALL
    allowed: Allowed = Allowed.YES
    size: float | None = None
    under: float | None = None
    width: float | None = None
    length: float | None = None
    share: float | None = None
    void: float | None = None
    count: int | None = None
    count_by_width: tuple[tuple[float, int], ...] = ()
    total: float | None = None
    window: float | None = None
    ignore_under: float | None = None
    at_end: bool = True

    def count_for(self, face_width_mm: float) -> int | None:
        """How many are allowed on a face of that width."""
        wider = [count for width, count in self.count_by_width if face_width_mm >= width]
        return wider[-1] if wider else self.count


@dataclass(frozen=True, slots=True)
class AppearanceRules:
    """A list of limits; grades in the order of the list, the highest first."""

    name: str
    limits: tuple[Limit, ...]

    @property
    def grades(self) -> tuple[str, ...]:
        """The grades, the highest first."""
        return tuple(dict.fromkeys(limit.grade for limit in self.limits))

    def limit(self, grade: str, feature: str) -> Limit | None:
        """What a grade says of a feature; None when it says nothing."""
        own = [limit for limit in self.limits if limit.grade == grade]
        named = [limit for limit in own if feature in limit.features]
        return next(iter(named or [limit for limit in own if ANY_OTHER in limit.features]), None)


def feature_of(defect: Defect, length_mm: float, width_mm: float) -> str:
    """The feature that a grading list would call a defect, given its sizes along and across.

    A borer hole is a pin hole, a canal or a hole by its size; a gum vein is loose where it has an opening.
    """
    if defect.kind is DefectKind.BORER_HOLE:
        if max(length_mm, width_mm) <= PIN_HOLE_MM:
            return "pin_hole"
        long, short = max(length_mm, width_mm), min(length_mm, width_mm)
        return "borer_canal" if long > CANAL_LENGTHS * short else "borer_hole"
    if defect.kind is DefectKind.GUM_VEIN:
        return "loose_gum_vein" if defect.opening_mm else "tight_gum_vein"
    return str(defect.kind)


FEATURES = frozenset(DefectKind) | {
    "pin_hole",
    "borer_canal",
    "tight_gum_vein",
    "loose_gum_vein",
    ANY_OTHER,
}


def read_rules(text: str, name: str) -> AppearanceRules:
    """A list of appearance limits from its CSV. Raises BadInput with every fault, by row and column."""
    lines = [(n, line) for n, line in enumerate(text.splitlines(), start=1) if not line.startswith("#")]
    reader = csv.DictReader(line for _, line in lines)
    faults: list[Fault] = []
    columns = set(reader.fieldnames or ())
    known = {
        *_FIGURES,
        "grade",
        "features",
        "surfaces",
        "allowed",
        "count",
        "count_by_width",
        "at_end",
        "words",
    }
    faults += [Fault("header", "columns of an appearance list", column) for column in sorted(columns - known)]
    faults += [
        Fault("header", f"a column {column}")
        for column in ("grade", "features", "surfaces", "allowed", "words")
        if column not in columns
    ]
    if faults:
        raise BadInput(f"The list {name} cannot be used.", faults)
    try:
        limits = [_limit(row, lines[reader.line_num - 1][0], faults) for row in reader]
    except csv.Error as unreadable:
        raise BadInput(f"The list {name} is no CSV: {unreadable}.") from None
    if faults:
        raise BadInput(f"The list {name} cannot be used.", faults)
    if not limits:
        raise BadInput(f"The list {name} is empty.", [Fault("list", "at least one row")])
    return AppearanceRules(name, tuple(limits))


@lru_cache(maxsize=8)
def shipped_rules(name: str) -> AppearanceRules:
    """A list that comes with Stockyard: "appearance_wa", "appearance_en_oak" or "appearance_as2796"."""
    path = files("stockyard.grading").joinpath("tables", f"{name}.csv")
    return read_rules(path.read_text(encoding="utf-8"), name)


_Word = TypeVar("_Word", Surfaces, Allowed)
_FIGURES = ("size", "under", "width", "length", "share", "void", "total", "window", "ignore_under")


def _limit(row: dict[str, str], line: int, faults: list[Fault]) -> Limit:
    def figure(column: str) -> float | None:
        """A cell's number, None where it is blank."""
        cell = (row.get(column) or "").strip()
        if not cell:
            return None
        try:
            value = float(cell)
        except ValueError:
            value = inf
        if not isfinite(value) or value < 0:
            faults.append(Fault(f"row {line}, {column}", "a number of 0 or more, or nothing", repr(cell)))
            return None
        return value

    def word(column: str, words: type[_Word], default: _Word) -> _Word:
        """A cell's word, one of those allowed."""
        cell = (row.get(column) or "").strip()
        if cell in {str(one) for one in words}:
            return words(cell)
        faults.append(Fault(f"row {line}, {column}", " or ".join(str(one) for one in words), repr(cell)))
        return default

    features = frozenset(part.strip() for part in (row.get("features") or "").split(";") if part.strip())
    for unknown in sorted(features - FEATURES):
        faults.append(Fault(f"row {line}, features", "a kind of defect", unknown))
    if not features:
        faults.append(Fault(f"row {line}, features", "a kind of defect"))
    steps = []
    for part in (row.get("count_by_width") or "").split(";"):
        if not part.strip():
            continue
        from_width, _, many = part.partition(":")
        if from_width.strip().isdigit() and many.strip().isdigit():
            steps.append((float(from_width), int(many)))
        else:
            faults.append(Fault(f"row {line}, count_by_width", "width:count; width:count", repr(part)))
    figures = {column: figure(column) for column in _FIGURES}
    count = figure("count")
    if count is not None and count != int(count):
        faults.append(Fault(f"row {line}, count", "a whole number", f"{count:g}"))
    words, grade = (row.get("words") or "").strip(), (row.get("grade") or "").strip()
    if not words or not grade:
        faults.append(Fault(f"row {line}", "a grade, and words for the feature"))
    return Limit(
        grade=grade,
        features=features,
        words=words,
        surfaces=word("surfaces", Surfaces, Surfaces.ALL),
        allowed=word("allowed", Allowed, Allowed.UNKNOWN),
        count=None if count is None else int(count),
        count_by_width=tuple(sorted(steps)),
        at_end=(row.get("at_end") or "").strip() != "no",
        **figures,
    )
