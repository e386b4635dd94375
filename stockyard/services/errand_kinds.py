"""What kinds of errand there are, and how each is done.

To add one: write a function that takes the yard, the errand and a watch, and name it in WORK. It tells the
watch how far it is as often as it likes, ends soon once the watch answers KEEP or DROP, and returns what
came of it, plain JSON. What it writes in the books it writes through services, by whoever asked.
"""

from collections.abc import Callable, Mapping
from dataclasses import asdict
from functools import partial
from typing import TYPE_CHECKING, Any

from stockyard.errors import StockyardError
from stockyard.services.errands import file_of
from stockyard.timber.errand import Errand, Stop

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork
    from stockyard.services.plan_job import Progress
    from stockyard.services.problem import Asked

Watch = Callable[[Mapping[str, Any] | None], Stop]
"""Told how far an errand is; answers what has been asked of it meanwhile."""

LONGEST_SELECTION = 3600.0
"""Seconds that a selection may be asked to search."""


class Dropped(StockyardError):
    """An errand ended because it was asked to leave nothing."""


def select(open_work: "OpenWork", errand: Errand, watch: Watch) -> dict[str, Any]:
    """Select boards for a job. wanted: job, seconds, and pin, forbid, prefer as `problem.Asked` words them.

    Returns the plan's number and how it came out.
    """
    from stockyard.services.plan_job import plan_job

    def told(progress: "Progress") -> bool:
        return watch(asdict(progress)) is not Stop.NO

    kept = plan_job(
        unless_dropped(open_work, watch),
        str(errand.wanted["job"]),
        seconds=_seconds(errand),
        on_progress=told,
        asked=_asked(errand),
    )
    plan = kept.plan
    return {
        "plan": kept.booked.number,
        "status": plan.status.value,
        "cost": float(plan.cost),
        "bound": float(plan.bound),
        "gap": plan.gap,
        "made": sum(panel.made for panel in plan.panels),
        "panels": len(plan.panels),
    }


def choices(open_work: "OpenWork", errand: Errand, watch: Watch) -> dict[str, Any]:
    """Search for several good plans of a job and keep them.

    wanted: as for `select`, and count. Returns each plan's number, what it costs more, its aims and counts.
    """
    from stockyard.services.choose_plans import choose_plans_in_yard

    found = choose_plans_in_yard(
        unless_dropped(open_work, watch),
        str(errand.wanted["job"]),
        int(errand.wanted.get("count", 4)),
        seconds=_seconds(errand),
        asked=_asked(errand),
        on_plan=lambda plan: watch({"best": float(plan.cost)}) is not Stop.NO,
    )
    return {
        "job": str(errand.wanted["job"]),
        "units": dict(found.choices.units),
        "tried": found.choices.tried,
        "choices": [
            {
                "plan": number,
                "cost": float(choice.plan.cost),
                "more": float(choice.more),
                "aims": list(choice.aims),
                "counts": dict(choice.counts),
                "proved": choice.proved,
                "made": sum(panel.made for panel in choice.plan.panels),
            }
            for number, choice in zip(found.numbers, found.choices.choices, strict=True)
        ],
    }


def suits(open_work: "OpenWork", errand: Errand, watch: Watch) -> dict[str, Any]:
    """Rank the boards for a panel. wanted: as for `select`, and panel. Writes nothing."""
    from stockyard.services.problem import problem_in_yard, wishes_of
    from stockyard.services.rank_boards import rank_boards, ranking_told

    problem = problem_in_yard(open_work, str(errand.wanted["job"]))
    watch({"boards": len(problem.stock.boards)})
    found = rank_boards(
        problem,
        str(errand.wanted["panel"]),
        seconds=_seconds(errand),
        wishes=wishes_of(problem, _asked(errand)),
    )
    return {"job": str(errand.wanted["job"]), "currency": problem.stock.currency, **ranking_told(found)}


def again(open_work: "OpenWork", errand: Errand, watch: Watch) -> dict[str, Any]:
    """Plan again around what was lost. wanted: plan, spoiled (pairs of panel and place), without, seconds.

    Returns the new plan's number and what changed.
    """
    from stockyard.services.plan_again import plan_again_in_yard

    found = plan_again_in_yard(
        unless_dropped(open_work, watch),
        int(errand.wanted["plan"]),
        spoiled=[(str(panel), int(place)) for panel, place in errand.wanted.get("spoiled", ())],
        without=[str(board) for board in errand.wanted.get("without", ())],
        seconds=_seconds(errand),
    )
    return {
        "plan": found.number,
        "was": found.was.number,
        "reach": found.again.reach.value,
        "new": [list(place) for place in found.again.new],
        "moved": found.again.moved,
        "kept": len(found.again.kept),
        "added": list(found.again.added),
        "dropped": list(found.again.dropped),
        "adds": float(found.again.adds),
    }


def _seconds(errand: Errand) -> float:
    return min(float(errand.wanted.get("seconds", 30.0)), LONGEST_SELECTION)


def _asked(errand: Errand) -> "Asked":
    from stockyard.services.problem import Asked

    pin, forbid, prefer = (
        tuple(str(each) for each in errand.wanted.get(name, ())) for name in ("pin", "forbid", "prefer")
    )
    return Asked(pin, forbid, prefer)


def photo(open_work: "OpenWork", errand: Errand, watch: Watch) -> dict[str, Any]:
    """Keep pictures of a board's face and read them for defects.

    wanted: board, face, names (of the files "0", "1" ...), end1, order, marker_mm, corners_px. Returns the
    photo and what it suggests; where the pictures cannot be put to scale, why, and corners to begin with.
    """
    from stockyard.services.take_pictures import take_pictures

    return take_pictures(
        unless_dropped(open_work, watch),
        errand.wanted,
        [file_of(open_work, errand.id, str(place)) for place in range(len(errand.wanted["names"]))],
        lambda stage: watch({"stage": stage}),
    )


def import_(open_work: "OpenWork", errand: Errand, watch: Watch) -> dict[str, Any]:
    """Book a delivery with a long tally. wanted: name (of the file "tally"), order (for `order_from`)."""
    from stockyard.services.delivery_order import order_from
    from stockyard.services.receive_delivery import receive_delivery

    watch({"stage": "booking"})
    tally = file_of(open_work, errand.id, "tally")
    receipt = receive_delivery(
        unless_dropped(open_work, watch),
        tally,
        str(errand.wanted["name"]),
        order_from(errand.wanted["order"]),
    )
    return {"docket": receipt.docket, "supplier": receipt.supplier, "pieces": len(receipt.pieces)}


WORK: Mapping[str, Callable[["OpenWork", Errand, Watch], Mapping[str, Any]]] = {
    "select": select,
    "choices": choices,
    "suits": suits,
    "again": again,
    "photo": photo,
    "import": import_,
}
"""How each kind is done."""


def do(open_work: "OpenWork", errand: Errand, watch: Watch) -> Mapping[str, Any]:
    """Do an errand as whoever asked for it. Returns its result.

    Raises Dropped when it was asked to leave nothing, and whatever its services raise.
    """
    return WORK[errand.kind](partial(open_work, who=errand.who), errand, watch)


def unless_dropped(open_work: "OpenWork", watch: Watch) -> "OpenWork":
    """The same yard, refusing to be written in once the errand was asked to leave nothing."""

    def open_unless(*, reading: bool = False, **more: Any) -> "UnitOfWork":
        if not reading and watch(None) is Stop.DROP:
            raise Dropped("The errand was dropped.")
        return open_work(reading=reading, **more)

    return open_unless
