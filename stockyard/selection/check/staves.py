"""Rules of a lawful stave."""

from collections import Counter
from collections.abc import Iterable, Iterator

from stockyard.errors import Fault
from stockyard.geometry.footprint import footprint
from stockyard.selection.check.judging import judged_defects, staying_defects
from stockyard.selection.check.laid import Laid
from stockyard.selection.check.whole_mm import board_window, exact, need, rough_length, same_money, supply
from stockyard.timber import Face, Job, Plan, Unread, Window


def findings(plan: Plan, laid_staves: Iterable[Laid]) -> Iterator[Fault]:
    """Every rule, on every stave."""
    for laid in laid_staves:
        for rule in RULES:
            yield from rule(laid, plan.job)


def shows_one_face(laid: Laid, job: Job) -> Iterator[Fault]:
    """A stave shows face A or face B."""
    if laid.stave.show not in (Face.A, Face.B):
        yield Fault(f"{laid.where}.show", "A or B", str(laid.stave.show))


def is_as_long_as_its_panel(laid: Laid, job: Job) -> Iterator[Fault]:
    """The finished stave is as long as the panel."""
    wanted, found = need(laid.panel.length_mm), laid.stave.finished.length_mm
    if found != wanted:
        yield Fault(f"{laid.where}.finished", f"a length of {wanted} mm", f"{found} mm")


def width_within_bounds(laid: Laid, job: Job) -> Iterator[Fault]:
    """The finished width is one the panel allows."""
    low, high = need(laid.panel.stave_width_min_mm), supply(laid.panel.stave_width_max_mm)
    found = laid.stave.finished.width_mm
    if not low <= found <= high:
        yield Fault(f"{laid.where}.finished", f"a width of {low} to {high} mm", f"{found} mm")


def carries_its_allowances(laid: Laid, job: Job) -> Iterator[Fault]:
    """The rough window is the finished one grown by trims, jointing, and straightening on the high-y side."""
    finished, allowances = laid.stave.finished, job.allowances
    end = need(allowances.end_trim_mm)
    outer, glued = need(allowances.side_trim_mm), need(allowances.edge_joint_mm)
    straightening = laid.straightening_mm(rough_length(laid.panel, allowances))
    wanted = Window(
        finished.x0 - end,
        finished.y0 - (outer if laid.low_edge_outer else glued),
        finished.x1 + end,
        finished.y1 + (outer if laid.high_edge_outer else glued) + straightening,
    )
    if laid.stave.rough != wanted:
        yield Fault(f"{laid.where}.rough", _seen(wanted), _seen(laid.stave.rough))


def lies_on_its_board(laid: Laid, job: Job) -> Iterator[Fault]:
    """The rough window lies on the board, clear of what is docked from its ends."""
    loss, board = need(job.allowances.board_end_loss_mm), board_window(laid.board)
    low, high, rough = loss, board.x1 - loss, laid.stave.rough
    if rough.x0 < low or rough.x1 > high or rough.y0 < 0 or rough.y1 > board.y1:
        place = f"inside x {low} to {high}, y 0 to {board.y1} of {laid.board.id}"
        yield Fault(f"{laid.where}.rough", place, _seen(rough))


def is_thick_enough(laid: Laid, job: Job) -> Iterator[Fault]:
    """What flattening and planing both faces leave is the panel's thickness at least."""
    bend, along, across = laid.board.distortion, laid.length_share, laid.width_share
    left = (
        exact(laid.board.thickness_mm)
        - exact(bend.bow_mm) * along**2
        - exact(bend.cup_mm) * across**2
        - exact(bend.twist_mm) * along * across
        - 2 * exact(job.allowances.face_planing_mm)
    )
    if left < exact(laid.panel.thickness_mm):
        yield Fault(laid.where, f"{laid.panel.thickness_mm} mm of thickness", f"{float(left):.3f} mm left")


def is_of_a_species_asked_for(laid: Laid, job: Job) -> Iterator[Fault]:
    """The board's species is one the panel asks for."""
    if laid.board.species not in laid.panel.species:
        yield Fault(laid.where, " or ".join(laid.panel.species), laid.board.species)


def is_dry_enough(laid: Laid, job: Job) -> Iterator[Fault]:
    """The board's moisture lies within the job's limits; one never read only where the job allows it."""
    reading, rule = laid.board.moisture_pct, job.moisture
    if reading is None:
        if rule.unread is not Unread.ALLOW:
            yield Fault(laid.where, f"a moisture reading of {laid.board.id}", "none")
    elif not exact(rule.min_pct) <= exact(reading) <= exact(rule.max_pct):
        yield Fault(laid.where, f"{rule.min_pct} to {rule.max_pct} % moisture", f"{reading} %")


def holds_no_avoided_defect(laid: Laid, job: Job) -> Iterator[Fault]:
    """No defect that a rule avoids, or that is too large to treat, meets the finished stave."""
    for defect, verdict in judged_defects(laid, job):
        if verdict.avoided:
            yield Fault(laid.where, f"{defect.kind} avoided", f"{defect.id} inside")


def keeps_weakness_off_glue_and_ends(laid: Laid, job: Job) -> Iterator[Fault]:
    """No weakening defect, treated or not, meets the strip along a glued edge or across a finished end."""
    for defect in staying_defects(laid, job):
        if not defect.weakening:
            continue
        for name, strip in _strips_kept_clear(laid, job):
            if any(box.meets(strip) for box in footprint(defect.outline)):
                yield Fault(laid.where, f"{name} clear of {defect.kind}", f"{defect.id} in it")


def lists_its_treatments(laid: Laid, job: Job) -> Iterator[Fault]:
    """Each defect to be treated is listed once, with a method and its right price, and no other is."""
    wanted = {
        defect.id: verdict.treatment
        for defect, verdict in judged_defects(laid, job)
        if verdict.treatment is not None and not verdict.avoided
    }
    listed = Counter(treatment.defect for treatment in laid.stave.treat)
    yield from _listing(f"{laid.where}.treat", set(wanted), listed)
    for index, treatment in enumerate(laid.stave.treat):
        where, price = f"{laid.where}.treat[{index}]", wanted.get(treatment.defect)
        if price is not None and not same_money(treatment.cost, price):
            yield Fault(f"{where}.cost", f"{float(price):.6f}", str(treatment.cost))
        if not treatment.method.strip():
            yield Fault(f"{where}.method", "how it is treated", "nothing")


def lists_what_it_accepts(laid: Laid, job: Job) -> Iterator[Fault]:
    """Each defect left as it is, on every face it is judged on, is listed once, and no other is."""
    wanted = {defect.id for defect, verdict in judged_defects(laid, job) if verdict.accepted}
    yield from _listing(f"{laid.where}.accept", wanted, Counter(laid.stave.accept))


RULES = (
    shows_one_face,
    is_as_long_as_its_panel,
    width_within_bounds,
    carries_its_allowances,
    lies_on_its_board,
    is_thick_enough,
    is_of_a_species_asked_for,
    is_dry_enough,
    holds_no_avoided_defect,
    keeps_weakness_off_glue_and_ends,
    lists_its_treatments,
    lists_what_it_accepts,
)


def _strips_kept_clear(laid: Laid, job: Job) -> Iterator[tuple[str, Window]]:
    """The strips inside the finished stave that no weakening defect may meet."""
    f = laid.stave.finished
    end = min(need(job.allowances.end_clear_mm), f.length_mm)
    glue = min(need(job.allowances.glue_clear_mm), f.width_mm)
    if end > 0:
        yield "the end nearer end 1", Window(f.x0, f.y0, f.x0 + end, f.y1)
        yield "the end nearer end 2", Window(f.x1 - end, f.y0, f.x1, f.y1)
    if glue > 0 and not laid.low_edge_outer:
        yield "the glued edge nearer edge 1", Window(f.x0, f.y0, f.x1, f.y0 + glue)
    if glue > 0 and not laid.high_edge_outer:
        yield "the glued edge nearer edge 2", Window(f.x0, f.y1 - glue, f.x1, f.y1)


def _listing(where: str, wanted: set[str], listed: Counter[str]) -> Iterator[Fault]:
    for defect in sorted(wanted - set(listed)):
        yield Fault(where, f"{defect} listed", "not listed")
    for defect, times in sorted(listed.items()):
        if defect not in wanted:
            yield Fault(where, f"{defect} not listed", "listed")
        elif times > 1:
            yield Fault(where, f"{defect} listed once", f"{times} times")


def _seen(window: Window) -> str:
    return f"x {window.x0} to {window.x1}, y {window.y0} to {window.y1}"
