"""A plan as its page tells it: each panel's look, staves and flaws, what it costs, how good it is."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING
from urllib.parse import quote

from markupsafe import Markup

from stockyard.drawings.kinds import kind_words
from stockyard.drawings.laid import LaidDefect, LaidStave, laid_staves
from stockyard.measures.rounding import adding_up
from stockyard.services.draw_sheets import joints_by_panel
from stockyard.services.habits import habits_of
from stockyard.services.plan_job import KeptPlan
from stockyard.services.show_face import pictured
from stockyard.timber import Face, MadePanel, Panel, Window
from stockyard.web.pages import drawing
from stockyard.web.panel_look import PanelLook, panel_look
from stockyard.web.texts import counted, text

if TYPE_CHECKING:
    from stockyard.settings import OpenWork

PARTS = ("timber", "handling", "offcuts", "treatments", "appearance", "match", "rings")


@dataclass(frozen=True, slots=True)
class ToldPanel:
    """A panel on a page. show, back: its two sides; drawn: staves of each that have no picture."""

    asked: Panel
    made: MadePanel
    staves: tuple[LaidStave, ...]
    show: Markup
    back: Markup
    drawn: tuple[tuple[int, ...], tuple[int, ...]]
    joints: int
    joint_kind: str

    @property
    def flaws(self) -> list[tuple[LaidStave, LaidDefect]]:
        """The flaws that stay inside the finished panel, in the order of their numbers."""
        found = [(stave, laid) for stave in self.staves for laid in stave.defects if laid.number]
        return sorted(found, key=lambda each: each[1].number)


def told_panels(
    open_work: "OpenWork", kept: KeptPlan, *, longest_px: int = 1600, only: str | None = None
) -> tuple[ToldPanel, ...]:
    """Every panel of a plan, made from the pictures of its boards' faces where there are any.

    longest_px: of a stave's picture. only: this panel.
    """
    with open_work(reading=True) as work:
        joints = joints_by_panel(kept, habits_of(work).prep.joints)
    used = {stave.board for made in kept.plan.panels for stave in made.staves}
    photos = pictured(open_work, used)

    def address(board: str, face: Face, window: Window) -> str:
        corners = f"{window.x0}-{window.y0}-{window.x1}-{window.y1}"
        path = f"/api/boards/{quote(board, safe='')}/faces/{face.value}/{corners}.jpg"
        return f"{path}?longest={longest_px}&of={photos[board, face]}"

    asked = {panel.id: panel for panel in kept.plan.job.panels}
    told = []
    for made in kept.plan.panels:
        if only is not None and made.id != only:
            continue
        panel = asked[made.id]
        staves = tuple(laid_staves(kept.plan, made, kept.boards))
        lines = joints.get(made.id, [])
        sides = [
            panel_look(panel, staves, lines, photos, address, _in_words(panel, staves, side), back=side)
            if staves
            else PanelLook("", ())
            for side in (False, True)
        ]
        told.append(
            ToldPanel(
                panel,
                made,
                staves,
                drawing(sides[0].svg),
                drawing(sides[1].svg),
                (sides[0].drawn, sides[1].drawn),
                sum(len(line.centres_mm) + len(line.stretches_mm) for line in lines),
                lines[0].kind if lines else "",
            )
        )
    return tuple(told)


def costs_of(kept: KeptPlan) -> tuple[list[tuple[str, Decimal]], Decimal]:
    """The parts of the cost that are not nothing, in cents that add up, and their sum."""
    shown = adding_up([getattr(kept.plan.cost_parts, part) for part in PARTS], 2)
    parts = [(part, amount) for part, amount in zip(PARTS, shown, strict=True) if amount]
    return parts, sum(shown, Decimal(0))


def proof_of(kept: KeptPlan) -> str:
    """How good the plan is known to be, in a sentence."""
    plan = kept.plan
    if not any(made.made for made in plan.panels):
        return text(f"plan.none_made.{plan.status.value}")
    if plan.status.value == "optimal":
        return text("plan.proof.optimal")
    if plan.bound <= 0:
        return text("plan.proof.unbounded")
    bound, gap = f"{plan.bound:,.2f}", f"{100 * plan.gap:.1f}"
    return text("plan.proof.feasible", bound=bound, currency=plan.currency, gap=gap)


def cost_of_document(document: Mapping[str, object]) -> str:
    """The cost that a kept plan states."""
    return f"{float(str(document['cost'])):,.2f}"


def _in_words(panel: Panel, staves: Sequence[LaidStave], back: bool) -> str:
    side = text("plan.back") if back else text("plan.show")
    boards = ", ".join(stave.board.id for stave in staves)
    flaws = [
        f"{laid.key} {kind_words(laid.defect.kind)}"
        for stave in staves
        for laid in stave.defects
        if laid.number and (laid.on_back if back else laid.on_show)
    ]
    words = text(
        "plan.look_told", side=side, panel=panel.id, staves=counted("plan.staves", len(staves)), boards=boards
    )
    return f"{words} {', '.join(flaws)}" if flaws else words
