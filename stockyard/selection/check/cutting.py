"""Rules of how a board is cut: docked into sections, each ripped into strips."""

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import pairwise

from stockyard.errors import Fault
from stockyard.selection.check.costing import credit
from stockyard.selection.check.laid import Laid
from stockyard.selection.check.remnants import ripped, worth_racking
from stockyard.selection.check.whole_mm import board_window, need, same_money
from stockyard.timber import Board, BoardCut, Plan, Section, Stock, Strip, StripUse, Window

StavesByPlace = dict[tuple[str, int], Laid]


def findings(plan: Plan, stock: Stock, laid_staves: Sequence[Laid]) -> Iterator[Fault]:
    """Every rule, on every board cut."""
    boards = {board.id: board for board in stock.boards}
    staves = {(laid.panel.id, laid.place): laid for laid in laid_staves}
    yield from cuts_each_board_once(plan)
    yield from cuts_every_stave_once(plan, laid_staves)
    yield from leaves_reserved_boards_alone(plan, stock)
    for index, cut in enumerate(plan.boards):
        where, board = f"boards[{index}]", boards.get(cut.id)
        if board is None:
            yield Fault(f"{where}.id", "a board of the stock", cut.id)
            continue
        yield from keeps_its_sections_apart(where, cut, board, plan)
        for number, section in enumerate(cut.sections):
            place = f"{where}.sections[{number}]"
            yield from rips_its_own_staves(place, section, cut, staves)
            yield from spans_just_its_staves(place, section, staves)
            yield from keeps_its_strips_apart(place, section, plan)
            yield from strips_cover_the_section(place, section, board, plan)
        yield from lists_its_offcuts(where, cut, board, plan)


def cuts_each_board_once(plan: Plan) -> Iterator[Fault]:
    """A board is listed once, and only if something is cut from it."""
    for board, times in Counter(cut.id for cut in plan.boards).items():
        if times > 1:
            yield Fault("boards", f"{board} listed once", f"{times} times")
    for index, cut in enumerate(plan.boards):
        if not any(strip.use is StripUse.STAVE for section in cut.sections for strip in section.strips):
            yield Fault(f"boards[{index}].sections", "a stave cut from it", "none")


def cuts_every_stave_once(plan: Plan, laid_staves: Sequence[Laid]) -> Iterator[Fault]:
    """Each stave of each panel is exactly one strip."""
    cuts = Counter(
        (strip.panel, strip.stave)
        for cut in plan.boards
        for section in cut.sections
        for strip in section.strips
        if strip.use is StripUse.STAVE
    )
    for laid in laid_staves:
        times = cuts[laid.panel.id, laid.place]
        if times != 1:
            yield Fault(laid.where, "cut as one strip", f"{times} strips")


def leaves_reserved_boards_alone(plan: Plan, stock: Stock) -> Iterator[Fault]:
    """A reserved board is not cut."""
    for index, cut in enumerate(plan.boards):
        if cut.id in stock.reserved:
            yield Fault(f"boards[{index}].id", "a board that is free", f"{cut.id}: {stock.reserved[cut.id]}")


def keeps_its_sections_apart(where: str, cut: BoardCut, board: Board, plan: Plan) -> Iterator[Fault]:
    """Sections lie on the board, in x order, a saw cut apart at least."""
    kerf, whole = need(plan.job.allowances.kerf_mm), board_window(board)
    for number, section in enumerate(cut.sections):
        if not 0 <= section.x0 < section.x1 <= whole.x1:
            expected = f"x rising within 0 to {whole.x1}"
            yield Fault(f"{where}.sections[{number}]", expected, f"{section.x0} to {section.x1}")
    for number, (before, after) in enumerate(pairwise(cut.sections), start=1):
        if after.x0 - before.x1 < kerf:
            expected = f"x0 of {before.x1 + kerf} at least, a kerf past the section before"
            yield Fault(f"{where}.sections[{number}]", expected, str(after.x0))


def rips_its_own_staves(
    where: str, section: Section, cut: BoardCut, staves: StavesByPlace
) -> Iterator[Fault]:
    """A stave's strip is a stave of this board and as wide as its rough window; other strips name none."""
    for number, strip in enumerate(section.strips):
        place, laid = f"{where}.strips[{number}]", _stave_of(strip, staves)
        if strip.use is not StripUse.STAVE:
            if strip.panel is not None or strip.stave is not None:
                yield Fault(place, f"no stave in {strip.use}", f"{strip.panel} {strip.stave}")
        elif laid is None or laid.board.id != cut.id:
            yield Fault(place, f"a stave cut from {cut.id}", f"stave {strip.stave} of {strip.panel}")
        elif (strip.y0, strip.y1) != (laid.stave.rough.y0, laid.stave.rough.y1):
            rough = laid.stave.rough
            yield Fault(place, f"y {rough.y0} to {rough.y1}, as its stave", f"y {strip.y0} to {strip.y1}")


def spans_just_its_staves(where: str, section: Section, staves: StavesByPlace) -> Iterator[Fault]:
    """A section runs from the least x0 to the greatest x1 of its staves' rough windows."""
    rough = [laid.stave.rough for strip in section.strips if (laid := _stave_of(strip, staves))]
    if not rough:
        yield Fault(where, "a stave in the section", "none")
        return
    low, high = min(window.x0 for window in rough), max(window.x1 for window in rough)
    if (section.x0, section.x1) != (low, high):
        yield Fault(where, f"x {low} to {high}, as its staves", f"x {section.x0} to {section.x1}")


def keeps_its_strips_apart(where: str, section: Section, plan: Plan) -> Iterator[Fault]:
    """Strips stand in y order, a saw cut apart at least."""
    kerf = need(plan.job.allowances.kerf_mm)
    for number, (before, after) in enumerate(pairwise(section.strips), start=1):
        if after.y0 - before.y1 < kerf:
            expected = f"y0 of {before.y1 + kerf} at least, a kerf past the strip before"
            yield Fault(f"{where}.strips[{number}]", expected, str(after.y0))


def strips_cover_the_section(where: str, section: Section, board: Board, plan: Plan) -> Iterator[Fault]:
    """Between its staves' saw cuts everything is listed as offcut or waste, whichever its size makes it."""
    expected = ripped(section, board, plan.job.allowances)
    if section.strips != expected:
        yield Fault(f"{where}.strips", _listed(expected), _listed(section.strips))


def lists_its_offcuts(where: str, cut: BoardCut, board: Board, plan: Plan) -> Iterator[Fault]:
    """Every remnant that reaches the least size is listed once with its credit, and nothing else is."""
    expected = worth_racking(cut, board, plan.job.allowances)
    listed = Counter(offcut.window for offcut in cut.offcuts)
    for window in expected:
        if listed[window] != 1:
            yield Fault(f"{where}.offcuts", f"{_seen(window)} listed once", f"{listed[window]} times")
    for number, offcut in enumerate(cut.offcuts):
        place = f"{where}.offcuts[{number}]"
        if offcut.window not in expected:
            yield Fault(place, "a remnant of this cutting that reaches the least size", _seen(offcut.window))
            continue
        value = credit(board, offcut.window, plan.job)
        if not same_money(offcut.value, value):
            yield Fault(f"{place}.value", f"{float(value):.6f}", str(offcut.value))


def _stave_of(strip: Strip, staves: StavesByPlace) -> Laid | None:
    if strip.use is not StripUse.STAVE or strip.panel is None or strip.stave is None:
        return None
    return staves.get((strip.panel, strip.stave))


def _listed(strips: Sequence[Strip]) -> str:
    return ", ".join(f"{strip.use} y {strip.y0} to {strip.y1}" for strip in strips) or "none"


def _seen(window: Window) -> str:
    return f"x {window.x0} to {window.x1}, y {window.y0} to {window.y1}"
