"""A plan: what a selection answers. Which staves make each panel, and how each board is cut."""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from stockyard.timber.job import Job
from stockyard.timber.stave import Stave, Treatment
from stockyard.timber.window import Window

__all__ = [
    "BoardCut",
    "CostParts",
    "MadePanel",
    "Offcut",
    "Plan",
    "Reason",
    "Rejection",
    "Section",
    "Status",
    "Strip",
    "StripUse",
    "Treatment",
]


class Status(StrEnum):
    """How good a plan is known to be."""

    OPTIMAL = "optimal"  # proved best, unmade panels included
    FEASIBLE = "feasible"  # lawful, with a bound
    INFEASIBLE = "infeasible"  # proved that no panel can be made


class StripUse(StrEnum):
    """What becomes of a strip of a section."""

    STAVE = "stave"
    OFFCUT = "offcut"
    WASTE = "waste"


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip ripped from a section: [y0, y1] in mm of the board frame.

    panel, stave: the panel's id and the stave's place in it (0 first), for a stave's strip only.
    """

    use: StripUse
    y0: int
    y1: int
    panel: str | None = None
    stave: int | None = None


@dataclass(frozen=True, slots=True)
class Section:
    """A length docked from a board, [x0, x1] in mm of the board frame, and its strips from y = 0 up."""

    x0: int
    x1: int
    strips: tuple[Strip, ...]


@dataclass(frozen=True, slots=True)
class Offcut:
    """A remnant big enough to rack again, and the value credited for it."""

    window: Window
    value: Decimal


@dataclass(frozen=True, slots=True)
class BoardCut:
    """How one board is cut: its sections in x order, and every offcut it leaves."""

    id: str
    sections: tuple[Section, ...]
    offcuts: tuple[Offcut, ...]


@dataclass(frozen=True, slots=True)
class MadePanel:
    """What became of one panel: its staves in panel order, or why it could not be made."""

    id: str
    staves: tuple[Stave, ...] = ()
    why: str = ""

    @property
    def made(self) -> bool:
        """Has it staves?"""
        return bool(self.staves)


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason a board could not serve: a word, the panel it concerns (None for all), a sentence."""

    why: str
    panel: str | None
    detail: str


@dataclass(frozen=True, slots=True)
class Rejection:
    """A board that can serve no panel of the job, with every reason that applies."""

    id: str
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class CostParts:
    """The cost of a plan, part by part; they add up to its cost. Offcuts are a credit, so not above 0."""

    timber: Decimal = Decimal(0)
    handling: Decimal = Decimal(0)
    offcuts: Decimal = Decimal(0)
    treatments: Decimal = Decimal(0)
    appearance: Decimal = Decimal(0)
    match: Decimal = Decimal(0)
    rings: Decimal = Decimal(0)

    @property
    def total(self) -> Decimal:
        """The plan's cost."""
        return (
            self.timber
            + self.handling
            + self.offcuts
            + self.treatments
            + self.appearance
            + self.match
            + self.rings
        )


@dataclass(frozen=True, slots=True)
class Plan:
    """The answer to a job. `job` holds the settings in full, so the plan says what it was made under.

    cost, bound: money to a millionth, the credits inside being real-valued. bound <= the least possible
    cost of the panels it makes. gap: (cost - bound) / |cost|, 0 when optimal.
    panels: in the job's order. boards: those cut. rejected: those that can serve no panel; a board in
    neither is suitable but not needed.
    """

    job: Job
    currency: str
    status: Status
    cost_parts: CostParts
    bound: Decimal
    seconds: float
    panels: tuple[MadePanel, ...]
    boards: tuple[BoardCut, ...]
    rejected: tuple[Rejection, ...]

    @property
    def cost(self) -> Decimal:
        """What the plan costs, by section 6 of its definition."""
        return self.cost_parts.total

    @property
    def gap(self) -> float:
        """How far above its bound the plan may be, as a share of its cost."""
        if self.cost <= self.bound:
            return 0.0
        return float((self.cost - self.bound) / abs(self.cost)) if self.cost else 1.0
