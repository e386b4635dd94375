"""Is a plan lawful, and does it cost what it says? Answered from the plan and the stock alone.

Plain arithmetic, one small function for each sentence of the definition, so that a joiner can follow it
with a rule and a pencil. Knows the rules of a lawful plan; knows nothing of how plans are found, and shares
no code with what finds them.

    whole_mm   needs rounded up, supplies rounded down, everything else exact
    laid       a stave together with its board, its panel and its place
    judging    what a job's rules say of one defect in one stave
    staves     rules of a stave
    panels     rules of a panel
    cutting    rules of how a board is cut
    costing    what the plan costs
    claims     what the plan says of itself
"""

from stockyard.errors import Fault
from stockyard.selection.check import claims, cutting, panels, staves
from stockyard.selection.check.costing import cost_of
from stockyard.selection.check.laid import laid_staves
from stockyard.timber import Plan, Stock

__all__ = ["check_plan", "cost_of"]


def check_plan(plan: Plan, stock: Stock) -> tuple[Fault, ...]:
    """Everything unlawful, missing or miscounted in a plan for this stock; empty when it is sound.

    Each Fault's place is in the plan's own document ("boards[2].sections[0].strips[1]").
    Whether a cheaper plan exists is not looked into: that is what `bound` and `status` claim.
    """
    laid = laid_staves(plan, stock)
    return tuple(
        fault
        for findings in (
            panels.findings(plan, stock, laid),
            staves.findings(plan, laid),
            cutting.findings(plan, stock, laid),
            claims.findings(plan, stock),
        )
        for fault in findings
    )
