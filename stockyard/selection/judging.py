"""What the job's rules say of each flaw of a board, for one panel and one face shown."""

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from stockyard.selection.instance import Demand, Flaw, Instance, Timber, oversize
from stockyard.timber import Do, Face, Rings


@dataclass(frozen=True)
class Verdict:
    """How one flaw counts when a stave's finished rectangle meets it.

    lawful: False when it is avoided. treatment, penalty: what it costs then. treated: is it to be treated?
    """

    lawful: bool
    treatment: Fraction = Fraction(0)
    penalty: Fraction = Fraction(0)
    treated: bool = False

    @cached_property
    def cost(self) -> float:
        """Treatment and penalty together."""
        return float(self.treatment + self.penalty)


def judge(instance: Instance, demand: Demand, flaw: Flaw, show: Face) -> Verdict:
    """The verdict on `flaw` in a stave of `demand` that shows face `show`."""
    defect = flaw.defect
    key = (demand.both, defect.kind, defect.face, show, flaw.length, flaw.area)
    known: Verdict | None = instance.verdicts.get(key)
    if known is None:
        known = instance.verdicts[key] = _judged(instance, demand, flaw, show)
    return known


def _judged(instance: Instance, demand: Demand, flaw: Flaw, show: Face) -> Verdict:
    rules = instance.job.rules
    treatment = penalty = Fraction(0)
    treated = False
    for face in (Face.A, Face.B):
        if not flaw.defect.through and flaw.defect.face is not face:
            continue
        seen = demand.both or face is show
        rule = rules.on_show(flaw.defect.kind) if seen else rules.on_back(flaw.defect.kind)
        if rule.do is Do.AVOID or (rule.do is Do.TREAT and oversize(rule, flaw)):
            return Verdict(lawful=False)
        if rule.do is Do.TREAT:
            treated = True
            treatment = max(treatment, Fraction(rule.per_item) + Fraction(rule.per_mm) * flaw.length)
        elif seen:
            penalty = max(penalty, Fraction(rule.penalty))
    return Verdict(True, treatment, penalty, treated)


def faces_differ(instance: Instance, timber: Timber) -> bool:
    """Does it matter to a neighbour in the panel which face the board shows?"""
    costs, board = instance.job.costs, timber.board
    by_colour = costs.match > 0 and board.colour_a != board.colour_b
    by_rings = instance.job.rings is not Rings.ANY and costs.ring_break > 0 and board.heart_face is not None
    return by_colour or by_rings
