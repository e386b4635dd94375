"""What a person asks of a selection beyond its rules: boards to leave, to favour or to use in a panel.

Wishes change which plan is sought, never what a plan costs: the plan states its true cost and parts. What it
proves, it proves of the selection under the wishes. With `extra` that is the cost with the extras counted: no
plan that keeps to the wishes costs less, extras included, than `bound` plus the extras of the plan's own
boards, and `optimal` says that the plan is the least by that measure.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from stockyard.errors import BadInput, Fault
from stockyard.timber import Job, Plan, Stock


@dataclass(frozen=True, slots=True)
class Wishes:
    """What a selection is asked for beyond its rules.

    forbid: ids of boards to leave whole. extra: by board id, what cutting it counts for beside its true
    cost, positive to discourage and negative to favour. [the stock's currency] must: pairs of a board's and a
    panel's id; a plan that makes the panel has at least one stave of that board in it. A board that is not in
    the stock may be forbidden or carry an extra; it changes nothing.
    """

    forbid: frozenset[str] = frozenset()
    extra: Mapping[str, Decimal] = field(default_factory=dict)
    must: frozenset[tuple[str, str]] = frozenset()

    def of_plan(self, boards: Iterable[str]) -> Decimal:
        """The extras of these boards together."""
        return sum((Decimal(self.extra.get(board, 0)) for board in boards), Decimal(0))

    def kept_by(self, plan: Plan) -> bool:
        """Does a plan leave what is forbidden and use what must be, in each panel it makes?"""
        used = {(stave.board, panel.id) for panel in plan.panels for stave in panel.staves}
        made = {panel.id for panel in plan.panels if panel.made}
        asked = {(board, panel) for board, panel in self.must if panel in made}
        return asked <= used and not any(cut.id in self.forbid for cut in plan.boards)


NO_WISHES = Wishes()


def checked(wishes: Wishes, stock: Stock, job: Job) -> Wishes:
    """The wishes, if they can be meant for this stock and job.

    Raises BadInput when a board or panel that must be used is not there, or an extra is no amount.
    """
    boards, panels = {board.id for board in stock.boards}, {panel.id for panel in job.panels}
    faults = [
        Fault(f"must[{board}, {panel}]", f"a {word} of the {where}", name)
        for board, panel in sorted(wishes.must)
        for word, where, name, known in (("board", "stock", board, boards), ("panel", "job", panel, panels))
        if name not in known
    ]
    faults += [
        Fault(f"extra[{board}]", "a finite amount", str(amount))
        for board, amount in sorted(wishes.extra.items())
        if not Decimal(amount).is_finite()
    ]
    if faults:
        raise BadInput("These wishes cannot be meant for this stock and job.", faults)
    return wishes
