"""Why a board can serve no panel, and why a panel is not made, in a sentence.

Flaws are looked into where nothing plainer keeps the board out; `answers.obstacles` tests every reason, flaws
too, by lifting it, and takes its time over it.
"""

from collections.abc import Iterator, Mapping, Sequence

from stockyard.selection.cells import Fit, fits, straightening, widest_rough
from stockyard.selection.instance import Demand, Instance, Timber, exactly
from stockyard.selection.judging import judge
from stockyard.timber import Face, Reason, Rejection, Unread


def serves(ways: Sequence[Fit]) -> bool:
    """Is there a place along the board at which one of these staves can be cut?"""
    return any(fit.anywhere for fit in ways)


def rejections(instance: Instance, ways: Mapping[int, Sequence[Fit]]) -> tuple[Rejection, ...]:
    """The boards that can serve no panel of the job, each with its reasons, in stock order."""
    found = []
    for timber in instance.timbers:
        if serves(ways.get(timber.index, ())):
            continue
        reasons = list(_whatever_the_panel(instance, timber))
        held = bool(reasons)
        for demand in instance.demands:
            reasons += _for_panel(instance, timber, demand, held=held)
        found.append(Rejection(timber.board.id, tuple(reasons)))
    return tuple(found)


def _whatever_the_panel(instance: Instance, timber: Timber) -> Iterator[Reason]:
    board, rule = timber.board, instance.job.moisture
    if board.id in instance.stock.reserved:
        yield Reason("reserved", None, instance.stock.reserved[board.id] or "it is reserved")
    if timber.moisture is None:
        if rule.unread is Unread.REFUSE:
            yield Reason("moisture", None, "it has no moisture reading")
    elif timber.moisture > exactly(rule.max_pct):
        yield Reason("moisture", None, f"{board.moisture_pct:g} % is above {rule.max_pct:g} %")
    elif timber.moisture < exactly(rule.min_pct):
        yield Reason("moisture", None, f"{board.moisture_pct:g} % is below {rule.min_pct:g} %")


def _for_panel(instance: Instance, timber: Timber, demand: Demand, *, held: bool) -> Iterator[Reason]:
    """held: is the board out whatever the panel?"""
    cuts, board, panel = instance.cuts, timber.board, demand.panel
    if not demand.possible:
        yield Reason("width", panel.id, _no_widths(demand))
        return
    if board.species not in panel.species:
        yield Reason("species", panel.id, f"{board.species} is not {' or '.join(panel.species)}")
    room = timber.length - 2 * cuts.end_loss
    if demand.rough_length > room:
        yield Reason(
            "length", panel.id, f"{max(room, 0)} mm between docked ends is short of {demand.rough_length} mm"
        )
        return
    glued = cuts.edge_joint + (cuts.side_trim if demand.most <= 2 else cuts.edge_joint)
    asked = demand.narrowest + (glued if demand.most > 1 else 2 * cuts.side_trim)
    asked += straightening(timber, demand)
    too_narrow = asked > timber.width
    if too_narrow:
        yield Reason("width", panel.id, f"{timber.width} mm is narrower than the {asked} mm a stave needs")
    if widest_rough(timber, demand, cuts) < min(asked, timber.width):
        yield Reason(
            "thickness",
            panel.id,
            f"{board.thickness_mm:g} mm does not leave {panel.thickness_mm:g} mm once flattened and planed",
        )
    elif not (held or too_narrow or board.species not in panel.species):
        yield from _for_flaws(instance, timber, demand)


def _for_flaws(instance: Instance, timber: Timber, demand: Demand) -> Iterator[Reason]:
    """The flaws that leave no stave of the panel: each that stands in the way on either face."""
    if serves(fits(instance, timber, demand)):
        return
    for flaw in timber.flaws:
        verdicts = [judge(instance, demand, flaw, face) for face in (Face.A, Face.B)]
        if all(verdict.lawful for verdict in verdicts) and not flaw.defect.weakening:
            continue
        others = tuple(other for other in timber.flaws if other is not flaw)
        alone = "" if serves(fits(instance, timber.with_flaws(others), demand)) else " with others"
        yield Reason(
            str(flaw.defect.kind), demand.panel.id, f"{flaw.defect.id} leaves no room for a stave{alone}"
        )


def _no_widths(demand: Demand) -> str:
    panel = demand.panel
    return (
        f"{panel.staves_min} to {panel.staves_max} staves of {panel.stave_width_min_mm:g} to"
        f" {panel.stave_width_max_mm:g} mm cannot add up to {panel.width_mm:g} mm"
    )


def why_unmade(instance: Instance, demand: Demand, ways: Mapping[int, Sequence[Fit]], *, proved: bool) -> str:
    """Why a panel is not made, in a sentence."""
    if not demand.possible:
        return _no_widths(demand)
    suited = [
        index
        for index, theirs in ways.items()
        if serves([fit for fit in theirs if fit.demand.index == demand.index])
    ]
    if not suited:
        return "no board of the stock can give a stave for it"
    boards = "1 board can" if len(suited) == 1 else f"{len(suited)} boards can"
    if proved:
        return f"{boards} give a stave, but together with the other panels they do not make up its width"
    return f"{boards} give a stave, but no way to make it was found in the time given"
