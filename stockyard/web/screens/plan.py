"""Plan: the panels as they will look, how each board is cut, and what is done about it."""

from typing import TYPE_CHECKING, Any

from fastapi.responses import Response

from stockyard.drawings import cut_map
from stockyard.drawings.cut_map import cut_sheets
from stockyard.errors import BadInput, NotFound, Refused, StockyardError
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.errands import list_errands, show_errand
from stockyard.services.list_boards import list_boards
from stockyard.services.plan_job import KeptPlan, show_plan
from stockyard.services.release_plan import release_plan
from stockyard.services.steps import complete_step, list_steps
from stockyard.services.swap_staves import swap_staves
from stockyard.timber.booked_plan import PlanStatus
from stockyard.timber.piece import PieceStatus
from stockyard.timber.rack_query import RackQuery
from stockyard.web.api.boards import Number
from stockyard.web.api.routes import Whole
from stockyard.web.forms import Form
from stockyard.web.plan_words import costs_of, proof_of, told_panels
from stockyard.web.problems import problem_of
from stockyard.web.screen import Screen
from stockyard.web.texts import counted, text
from stockyard.web.visit import Here, Visit
from stockyard.web.wishes_form import seconds_in

if TYPE_CHECKING:
    from stockyard.timber import BoardCut

screen = Screen("plan")

_REMEMBERED = 300
"""So many selections are looked through for the one that made a plan."""


@screen.page("/plan/{number}")
def plan(visit: Here, number: Whole) -> Response:
    """One plan with everything that can be done about it."""
    return _page(visit, number)


@screen.page("/plan/{number}/cuts/{board}.svg")
def cut_drawing(visit: Here, number: Whole, board: Number) -> Response:
    """How one board of a plan is cut, as a drawing."""
    kept = show_plan(visit.open_work, number, only_used=True)
    if board not in kept.boards:
        raise NotFound("board cut in this plan", board)
    return Response(cut_map(kept.plan, kept.boards[board]), media_type="image/svg+xml")


@screen.action("/plan/{number}/allocate")
def allocate(visit: Here, number: Whole) -> Response:
    """Promise the plan's boards to it, all or none."""
    try:
        steps = allocate_plan(visit.open_work, number)
    except Refused as refused:
        return _page(visit, number, refused)
    said = counted("plan.promised", len(steps)) if steps else text("plan.promised_bare")
    return visit.see_other(f"/plan/{number}", said=said)


@screen.action("/plan/{number}/release")
def release(visit: Here, number: Whole, form: Form) -> Response:
    """Give the plan's boards back to the rack."""
    try:
        release_plan(visit.open_work, number, cause=form.text("because"))
    except Refused as refused:
        return _page(visit, number, refused)
    return visit.see_other(f"/plan/{number}", said=text("plan.freed"))


@screen.action("/plan/{number}/swap")
def swap(visit: Here, number: Whole, form: Form) -> Response:
    """Let two staves of a panel change places."""
    first, second = form.whole("first", required=True), form.whole("second", required=True)
    try:
        form.check(text("plan.not_swapped"))
        kept = swap_staves(visit.open_work, number, form.text("panel"), (first or 0) - 1, (second or 0) - 1)
    except (BadInput, Refused) as refused:
        return _page(visit, number, refused)
    return visit.see_other(f"/plan/{kept.number}", said=text("plan.swapped", number=kept.number, was=number))


@screen.action("/plan/{number}/again")
def again(visit: Here, number: Whole, form: Form) -> Response:
    """Plan again around boards that are no good, or staves that were lost."""
    show_plan(visit.open_work, number, only_used=True)
    spoiled = [
        [panel, int(place)]
        for panel, slash, place in (each.rpartition("/") for each in form.texts("spoiled"))
        if slash and place.isdecimal()
    ]
    without = list(form.texts("without"))
    wanted = {"plan": number, "spoiled": spoiled, "without": without, "seconds": seconds_in(form, 15)}
    return visit.see_other(f"/errand/{visit.ask_for('again', wanted).id}")


@screen.action("/plan/{number}/steps/{step}")
def done(visit: Here, number: Whole, step: Whole, form: Form) -> Response:
    """Note that a flaw was stabilised or filled, and with what."""
    day = form.day("day")
    form.check(text("plan.step.not_noted"))
    product, batch = form.text("product"), form.text("batch")
    noted = complete_step(visit.open_work, step, product=product, batch=batch, done_on=day)
    said = text("plan.step.noted", defect=noted.defect, state=noted.kind.leaves.value)
    return visit.see_other(f"/plan/{number}#steps", said=said)


def _page(visit: Visit, number: int, refused: Refused | BadInput | None = None) -> Response:
    kept = show_plan(visit.open_work, number, only_used=True)
    cut = kept.booked.status is PlanStatus.CUT
    parts, cost = costs_of(kept)
    return visit.page(
        "plan.html",
        status=200 if refused is None else problem_of(refused).status,
        refused=refused,
        plan=kept.plan,
        booked=kept.booked,
        boards=kept.boards,
        panels=told_panels(visit.open_work, kept),
        proof=proof_of(kept),
        parts=parts,
        cost=cost,
        cuts=[(each, _cut_told(kept, each)) for each in kept.plan.boards],
        steps=list_steps(visit.open_work, plan=number, only_open=False),
        pieces=_pieces(visit, number) if cut else (),
        changed=_what_changed(visit, number),
        wishes=_wishes(visit, number),
    )


def _cut_told(kept: KeptPlan, cut: "BoardCut") -> str:
    return cut_sheets(kept.plan, kept.boards[cut.id], paged=False)[0].spoken


def _pieces(visit: Visit, number: int) -> Any:
    return list_boards(visit.open_work, RackQuery(cut_by=number, status=tuple(PieceStatus)))


def _wishes(visit: Visit, number: int) -> list[str]:
    """What the plan was asked to keep to beside its job, as far as the errand that made it is remembered."""
    errands = list_errands(visit.open_work, kind="select", limit=_REMEMBERED)
    asked = next((each.wanted for each in errands if (each.result or {}).get("plan") == number), {})
    told = []
    for pin in asked.get("pin", ()):
        board, _, panel = str(pin).partition(":")
        told.append(text("plan.asked_pin", board=board, panel=panel))
    if asked.get("forbid"):
        told.append(text("plan.asked_forbid", boards=", ".join(asked["forbid"])))
    if asked.get("prefer"):
        told.append(text("plan.asked_prefer", boards=", ".join(asked["prefer"])))
    return told


def _what_changed(visit: Visit, number: int) -> Any:
    """What planning again changed, on the page that its errand leads to."""
    asked = visit.request.query_params.get("errand", "")
    if not asked.isdecimal() or len(asked) > 9:
        return None
    try:
        found = show_errand(visit.open_work, int(asked))
    except StockyardError:
        return None
    ours = found.kind == "again" and (found.result or {}).get("plan") == number
    return found.result if ours else None
