"""A step: something to be done to a defect before its piece can go on."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from stockyard.timber.mapped_defect import DefectState


class StepKind(StrEnum):
    """What is to be done."""

    STABILISE = "stabilise"  # wick thin cyanoacrylate into a crack
    FILL = "fill"  # epoxy in a void

    @property
    def leaves(self) -> DefectState:
        """The state it leaves the defect in."""
        return DefectState.STABILISED if self is StepKind.STABILISE else DefectState.FILLED


class Before(StrEnum):
    """What a step has to come before."""

    CUTTING = "cutting"
    GLUE_UP = "glue-up"
    FINISHING = "finishing"


class StepState(StrEnum):
    """Still to do, done, or no longer needed because its plan was released or its stave spoiled."""

    OPEN = "open"
    DONE = "done"
    DROPPED = "dropped"


@dataclass(frozen=True, slots=True)
class Step:
    """One step of one plan on one defect.

    defect: its id ("SG-0017/2"). method: as the plan names it. quantity: how much, in words.
    product, batch, done_on, done_by: what was used, when and by whom; None until done.
    """

    plan: int
    piece: str
    defect: str
    kind: StepKind
    method: str
    before: Before
    quantity: str = ""
    state: StepState = StepState.OPEN
    product: str | None = None
    batch: str | None = None
    done_on: date | None = None
    done_by: str | None = None
    id: int | None = None
