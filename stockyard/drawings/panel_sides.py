"""What is written beside a panel: its staves' boards at the left, its glue lines' places at the right."""

from collections.abc import Sequence

from stockyard.drawings.kinds import shown
from stockyard.drawings.laid import LaidStave
from stockyard.drawings.lettering import fitted
from stockyard.drawings.scales import View, spread
from stockyard.drawings.sheet import HAIR, SOFT, Line, Mark, Words

LEFT_ROOM_MM = 36.0
RIGHT_ROOM_MM = 18.0
_NAME_MM = 4.2
_NAME_LEADING_MM = 5.0
_FIGURE_MM = 3.2
_FIGURE_LEADING_MM = 3.8


def least_height_mm(staves: int) -> float:
    """The height the writing beside a panel of so many staves needs. [mm of paper]"""
    return max(staves * _NAME_LEADING_MM, (staves + 1) * _FIGURE_LEADING_MM)


def stave_names(staves: Sequence[LaidStave], view: View, left: float, high: float, low: float) -> list[Mark]:
    """Each stave's place and board, left of the panel whose left side is at `left`. [mm of paper]"""
    wanted = [view.at((0, (stave.y0_mm + stave.y1_mm) / 2))[1] for stave in staves]
    slack = _slack(len(staves), high, low)
    placed = spread(wanted, [_NAME_LEADING_MM] * len(staves), high - slack, low + slack)
    start = left - LEFT_ROOM_MM
    marks: list[Mark] = []
    for stave, at, y in zip(staves, wanted, placed, strict=True):
        base = y + _NAME_MM * 0.36
        name = fitted(stave.board.id, LEFT_ROOM_MM - 12, _NAME_MM, bold=True)
        marks.append(Words(start, base, str(stave.place), _NAME_MM, colour=SOFT))
        marks.append(Words(start + 6, base, name, _NAME_MM, bold=True))
        if abs(at - y) > 0.3:
            marks.append(Line(((left - 3.5, y), (left - 0.6, at)), HAIR))
    return marks


def glue_line_places(
    staves: Sequence[LaidStave], view: View, right: float, high: float, low: float
) -> list[Mark]:
    """Where edges and glue lines lie across the panel, from its low edge, right of it. [mm of paper]"""
    lines = [stave.y0_mm for stave in staves] + [staves[-1].y1_mm]
    wanted = [view.at((0, y))[1] for y in lines]
    slack = _slack(len(staves), high, low) + 1
    placed = spread(wanted, [_FIGURE_LEADING_MM] * len(lines), high - slack, low + slack)
    marks: list[Mark] = []
    for y_mm, at, y in zip(lines, wanted, placed, strict=True):
        marks.append(Line(((right + 0.5, at), (right + 1.5, at), (right + 3.0, y)), HAIR))
        marks.append(Words(right + 3.6, y + 1.15, shown(y_mm), _FIGURE_MM))
    return marks


def _slack(staves: int, high: float, low: float) -> float:
    return max(0.0, least_height_mm(staves) - (low - high)) / 2
