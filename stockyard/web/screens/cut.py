"""Cut: a plan's boards booked as they were really cut, and its offcuts put in their places."""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from fastapi.responses import Response

from stockyard.errors import BadInput, Refused
from stockyard.services.correct_board import move_boards
from stockyard.services.cut_plan import cut_plan
from stockyard.services.plan_job import KeptPlan, show_plan
from stockyard.services.show_board import show_board
from stockyard.services.steps import list_steps
from stockyard.timber import Stave
from stockyard.timber.booked_plan import PlanStatus
from stockyard.timber.plan import Offcut
from stockyard.timber.step import Before
from stockyard.web.api.routes import Whole
from stockyard.web.forms import Filled, Form
from stockyard.web.screen import Screen
from stockyard.web.texts import counted, text
from stockyard.web.visit import Here, Visit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from stockyard.errors import Fault

screen = Screen("cut")


@dataclass(frozen=True, slots=True)
class CutBoard:
    """A board at the saw. staves: panel, place in it, stave. offcuts: place among the board's, offcut."""

    number: str
    staves: list[tuple[str, int, Stave]] = field(default_factory=list)
    offcuts: list[tuple[int, Offcut]] = field(default_factory=list)


@screen.page("/plan/{number}/cut")
def cut(visit: Here, number: Whole) -> Response:
    """What is to be cut, to be booked as it really went."""
    return _page(visit, number)


@screen.action("/plan/{number}/cut")
def book(visit: Here, number: Whole, form: Form) -> Response:
    """Book the cutting."""
    kept = show_plan(visit.open_work, number, only_used=True)
    try:
        widths, spoiled, racked, not_kept = _as_it_went(kept, form)
        record = cut_plan(
            visit.open_work,
            number,
            spoiled=spoiled,
            not_kept=not_kept,
            widths_mm=widths,
            racked=racked,
            force_open_steps=form.ticked("anyway"),
        )
    except BadInput as refused:
        return _page(visit, number, form, refused.faults, refused.message, status=422)
    said = counted("cut.booked", len(record.pieces), spoiled=len(record.spoiled))
    return visit.see_other(f"/plan/{number}#pieces", said=said)


@screen.action("/plan/{number}/places")
def place(visit: Here, number: Whole, form: Form) -> Response:
    """Say where offcuts now stand."""
    where: dict[str, list[str]] = {}
    for name in form.fields:
        piece = name.removeprefix("place ")
        if name != piece and form.text(name) and form.text(name) != form.text(f"was {piece}"):
            where.setdefault(form.text(name), []).append(piece)
    for named, pieces in where.items():
        move_boards(visit.open_work, tuple(pieces), named, because=f"offcuts of plan {number}")
    return visit.see_other(
        f"/plan/{number}#pieces", said=counted("cut.placed", sum(map(len, where.values())))
    )


def _as_it_went(
    kept: KeptPlan, form: Filled
) -> tuple[
    dict[tuple[str, int], float], set[tuple[str, int]], dict[tuple[str, int], str], set[tuple[str, int]]
]:
    widths: dict[tuple[str, int], float] = {}
    spoiled = set()
    for made in kept.plan.panels:
        for at, stave in enumerate(made.staves):
            key = f"{made.id}/{at}"
            if form.text(f"went {key}") == "spoiled":
                spoiled.add((made.id, at))
            width = form.length_mm(f"width {key}")
            if width is not None and abs(width - stave.rough.width_mm) >= 0.5:
                widths[made.id, at] = width
    racked, not_kept = {}, set()
    for cut in kept.plan.boards:
        for at, _ in enumerate(cut.offcuts):
            key = f"{cut.id}/{at}"
            if form.ticked(f"gone {key}"):
                not_kept.add((cut.id, at))
            elif named := form.text(f"rack {key}"):
                racked[cut.id, at] = named
    form.check(text("cut.not_booked"))
    return widths, spoiled, racked, not_kept


def _page(
    visit: Visit,
    number: int,
    form: Filled | None = None,
    faults: "Sequence[Fault]" = (),
    message: str = "",
    status: int = 200,
) -> Response:
    kept = show_plan(visit.open_work, number, only_used=True)
    if kept.booked.status is not PlanStatus.ALLOCATED:
        raise Refused(text("cut.only_promised", number=number, status=kept.booked.status.value))
    boards = {cut.id: CutBoard(cut.id, offcuts=list(enumerate(cut.offcuts))) for cut in kept.plan.boards}
    for made in kept.plan.panels:
        for at, stave in enumerate(made.staves):
            if stave.board in boards:
                boards[stave.board].staves.append((made.id, at, stave))
    steps = [step for step in list_steps(visit.open_work, plan=number) if step.before is Before.CUTTING]
    return visit.page(
        "cut.html",
        status=status,
        booked=kept.booked,
        boards=[boards[cut.id] for cut in kept.plan.boards],
        places={cut.id: show_board(visit.open_work, cut.id).piece.place for cut in kept.plan.boards},
        steps=steps,
        typed={} if form is None else {name: form.text(name) for name in form.fields},
        faults=faults,
        message=message,
    )
