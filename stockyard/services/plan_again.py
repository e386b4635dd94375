"""Plan again around a stave that was spoiled or a board that is no good, changing as little as possible."""

from collections.abc import Collection
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from stockyard.errors import Refused
from stockyard.selection import plan_document, read_job, read_stock
from stockyard.selection.answers.again import Again, Reach, StavePlace
from stockyard.selection.answers.again import plan_again as _plan_again
from stockyard.selection.interchange import read_plan, stock_document
from stockyard.services.allocate_plan import plan_of
from stockyard.services.problem import Problem, problem_of
from stockyard.timber import MadePanel, Plan, Status, Stave, Stock
from stockyard.timber.booked_plan import BookedPlan, PlanStatus
from stockyard.timber.piece import PieceKind, PieceStatus
from stockyard.timber.rack_query import RackQuery

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork

__all__ = ["Again", "KeptAgain", "Reach", "document_of", "plan_again_from_files", "plan_again_in_yard"]


@dataclass(frozen=True)
class KeptAgain:
    """A plan made again, and the number under which what is to be cut now is kept as proposed."""

    was: BookedPlan
    again: Again
    number: int


def plan_again_from_files(
    plan_content: bytes,
    stock_content: bytes,
    job_content: bytes,
    *,
    spoiled: Collection[StavePlace] = (),
    without: Collection[str] = (),
    cut: Collection[str] = (),
    seconds: float = 15.0,
) -> Again:
    """The plan of a stockyard.plan/1 around what was lost.

    cut: boards cut already, beside those of `spoiled`.
    Raises BadInput for what the plan does not have, Refused where no way to make its panels was found.
    """
    plan = read_plan(plan_content, read_job(job_content))
    return _found(
        _plan_again(plan, read_stock(stock_content), lost=spoiled, gone=without, cut=cut, seconds=seconds)
    )


def plan_again_in_yard(
    open_work: "OpenWork",
    number: int,
    *,
    spoiled: Collection[StavePlace] = (),
    without: Collection[str] = (),
    seconds: float = 15.0,
) -> KeptAgain:
    """A kept plan around what was lost, kept as a new proposed plan of what is to be cut now.

    Of a plan that was cut, the staves booked as spoiled are lost, `spoiled` beside them, and its sound staves
    stay. Of one not cut yet, the boards of `without` are left out and the others kept.
    Raises NotFound; BadInput for what the plan does not have; Refused where nothing was found, or a stave is
    called spoiled that is not cut yet.
    """
    with open_work(reading=True) as work:
        booked = work.plans.get(number)
        plan = plan_of(work, booked)
        problem = problem_of(work, plan.job)
        sound = _sound_staves(work, number) if booked.status is PlanStatus.CUT else {}
    if booked.status is not PlanStatus.CUT:
        if spoiled:
            raise Refused(
                f"Plan {number} is {booked.status}, not cut; book its cutting first, with what was spoiled."
            )
        again = _around_boards(problem, plan, number, without, seconds)
        return KeptAgain(booked, again, _kept(open_work, booked, problem, again.plan, again.stock))
    again = _around_staves(booked, plan, problem, sound, spoiled, seconds)
    rest = _what_is_to_cut(plan, again, sound)
    return KeptAgain(
        booked, again, _kept(open_work, booked, problem, rest, _named(again.stock, sound, again))
    )


def document_of(again: Again) -> dict[str, Any]:
    """The whole plan, sound staves as boards of their own, as a stockyard.plan/1."""
    return plan_document(again.plan, again.stock)


def _found(again: Again | None) -> Again:
    if again is None:
        raise Refused("No way to make the panels again was found; give it longer, or ask what to buy.")
    return again


def _around_boards(
    problem: Problem, plan: Plan, number: int, without: Collection[str], seconds: float
) -> Again:
    ours = f"promised to plan {number}"
    stock = replace(
        problem.stock,
        reserved={name: why for name, why in problem.stock.reserved.items() if why != ours},
    )
    gone = {cut.id for cut in plan.boards} - {board.id for board in stock.boards}
    return _found(
        _plan_again(
            plan,
            stock,
            gone=(*without, *gone),
            seconds=seconds,
            reaches=(Reach.RECUT, Reach.EXCHANGED),
        )
    )


def _around_staves(
    booked: BookedPlan,
    plan: Plan,
    problem: Problem,
    sound: dict[StavePlace, str],
    spoiled: Collection[StavePlace],
    seconds: float,
) -> Again:
    planned = {(made.id, place) for made in plan.panels for place in range(len(made.staves))}
    then = read_stock(dict(booked.stock))
    cut = {each.id for each in plan.boards}
    free = {board.id for board in problem.stock.boards} - set(problem.stock.reserved)
    stock = replace(
        problem.stock,
        boards=(
            *(board for board in then.boards if board.id in cut),
            *(board for board in problem.stock.boards if board.id not in cut),
        ),
    )
    # Its offcuts are pieces of their own by now.
    bare = replace(plan, boards=tuple(replace(each, offcuts=()) for each in plan.boards))
    return _found(
        _plan_again(
            bare, stock, lost=(planned - set(sound)) | set(spoiled), cut=cut, free=free, seconds=seconds
        )
    )


def _sound_staves(work: "UnitOfWork", number: int) -> dict[StavePlace, str]:
    query = RackQuery(kinds=(PieceKind.STAVE,), status=(PieceStatus.IN_WORK,))
    return {
        (piece.panel, piece.stave): piece.number
        for piece in work.pieces.find(query)
        if piece.cut_by == number and piece.panel is not None and piece.stave is not None
    }


def _what_is_to_cut(plan: Plan, again: Again, sound: dict[StavePlace, str]) -> Plan:
    """The new plan without what is cut already: sound staves stand in its panels, none of them is cut."""
    names = {blank.board.id: sound[blank.panel, blank.place] for blank in again.kept}

    def standing(stave: Stave) -> Stave:
        if stave.board not in names:
            return stave
        return replace(stave, board=names[stave.board], treat=(), accept=())

    laid = {
        made.id: replace(made, staves=tuple(standing(stave) for stave in made.staves))
        for made in again.plan.panels
    }
    handling = plan.job.costs.handling * len(names)
    return replace(
        again.plan,
        job=plan.job,
        status=Status.FEASIBLE,
        bound=Decimal(0),
        cost_parts=replace(again.plan.cost_parts, handling=again.plan.cost_parts.handling - handling),
        panels=tuple(
            laid.get(made.id, MadePanel(made.id, why="made by the plan before")) for made in plan.panels
        ),
        boards=tuple(cut for cut in again.plan.boards if cut.id not in names),
    )


def _named(stock: Stock, sound: dict[StavePlace, str], again: Again) -> Stock:
    """The stock with each blank under the number of its stave."""
    names = {blank.board.id: sound[blank.panel, blank.place] for blank in again.kept}
    return replace(
        stock,
        boards=tuple(replace(board, id=names.get(board.id, board.id)) for board in stock.boards),
    )


def _kept(open_work: "OpenWork", booked: BookedPlan, problem: Problem, plan: Plan, stock: Stock) -> int:
    with open_work() as work:
        kept = work.plans.add(
            booked.job,
            plan_document(plan, stock),
            stock_document(stock),
            {cut.id: problem.versions[cut.id] for cut in plan.boards},
        )
        work.commit()
    return kept.number
