"""A plan to begin from, turned back into the sections that the search works with."""

from dataclasses import replace

from stockyard.selection.cells import ALONE, ENDS, MIDDLE, Fit, Role
from stockyard.selection.check import check_plan
from stockyard.selection.instance import Instance
from stockyard.selection.sections import Docked, Lying
from stockyard.selection.ways import Ways
from stockyard.timber import Face, Plan, Reason, Rejection, Stave


def begun_from(plan: Plan, instance: Instance, ways: Ways) -> tuple[Docked, ...]:
    """The sections of a plan that is lawful for this stock, job and wishes; none where it is not."""
    stock = instance.stock
    reserved = tuple(
        Rejection(id_, (Reason("reserved", None, why or "-"),)) for id_, why in stock.reserved.items()
    )
    if plan.job != instance.job or not instance.wishes.kept_by(plan):
        return ()
    if check_plan(replace(plan, rejected=reserved), stock):
        return ()
    boards = {timber.board.id: timber.index for timber in instance.timbers}
    panels = {demand.panel.id: demand.index for demand in instance.demands}
    sections: dict[tuple[int, int, int], list[Lying]] = {
        (boards[cut.id], section.x0, section.x1): [] for cut in plan.boards for section in cut.sections
    }
    for panel in plan.panels:
        for place, stave in enumerate(panel.staves):
            board = boards[stave.board]
            role = _role(stave, first=place == 0, last=place == len(panel.staves) - 1)
            fit = _fit(ways.get(board, ()), panels[panel.id], role, stave.show)
            where = next(
                key
                for key in sections
                if key[0] == board and key[1] <= stave.rough.x0 and stave.rough.x1 <= key[2]
            )
            if fit is None:
                return ()
            sections[where].append(Lying(fit, stave.rough.x0, stave.finished.y0, stave.finished.y1))
    return tuple(Docked(*where, tuple(staves)) for where, staves in sections.items())


def _role(stave: Stave, *, first: bool, last: bool) -> Role:
    """Which of the stave's edges on its board are outer edges of the panel."""
    if first and last:
        return ALONE
    if not (first or last):
        return MIDDLE
    lies_as_it_grew = (stave.show is Face.A) is not stave.turned
    return ENDS[0] if first is lies_as_it_grew else ENDS[1]


def _fit(fits: tuple[Fit, ...], demand: int, role: Role, show: Face) -> Fit | None:
    theirs = [fit for fit in fits if fit.demand.index == demand and fit.role == role]
    return next((fit for fit in theirs if fit.show is show), theirs[0] if theirs else None)
