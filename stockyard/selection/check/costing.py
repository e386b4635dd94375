"""What a plan costs, part by part, counted again from its staves and cuts."""

from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

from stockyard.geometry.area import clear_area
from stockyard.geometry.footprint import footprint
from stockyard.measures.colour import colour_difference
from stockyard.selection.check.judging import judged_defects, ruling
from stockyard.selection.check.laid import Laid, laid_staves
from stockyard.selection.check.remnants import worth_racking
from stockyard.selection.check.whole_mm import board_window, exact
from stockyard.timber import Board, CostParts, Do, Job, Plan, Rings, Stock, Window


def cost_of(plan: Plan, stock: Stock) -> CostParts:
    """The parts of the plan's cost by its staves and cuts, whatever the plan itself says they are.

    Exact but for colour differences; nothing is rounded to a millionth. Boards that are not in the stock cost
    nothing here.
    """
    boards = {board.id: board for board in stock.boards}
    cuts = [(boards[cut.id], cut) for cut in plan.boards if cut.id in boards]
    laid, job = laid_staves(plan, stock), plan.job
    joints = [(first, second) for first, second in pairwise(laid) if _side_by_side(first, second)]
    verdicts = [verdict for stave in laid for _, verdict in judged_defects(stave, job)]
    return CostParts(
        timber=sum((board.value for board, _ in cuts), Decimal(0)),
        handling=job.costs.handling * len(cuts),
        offcuts=-_money(
            sum(
                credit(board, window, job)
                for board, cut in cuts
                for window in worth_racking(cut, board, job.allowances)
            )
        ),
        treatments=_money(sum(verdict.treatment or 0 for verdict in verdicts)),
        appearance=_money(sum(verdict.penalty for verdict in verdicts)),
        match=_money(sum(match(first, second, job) for first, second in joints)),
        rings=_money(sum(ring_break(first, second, job) for first, second in joints)),
    )


def credit(board: Board, offcut: Window, job: Job) -> Fraction:
    """What an offcut gives back: its clear area's share of the board's value, as far as it is recovered."""
    avoided = [
        box
        for defect in board.defects
        if ruling(defect, job.rules.on_show(defect.kind)) is Do.AVOID
        for box in footprint(defect.outline)
    ]
    share = Fraction(clear_area(avoided, offcut), board_window(board).area_mm2)
    return exact(job.costs.recovery) * exact(board.value) * share


def match(first: Laid, second: Laid, job: Job) -> Fraction:
    """What the colour difference of two neighbours' shown faces costs; nothing unless both are known."""
    ours, theirs = first.board.colour(first.stave.show), second.board.colour(second.stave.show)
    if ours is None or theirs is None:
        return Fraction(0)
    return exact(job.costs.match) * Fraction(colour_difference(ours, theirs))


def ring_break(first: Laid, second: Laid, job: Job) -> Fraction:
    """What a joint costs that breaks the ring rule, or cannot be known to keep it."""
    if job.rings is Rings.ANY:
        return Fraction(0)
    if first.board.heart_face is None or second.board.heart_face is None:
        return exact(job.costs.ring_break)
    alike = _shows_heart(first) == _shows_heart(second)
    kept = alike if job.rings is Rings.SAME else not alike
    return Fraction(0) if kept else exact(job.costs.ring_break)


def _shows_heart(laid: Laid) -> bool:
    return laid.board.heart_face is laid.stave.show


def _side_by_side(first: Laid, second: Laid) -> bool:
    return first.panel.id == second.panel.id and second.place == first.place + 1


def _money(amount: Fraction | int) -> Decimal:
    return Decimal(amount.numerator) / Decimal(amount.denominator)
