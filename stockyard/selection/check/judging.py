"""What a job's rules say of one defect in one stave."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from stockyard.geometry.footprint import footprint, length_along_x
from stockyard.selection.check.laid import Laid
from stockyard.selection.check.whole_mm import exact
from stockyard.timber import Defect, Do, Job, Rule, Show


@dataclass(frozen=True, slots=True)
class Judgement:
    """The verdict on a defect: does a face avoid it, what does treating it cost, or leaving it in sight.

    treatment: None when no face asks for one.
    """

    avoided: bool
    treatment: Fraction | None
    penalty: Fraction

    @property
    def accepted(self) -> bool:
        """Is it left as it is?"""
        return not self.avoided and self.treatment is None


def judged_defects(laid: Laid, job: Job) -> Iterator[tuple[Defect, Judgement]]:
    """Each defect that meets the finished stave, with the verdict on it."""
    for defect in staying_defects(laid, job):
        if any(box.meets(laid.stave.finished) for box in footprint(defect.outline)):
            yield defect, judged(defect, laid, job)


def staying_defects(laid: Laid, job: Job) -> Iterator[Defect]:
    """The board's defects that planing does not take away."""
    planed_mm = exact(job.allowances.face_planing_mm)
    for defect in laid.board.defects:
        shallow = defect.depth_mm is not None and exact(defect.depth_mm) <= planed_mm
        if defect.through or not shallow:
            yield defect


def judged(defect: Defect, laid: Laid, job: Job) -> Judgement:
    """The verdict of all faces the defect lies on: avoided by any, the dearer treatment and penalty."""
    verdicts = [(ruling(defect, rule), rule, seen) for rule, seen in _rules_of_its_faces(defect, laid, job)]
    treatments = [_price(defect, rule) for do, rule, _ in verdicts if do is Do.TREAT]
    penalties = [exact(rule.penalty) for do, rule, seen in verdicts if do is Do.ACCEPT and seen]
    return Judgement(
        avoided=any(do is Do.AVOID for do, _, _ in verdicts),
        treatment=max(treatments, default=None),
        penalty=max(penalties, default=Fraction(0)),
    )


def ruling(defect: Defect, rule: Rule) -> Do:
    """What the rule says of this very defect: one too large to treat is avoided."""
    if rule.do is not Do.TREAT:
        return rule.do
    boxes = footprint(defect.outline)
    too_long = rule.max_length_mm is not None and length_along_x(boxes) > exact(rule.max_length_mm)
    too_large = rule.max_area_mm2 is not None and sum(b.area_mm2 for b in boxes) > exact(rule.max_area_mm2)
    return Do.AVOID if too_long or too_large else Do.TREAT


def _rules_of_its_faces(defect: Defect, laid: Laid, job: Job) -> list[tuple[Rule, bool]]:
    """The rule of each face the defect lies on, and whether that face is seen."""
    on_show = defect.through or defect.face is laid.stave.show
    on_other = defect.through or defect.face is not laid.stave.show
    other_is_seen = laid.panel.show is Show.BOTH
    found = []
    if on_show:
        found.append((job.rules.on_show(defect.kind), True))
    if on_other and other_is_seen:
        found.append((job.rules.on_show(defect.kind), True))
    if on_other and not other_is_seen:
        found.append((job.rules.on_back(defect.kind), False))
    return found


def _price(defect: Defect, rule: Rule) -> Fraction:
    return exact(rule.per_item) + exact(rule.per_mm) * length_along_x(footprint(defect.outline))
