"""A job: the panels wanted, and the workshop's allowances, rules and costs they are to be made under.

Every default here is the workshop's starting habit (common practice, no published source); a job's own
figures replace them and the plan states them all.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum

from stockyard.timber.defect import DefectKind
from stockyard.timber.panel import Panel


class Do(StrEnum):
    """What a rule says of a kind of defect inside a stave."""

    AVOID = "avoid"
    TREAT = "treat"
    ACCEPT = "accept"


class Rings(StrEnum):
    """How neighbouring staves are to lie: whichever way, hearts alternating up and down, or all one way."""

    ANY = "any"
    ALTERNATE = "alternate"
    SAME = "same"


class Unread(StrEnum):
    """What to do with a board that has no moisture reading."""

    REFUSE = "refuse"
    ALLOW = "allow"


@dataclass(frozen=True, slots=True)
class Rule:
    """How one kind of defect on one face is judged.

    per_item, per_mm: the price of treating one, and of each mm of its footprint along x.
    penalty: the price of leaving one in sight, where it is accepted on a show face.
    max_length_mm, max_area_mm2: beyond these a `treat` becomes an `avoid`; None does not bind.
    """

    do: Do = Do.AVOID
    per_item: Decimal = Decimal(0)
    per_mm: Decimal = Decimal(0)
    max_length_mm: float | None = None
    max_area_mm2: float | None = None
    penalty: Decimal = Decimal(0)


AVOID = Rule()
"""The rule of a kind that a face has no rule for."""


@dataclass(frozen=True, slots=True)
class Rules:
    """The rules of a show face and of a back, by kind. A kind with no rule is avoided."""

    show: Mapping[DefectKind, Rule] = field(default_factory=dict)
    back: Mapping[DefectKind, Rule] = field(default_factory=dict)

    def on_show(self, kind: DefectKind) -> Rule:
        """The rule for `kind` on a face that is seen."""
        return self.show.get(kind, AVOID)

    def on_back(self, kind: DefectKind) -> Rule:
        """The rule for `kind` on a face that is not."""
        return self.back.get(kind, AVOID)


@dataclass(frozen=True, slots=True)
class Allowances:
    """What is taken off, left on or kept clear between a rough board and a finished panel. [mm]"""

    end_trim_mm: float = 10
    edge_joint_mm: float = 3
    side_trim_mm: float = 5
    face_planing_mm: float = 1.5
    board_end_loss_mm: float = 20
    kerf_mm: float = 3
    glue_clear_mm: float = 5
    end_clear_mm: float = 10
    offcut_length_mm: float = 300
    offcut_width_mm: float = 50


@dataclass(frozen=True, slots=True)
class MoistureRule:
    """Which boards are dry enough, and how far apart the staves of one panel may be. [percent, dry basis]"""

    min_pct: float = 8
    max_pct: float = 14
    spread_pct: float = 2
    unread: Unread = Unread.REFUSE


@dataclass(frozen=True, slots=True)
class Costs:
    """The prices of cutting and matching, in the stock's currency.

    handling: for each board cut. recovery: share of an offcut's value that is credited, 0..1.
    match: for each unit of CIEDE2000 between neighbours' show faces. ring_break: for each joint that
    breaks the ring rule or cannot be known to keep it.
    """

    handling: Decimal = Decimal("4.00")
    recovery: Decimal = Decimal("0.5")
    match: Decimal = Decimal("0.2")
    ring_break: Decimal = Decimal("1.0")


@dataclass(frozen=True, slots=True)
class Job:
    """A piece of furniture's panels, with everything needed to choose and judge their staves."""

    id: str
    panels: tuple[Panel, ...]
    allowances: Allowances = field(default_factory=Allowances)
    moisture: MoistureRule = field(default_factory=MoistureRule)
    costs: Costs = field(default_factory=Costs)
    rings: Rings = Rings.ANY
    rules: Rules = field(default_factory=Rules)
