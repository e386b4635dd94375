"""Every reason that keeps a board out of a panel, each tested by lifting it.

To lift a reason is to look at the board as if it were not so: of the right species, dry, just long and wide
enough, thick enough, without that flaw. A reason stands when the board would suit with everything else lifted
and not with this one left: so once it is gone, the board suits or another reason shows. Where no single one
stands in the way and yet several do together (two flaws that leave no room between them), those are named
together, and the board would suit without any one of them.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from stockyard.selection.answers.cases import Case, Measured
from stockyard.selection.cells import roles_of, straightening, widest_rough
from stockyard.selection.instance import exactly, supply
from stockyard.timber import Distortion, Unread


@dataclass(frozen=True, slots=True)
class Obstacle:
    """One reason. why: a word, or the kind of a flaw. detail: a sentence.

    defect: the flaw's id, None for any other reason. together: the other flaws and reasons, as the words
    above or flaws' ids, that keep the board out only with this one; empty for a reason that does so alone.
    """

    why: str
    detail: str
    defect: str | None = None
    together: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """The flaw's id, or the word."""
        return self.defect or self.why


@dataclass(frozen=True)
class Lift:
    """A reason that may stand, and how a case looks without it."""

    obstacle: Obstacle
    away: Callable[[Case], Case]


def obstacles(case: Case) -> tuple[Obstacle, ...]:
    """Every reason that keeps the case's board out of its panel; none where it suits."""
    return tuple(lift.obstacle for lift in standing(case))


def standing(case: Case) -> tuple[Lift, ...]:
    """The reasons that stand, each with its lifting; with all of them lifted the board suits.

    A panel whose staves cannot add up to its width has that as its only reason, which no board can lift.
    """
    if case.suits():
        return ()
    here = Measured(case.instance)
    if not here.demand.possible:
        panel = case.panel
        words = (
            f"{panel.staves_min} to {panel.staves_max} staves of {panel.stave_width_min_mm:g} to"
            f" {panel.stave_width_max_mm:g} mm cannot add up to {panel.width_mm:g} mm"
        )
        return (Lift(Obstacle("panel", words), lambda seen: seen),)
    possible = list(_possible(case, here))
    alone = [lift for lift in possible if not without(case, possible, but=[lift]).suits()]
    found = list(alone)
    while not without(case, found).suits():
        rest = [lift for lift in possible if lift not in found]
        together = _irreducible(without(case, found), rest)
        if not together:  # nothing that can be lifted helps
            break
        found += [_named_with(lift, together) for lift in together]
    return tuple(found)


def without(case: Case, lifts: Iterable[Lift], but: Sequence[Lift] = ()) -> Case:
    """The case with these reasons lifted, but for some."""
    for lift in lifts:
        if lift not in but:
            case = lift.away(case)
    return case


def _irreducible(case: Case, lifts: Sequence[Lift]) -> list[Lift]:
    """Reasons that together keep the board out, none of which can be spared for that."""
    kept = list(lifts)
    for lift in lifts:
        left = [other for other in kept if other is not lift]
        if not without(case, [other for other in lifts if other not in left]).suits():
            kept = left
    return kept


def _named_with(lift: Lift, together: Sequence[Lift]) -> Lift:
    others = tuple(other.obstacle.name for other in together if other is not lift)
    one = lift.obstacle
    if not others:
        return lift
    detail = f"{one.detail}, with {' and '.join(others)}"
    return Lift(Obstacle(one.why, detail, one.defect, others), lift.away)


def _possible(case: Case, here: Measured) -> Iterable[Lift]:
    """Whatever may stand in the way of this board, plain facts first."""
    board, rule, panel = case.board, case.job.moisture, case.panel
    if case.reserved is not None:
        detail = case.reserved or "it is reserved"
        yield Lift(Obstacle("reserved", detail), lambda seen: _replaced(seen, reserved=None))
    if not here.instance.in_reach(here.timber) and (wet := _moisture(case)):
        dry = (rule.min_pct + rule.max_pct) / 2
        yield Lift(Obstacle("moisture", wet), lambda seen: seen.with_board(moisture_pct=dry))
    if board.species not in panel.species:
        words = f"{board.species} is not {' or '.join(panel.species)}"
        yield Lift(Obstacle("species", words), lambda seen: seen.with_board(species=seen.panel.species[0]))
    cuts, demand = here.instance.cuts, here.demand
    room, asked = here.timber.length - 2 * cuts.end_loss, demand.rough_length
    if asked > room:
        words = f"{max(room, 0)} mm between docked ends is short of {asked} mm"
        yield Lift(Obstacle("length", words), _long_enough)
    wide = least_width(here)
    if wide > here.timber.width:
        words = f"{here.timber.width} mm is narrower than the {wide} mm a stave needs"
        yield Lift(Obstacle("width", words), _wide_enough)
    words = f"{board.thickness_mm:g} mm does not leave {panel.thickness_mm:g} mm once flattened and planed"
    long_case = Measured(_long_enough(case).instance)
    if widest_rough(long_case.timber, demand, cuts) < max(here.timber.width, wide):
        yield Lift(Obstacle("thickness", words), _thick_enough)
    for flaw in here.timber.flaws:
        name, kind = flaw.defect.id, str(flaw.defect.kind)
        yield Lift(Obstacle(kind, f"{name} leaves no room for a stave", name), _without_flaw(name))


def _moisture(case: Case) -> str:
    reading, rule = case.board.moisture_pct, case.job.moisture
    if reading is None:
        return "it has no moisture reading" if rule.unread is Unread.REFUSE else ""
    if exactly(reading) > exactly(rule.max_pct):
        return f"{reading:g} % is above {rule.max_pct:g} %"
    return f"{reading:g} % is below {rule.min_pct:g} %" if exactly(reading) < exactly(rule.min_pct) else ""


def least_width(here: Measured) -> int:
    """The width of board that a clear stave of the panel needs, in whole mm."""
    cuts, demand = here.instance.cuts, here.demand
    asked = []
    for role in roles_of(demand):
        sides = sum(
            cuts.side_trim if outer else cuts.edge_joint for outer in (role.low_outer, role.high_outer)
        )
        finished = demand.width if role.outer_edges == 2 else demand.narrowest
        asked.append(finished + sides)
    return min(asked) + straightening(here.timber, demand)


def _replaced(case: Case, reserved: str | None) -> Case:
    return Case(case.board, case.job, case.panel, reserved)


def _long_enough(case: Case) -> Case:
    here = Measured(case.instance)
    asked = here.demand.rough_length + 2 * here.instance.cuts.end_loss
    return case if supply(case.board.length_mm) >= asked else case.with_board(length_mm=float(asked))


def _wide_enough(case: Case) -> Case:
    # A longer board is straighter over the stave's length, so ask of the board as it will be.
    asked = least_width(Measured(_long_enough(case).instance))
    return case if supply(case.board.width_mm) >= asked else case.with_board(width_mm=float(asked))


def _thick_enough(case: Case) -> Case:
    flat = Distortion(spring_mm=case.board.distortion.spring_mm)
    asked = exactly(case.panel.thickness_mm) + 2 * exactly(case.job.allowances.face_planing_mm)
    thick = max(case.board.thickness_mm, float(asked))
    return case.with_board(distortion=flat, thickness_mm=thick)


def _without_flaw(name: str) -> Callable[[Case], Case]:
    def away(case: Case) -> Case:
        return case.with_board(defects=tuple(each for each in case.board.defects if each.id != name))

    return away
