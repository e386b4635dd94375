"""Let two staves of a panel change places, without searching: the boards stay, the plan is counted anew."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from math import ceil
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Fault, NotFound, Refused
from stockyard.selection import plan_document, read_stock
from stockyard.selection.check import check_plan, cost_of
from stockyard.selection.check.costing import credit
from stockyard.selection.check.laid import Laid, laid_staves
from stockyard.selection.check.remnants import ripped, worth_racking
from stockyard.selection.interchange import stock_document
from stockyard.services.allocate_plan import plan_of
from stockyard.timber import BoardCut, CostParts, Plan, Status, Stock, StripUse, Window
from stockyard.timber.booked_plan import BookedPlan
from stockyard.timber.plan import Offcut

if TYPE_CHECKING:
    from stockyard.records import OpenWork

_MILLIONTH = 6
_PARTS = ("timber", "handling", "offcuts", "treatments", "appearance", "match", "rings")


def swap_staves(open_work: "OpenWork", number: int, panel: str, first: int, second: int) -> BookedPlan:
    """A new proposed plan in which two staves of a panel have changed places.

    first, second: their places in the panel, 0 first. Each stays as it lies, with the face that it shows;
    only what is left on its edges for jointing or trimming follows its new place.
    Raises NotFound for no such plan or panel, BadInput for places it has not, and Refused where the plan
    would not be lawful so, or its job has changed since.
    """
    with open_work() as work:
        booked = work.plans.get(number)
        if work.jobs.get(booked.job).version != booked.job_version:
            raise Refused(f"Job {booked.job} has changed since plan {number} was made. Select again.")
        stock = read_stock(dict(booked.stock))
        swapped = swapped_plan(plan_of(work, booked), stock, panel, first, second)
        kept = work.plans.add(
            booked.job, plan_document(swapped, stock), stock_document(stock), dict(booked.seen)
        )
        work.commit()
    return kept


def swapped_plan(plan: Plan, stock: Stock, panel: str, first: int, second: int) -> Plan:
    """The plan with two staves of a panel in each other's places; raises as `swap_staves` does."""
    made = next((each for each in plan.panels if each.id == panel), None)
    if made is None:
        raise NotFound("panel in this plan", panel, [each.id for each in plan.panels])
    last = len(made.staves)
    if not (0 <= first < last and 0 <= second < last and first != second):
        raise BadInput(
            "These staves cannot change places.",
            [Fault("swap", f"two staves of {panel}, 1 to {last}", f"{first + 1} and {second + 1}")],
        )
    staves = list(made.staves)
    staves[first], staves[second] = staves[second], staves[first]
    moved = replace(
        plan,
        panels=tuple(
            replace(each, staves=tuple(staves)) if each.id == panel else each for each in plan.panels
        ),
    )
    moved = _with_edges(moved, stock, panel)
    places = {(panel, first): second, (panel, second): first}
    moved = replace(moved, boards=tuple(_cut_again(moved, cut, places, stock) for cut in moved.boards))
    cost = cost_of(moved, stock)
    parts = CostParts(**{part: round(getattr(cost, part), _MILLIONTH) for part in _PARTS})
    best = plan.status is Status.OPTIMAL and parts.total <= plan.bound
    moved = replace(moved, cost_parts=parts, status=Status.OPTIMAL if best else Status.FEASIBLE)
    moved = replace(moved, bound=min(plan.bound, moved.cost))
    wrong = check_plan(moved, stock)
    if wrong:
        raise Refused(
            f"Staves {first + 1} and {second + 1} of {panel} cannot change places as they are cut"
            f" ({wrong[0].where}: expected {wrong[0].expected}). Select again instead."
        )
    return moved


def _with_edges(plan: Plan, stock: Stock, panel: str) -> Plan:
    """The staves of a panel with what their new places leave on their edges."""
    roughs = {each.place: _rough(each, plan) for each in laid_staves(plan, stock) if each.panel.id == panel}
    panels = tuple(
        replace(
            each,
            staves=tuple(
                replace(stave, rough=roughs.get(place, stave.rough))
                for place, stave in enumerate(each.staves)
            ),
        )
        if each.id == panel
        else each
        for each in plan.panels
    )
    return replace(plan, panels=panels)


def _rough(laid: Laid, plan: Plan) -> Window:
    own, given = laid.stave, plan.job.allowances
    joint, trim = ceil(Fraction(str(given.edge_joint_mm))), ceil(Fraction(str(given.side_trim_mm)))
    return Window(
        own.rough.x0,
        own.finished.y0 - (trim if laid.low_edge_outer else joint),
        own.rough.x1,
        own.finished.y1
        + (trim if laid.high_edge_outer else joint)
        + laid.straightening_mm(own.rough.x1 - own.rough.x0),
    )


def _cut_again(plan: Plan, cut: BoardCut, places: dict[tuple[str, int], int], stock: Stock) -> BoardCut:
    """A board's cuts with its strips under their new places and as wide as those ask."""
    board = next(each for each in stock.boards if each.id == cut.id)
    staves = {made.id: made.staves for made in plan.panels}
    sections = []
    for section in cut.sections:
        strips = []
        for strip in section.strips:
            if strip.use is not StripUse.STAVE or strip.panel is None or strip.stave is None:
                continue
            place = places.get((strip.panel, strip.stave), strip.stave)
            rough = staves[strip.panel][place].rough
            strips.append(replace(strip, stave=place, y0=rough.y0, y1=rough.y1))
        bare = replace(section, strips=tuple(sorted(strips, key=lambda each: each.y0)))
        sections.append(replace(bare, strips=ripped(bare, board, plan.job.allowances)))
    again = replace(cut, sections=tuple(sections))
    offcuts = tuple(
        Offcut(window, round(_decimal(credit(board, window, plan.job)), _MILLIONTH))
        for window in worth_racking(again, board, plan.job.allowances)
    )
    return replace(again, offcuts=offcuts)


def _decimal(value: Fraction) -> Decimal:
    return Decimal(value.numerator) / Decimal(value.denominator)
