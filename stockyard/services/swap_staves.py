"""Let two staves of a panel change places, without searching: the boards stay, the plan is counted anew."""

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from enum import Enum
from fractions import Fraction
from itertools import product
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
from stockyard.timber import BoardCut, CostParts, MadePanel, Plan, Status, Stave, Stock, StripUse
from stockyard.timber.booked_plan import BookedPlan
from stockyard.timber.plan import Offcut

if TYPE_CHECKING:
    from stockyard.records import OpenWork

StavePlace = tuple[str, int]
"""A stave: its panel's id and its place in it, 0 first."""

_MILLIONTH = 6
_PARTS = ("timber", "handling", "offcuts", "treatments", "appearance", "match", "rings")


class Anchor(Enum):
    """What stays in its place on the board when a stave's edges change: itself, or an edge of its strip."""

    FINISHED = 0
    LOW_EDGE = 1
    HIGH_EDGE = 2


def swap_staves(open_work: "OpenWork", number: int, panel: str, first: int, second: int) -> BookedPlan:
    """A new proposed plan in which two staves of a panel have changed places.

    first, second: their places in the panel, 0 first. Each stays as it lies, with the face that it shows;
    only what is left on its edges for jointing or trimming follows its new place.
    Where that leaves no room, it is cut a little further up or down its own strip.
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
    places = {(panel, first): second, (panel, second): first}
    wrong: tuple[Fault, ...] = ()
    for anchors in product(Anchor, repeat=2):
        edged = _with_edges(moved, stock, panel, {first: anchors[0], second: anchors[1]})
        tried = _counted(edged, plan, places, stock)
        found = check_plan(tried, stock)
        if not found:
            return tried
        wrong = wrong or found
    raise Refused(
        f"Staves {first + 1} and {second + 1} of {panel} cannot change places as they are cut"
        f" ({wrong[0].where}: expected {wrong[0].expected}). Select again instead."
    )


def _counted(moved: Plan, was: Plan, places: Mapping[StavePlace, int], stock: Stock) -> Plan:
    """The plan with its boards cut for where its staves lie now, and what that costs."""
    moved = replace(moved, boards=tuple(_cut_again(moved, cut, places, stock) for cut in moved.boards))
    cost = cost_of(moved, stock)
    parts = CostParts(**{part: round(getattr(cost, part), _MILLIONTH) for part in _PARTS})
    best = was.status is Status.OPTIMAL and parts.total <= was.bound
    moved = replace(moved, cost_parts=parts, status=Status.OPTIMAL if best else Status.FEASIBLE)
    return replace(moved, bound=min(was.bound, moved.cost))


def _with_edges(plan: Plan, stock: Stock, panel: str, anchors: Mapping[int, Anchor]) -> Plan:
    """The staves of a panel with what their new places leave on their edges. anchors: of those that moved."""
    again = {
        each.place: _edged(each, plan, anchors[each.place])
        for each in laid_staves(plan, stock)
        if each.panel.id == panel and each.place in anchors
    }

    def placed(made: MadePanel) -> MadePanel:
        staves = tuple(again.get(place, stave) for place, stave in enumerate(made.staves))
        return replace(made, staves=staves)

    return replace(plan, panels=tuple(placed(made) if made.id == panel else made for made in plan.panels))


def _edged(laid: Laid, plan: Plan, anchor: Anchor) -> Stave:
    own, given = laid.stave, plan.job.allowances
    joint, trim = ceil(Fraction(str(given.edge_joint_mm))), ceil(Fraction(str(given.side_trim_mm)))
    below = trim if laid.low_edge_outer else joint
    above = (trim if laid.high_edge_outer else joint) + laid.straightening_mm(own.rough.x1 - own.rough.x0)
    wide = own.finished.y1 - own.finished.y0
    y0 = {
        Anchor.FINISHED: own.finished.y0,
        Anchor.LOW_EDGE: own.rough.y0 + below,
        Anchor.HIGH_EDGE: own.rough.y1 - above - wide,
    }[anchor]
    return replace(
        own,
        finished=replace(own.finished, y0=y0, y1=y0 + wide),
        rough=replace(own.rough, y0=y0 - below, y1=y0 + wide + above),
    )


def _cut_again(plan: Plan, cut: BoardCut, places: Mapping[StavePlace, int], stock: Stock) -> BoardCut:
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
