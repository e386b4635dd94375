"""Rules of a lawful panel."""

from collections.abc import Iterator, Sequence

from stockyard.errors import Fault
from stockyard.selection.check.laid import Laid
from stockyard.selection.check.whole_mm import exact, need
from stockyard.timber import MadePanel, Panel, Plan, Stock


def findings(plan: Plan, stock: Stock, laid_staves: Sequence[Laid]) -> Iterator[Fault]:
    """Every rule, on every panel."""
    yield from answers_every_panel_asked_for(plan)
    yield from uses_boards_there_are(plan, stock)
    wanted = {panel.id: panel for panel in plan.job.panels}
    for index, made in enumerate(plan.panels):
        where = f"panels[{index}]"
        yield from says_why_it_is_unmade(where, made)
        if made.made and made.id in wanted:
            panel = wanted[made.id]
            its_staves = [laid for laid in laid_staves if laid.where.startswith(f"{where}.")]
            yield from has_a_lawful_number_of_staves(where, made, panel)
            yield from widths_add_up(where, made, panel)
            yield from is_of_one_species(where, its_staves)
            yield from is_evenly_dry(where, its_staves, plan)


def answers_every_panel_asked_for(plan: Plan) -> Iterator[Fault]:
    """The plan's panels are the job's, in the job's order."""
    asked = [panel.id for panel in plan.job.panels]
    answered = [made.id for made in plan.panels]
    if asked != answered:
        yield Fault("panels", ", ".join(asked), ", ".join(answered) or "none")


def uses_boards_there_are(plan: Plan, stock: Stock) -> Iterator[Fault]:
    """Every stave comes from a board of the stock."""
    known = {board.id for board in stock.boards}
    for p, made in enumerate(plan.panels):
        for s, stave in enumerate(made.staves):
            if stave.board not in known:
                yield Fault(f"panels[{p}].staves[{s}].board", "a board of the stock", stave.board)


def says_why_it_is_unmade(where: str, made: MadePanel) -> Iterator[Fault]:
    """A panel has staves, or a reason why not, and never both."""
    if made.made and made.why:
        yield Fault(f"{where}.why", "nothing, the panel being made", made.why)
    if not made.made and not made.why.strip():
        yield Fault(f"{where}.why", "why the panel is not made", "nothing")


def has_a_lawful_number_of_staves(where: str, made: MadePanel, panel: Panel) -> Iterator[Fault]:
    """The number of staves is one the panel allows."""
    if not panel.staves_min <= len(made.staves) <= panel.staves_max:
        expected = f"{panel.staves_min} to {panel.staves_max} staves"
        yield Fault(f"{where}.staves", expected, str(len(made.staves)))


def widths_add_up(where: str, made: MadePanel, panel: Panel) -> Iterator[Fault]:
    """The finished widths add up to the panel's width exactly."""
    wanted = need(panel.width_mm)
    found = sum(stave.finished.width_mm for stave in made.staves)
    if found != wanted:
        yield Fault(f"{where}.staves", f"widths adding up to {wanted} mm", f"{found} mm")


def is_of_one_species(where: str, its_staves: Sequence[Laid]) -> Iterator[Fault]:
    """All staves of a panel are of one species."""
    species = sorted({laid.board.species for laid in its_staves})
    if len(species) > 1:
        yield Fault(f"{where}.staves", "one species", ", ".join(species))


def is_evenly_dry(where: str, its_staves: Sequence[Laid], plan: Plan) -> Iterator[Fault]:
    """The wettest and the driest stave are no further apart than the job allows; unread ones aside."""
    readings = [laid.board.moisture_pct for laid in its_staves if laid.board.moisture_pct is not None]
    if not readings:
        return
    spread, limit = exact(max(readings)) - exact(min(readings)), plan.job.moisture.spread_pct
    if spread > exact(limit):
        yield Fault(f"{where}.staves", f"moisture within {limit} % of each other", f"{float(spread):g} %")
