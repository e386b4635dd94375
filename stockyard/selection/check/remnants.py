"""What is left of a board between the saw cuts beside its staves and sections."""

from collections.abc import Iterator, Sequence

from stockyard.selection.check.whole_mm import board_window, need, reaches_offcut
from stockyard.timber import Allowances, Board, BoardCut, Section, Strip, StripUse, Window


def gaps(pieces: Sequence[tuple[int, int]], end: int, kerf: int) -> Iterator[tuple[int, int]]:
    """What remains of [0, end] beside pieces in order: a kerf is lost at each, none at 0 and `end`. [mm]

    A gap no wider than its kerfs leaves nothing.
    """
    start = 0
    for low, high in pieces:
        if start < low - kerf:
            yield start, low - kerf
        start = high + kerf
    if start < end:
        yield start, end


def ripped(section: Section, board: Board, allowances: Allowances) -> tuple[Strip, ...]:
    """The section's strips as its staves make them: those staves, and the offcuts and waste between."""
    staves = [strip for strip in section.strips if strip.use is StripUse.STAVE]
    kerf, width = need(allowances.kerf_mm), board_window(board).y1
    length = section.x1 - section.x0
    left = [
        Strip(
            StripUse.OFFCUT if reaches_offcut(length, high - low, allowances) else StripUse.WASTE, low, high
        )
        for low, high in gaps([(strip.y0, strip.y1) for strip in staves], width, kerf)
    ]
    return tuple(sorted([*staves, *left], key=lambda strip: (strip.y0, strip.y1)))


def worth_racking(cut: BoardCut, board: Board, allowances: Allowances) -> tuple[Window, ...]:
    """Every remnant of the board that reaches the least offcut size: gaps in its full width, and strips."""
    whole, kerf = board_window(board), need(allowances.kerf_mm)
    docked = [
        Window(x0, 0, x1, whole.y1)
        for x0, x1 in gaps([(section.x0, section.x1) for section in cut.sections], whole.x1, kerf)
        if reaches_offcut(x1 - x0, whole.y1, allowances)
    ]
    strips = [
        Window(section.x0, strip.y0, section.x1, strip.y1)
        for section in cut.sections
        for strip in ripped(section, board, allowances)
        if strip.use is StripUse.OFFCUT
    ]
    return (*docked, *strips)
