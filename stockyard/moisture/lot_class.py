"""Whether a lot of timber was dried to a target, as EN 14298 judges it: by its mean and by its pieces."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite
from statistics import fmean

from stockyard.errors import BadInput, Fault

SHARE_OF_PIECES = 0.935
"""The share of pieces that must lie within the limits: 93.5 %."""


@dataclass(frozen=True, slots=True)
class LotTarget:
    """A target with its limits, all included. [percent]

    mean_*: of the lot's mean; piece_*: of single pieces, 30 % of the target to either side.
    """

    target_pct: float
    mean_low_pct: float
    mean_high_pct: float
    piece_low_pct: float
    piece_high_pct: float


TARGETS = (
    LotTarget(8, 7.0, 9.0, 5.6, 10.4),
    LotTarget(12, 10.5, 13.5, 8.4, 15.6),
    LotTarget(16, 13.5, 18.0, 11.2, 20.8),
)
"""SS-EN 14298 as quoted in a public fact sheet on wood moisture, read there and not in the standard.

For target 12 the sheet prints 16.6 as the upper limit of pieces, which breaks its own 30 %; 15.6 is taken for
what is meant.
"""


@dataclass(frozen=True, slots=True)
class LotJudgement:
    """How a lot stands to one target. share: of the pieces read that lie within its limits, 0 to 1."""

    target: LotTarget
    mean_pct: float
    share: float
    why_not: tuple[str, ...]

    @property
    def met(self) -> bool:
        """Was it dried to that target?"""
        return not self.why_not


def judge_lot(percents: Sequence[float]) -> tuple[LotJudgement, ...]:
    """A lot against every target, the driest first. An aid: the standard's sampling is not reckoned with.

    percents: the newest corrected reading of each piece that was read, at least one, each 0 to 200.
    Raises BadInput.
    """
    faults = [
        Fault("moisture", "0 to 200 %", f"{one:g}")
        for one in percents
        if not (isfinite(one) and 0 <= one <= 200)
    ]
    if not percents:
        faults.append(Fault("moisture", "at least one piece that was read", "none"))
    if faults:
        raise BadInput("The lot cannot be judged.", faults)
    return tuple(_judged(percents, target) for target in TARGETS)


def lot_class(percents: Sequence[float]) -> str:
    """The targets a lot meets, as written: "8", "8 and 12" or "none"; empty where nothing was read."""
    if not percents:
        return ""
    return " and ".join(f"{one.target.target_pct:g}" for one in judge_lot(percents) if one.met) or "none"


def _judged(percents: Sequence[float], target: LotTarget) -> LotJudgement:
    mean = fmean(percents)
    within = sum(target.piece_low_pct - 1e-9 <= one <= target.piece_high_pct + 1e-9 for one in percents)
    share = within / len(percents)
    why = []
    if not target.mean_low_pct - 1e-9 <= mean <= target.mean_high_pct + 1e-9:
        why.append(f"The mean is {mean:.1f} %, not {target.mean_low_pct:g} to {target.mean_high_pct:g} %.")
    if share < SHARE_OF_PIECES:
        why.append(
            f"{100 * share:.1f} % of the pieces lie within {target.piece_low_pct:g} to"
            f" {target.piece_high_pct:g} %; {100 * SHARE_OF_PIECES:g} % must."
        )
    return LotJudgement(target, mean, share, tuple(why))
