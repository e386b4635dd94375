"""One view of a glued panel: staves, arrows, end marks, glue lines, trim, and its numbered defects."""

from dataclasses import dataclass

from stockyard.drawings.callouts import (
    KEY_MM,
    Box,
    Callout,
    around,
    beside,
    callout_tiers,
    callouts_over,
    first_free,
)
from stockyard.drawings.joint_marks import LineJoints, joint_marks
from stockyard.drawings.kinds import HATCH_OF, kind_words
from stockyard.drawings.laid import LaidDefect, LaidStave
from stockyard.drawings.lettering import width_mm
from stockyard.drawings.scales import View, corners
from stockyard.drawings.sheet import (
    FAINT,
    HAIR,
    LINE,
    PAPER,
    SOFT,
    TIMBER,
    Group,
    Line,
    Mark,
    Pen,
    Shape,
    Words,
    rectangle,
)
from stockyard.timber import Panel, Point

SHOW, BACK = "show face", "back"
_GLUE = Pen(0.55)
_FINISHED = Pen(0.25, dash_mm=(1.6, 0.8))
_UNLISTED = Pen(0.15, FAINT, (0.5, 0.5))


@dataclass(frozen=True, slots=True)
class PanelFace:
    """A side of a panel to be drawn. seen: SHOW or BACK. end_mm, side_mm: trim left on around it. [mm]

    joints: of its glue lines.
    """

    panel: Panel
    staves: tuple[LaidStave, ...]
    seen: str
    end_mm: float
    side_mm: float
    joints: tuple[LineJoints, ...] = ()

    @property
    def listed(self) -> list[LaidDefect]:
        """The numbered defects on this side."""
        return [laid for laid in self._here() if laid.number]

    @property
    def unlisted(self) -> list[LaidDefect]:
        """Those on this side that are trimmed or planed away."""
        return [laid for laid in self._here() if not laid.number]

    def _here(self) -> list[LaidDefect]:
        show = self.seen == SHOW
        return [d for stave in self.staves for d in stave.defects if (d.on_show if show else d.on_back)]


def tiers_over_panel(face: PanelFace, scale: float) -> int:
    """How many rows of numbers must stand over the panel, there being no room beside their defects."""
    _, left_over = _numbers(face, View(0, 0, scale))
    return callout_tiers([callout.key for callout in left_over], face.panel.length_mm / scale)


def panel_face_marks(face: PanelFace, view: View) -> list[Mark]:
    """The panel as glued, the view's origin at the finished panel's corner X = 0, Y = 0."""
    length, width = face.panel.length_mm, face.panel.width_mm
    end, side = face.end_mm, face.side_mm
    whole = view.outline(corners(-end, -side, length + end, width + side))
    marks: list[Mark] = [Shape(whole, None, PAPER, "trim")]
    marks += [_stave_marks(face, stave, view) for stave in face.staves]
    marks += [
        Line(view.outline(((-end, stave.y0_mm), (length + end, stave.y0_mm))), _GLUE)
        for stave in face.staves[1:]
    ]
    marks += joint_marks(face.joints, view)
    marks += [Shape(whole, LINE), Shape(view.outline(corners(0, 0, length, width)), _FINISHED)]
    marks += [_unlisted_mark(laid, view) for laid in face.unlisted]
    marks += [_defect_mark(laid, view) for laid in face.listed]
    marks += [mark for stave in face.staves for mark in _end_marks(face, stave, view)]
    placed, left_over = _numbers(face, view)
    for laid, box in placed:
        if laid.method:
            marks.append(Shape(rectangle(box.x0, box.y0, box.x1, box.y1), LINE, PAPER))
        marks.append(Words((box.x0 + box.x1) / 2, box.y1 - 0.6, laid.key, KEY_MM, "middle", bold=True))
    left, top = view.at((0, width + side))
    right, _ = view.at((length, 0))
    return marks + callouts_over(left_over, left, right, top)


def _stave_marks(face: PanelFace, stave: LaidStave, view: View) -> Group:
    """The stave, and its arrow from the board's end 1 to its end 2 with the letter of the face seen."""
    x0, x1, y, size = _arrow_place(face, stave, view)
    tail, tip = (x1, x0) if stave.turned else (x0, x1)
    letter = (stave.show if face.seen == SHOW else stave.show.other).value
    turned = ", turned end for end" if stave.turned else ""
    outline = corners(0, stave.y0_mm, face.panel.length_mm, stave.y1_mm)
    return Group(
        "stave",
        str(stave.place),
        (
            Shape(view.outline(outline), None, TIMBER),
            Line(((tail, y), (tip, y)), Pen(0.3, SOFT), arrow=True),
            Words(x1 + 1.6, y + size * 0.36, letter, size, colour=SOFT),
        ),
        f"stave {stave.place}, board {stave.board.id}, face {letter} seen{turned}",
    )


def _end_marks(face: PanelFace, stave: LaidStave, view: View) -> list[Mark]:
    """The numbers of the board's ends, inside the stave's ends."""
    marks: list[Mark] = []
    size = _letter_size(stave, view)
    for box, number in zip(_end_boxes(face, stave, view), "21" if stave.turned else "12", strict=True):
        marks.append(Shape(rectangle(box.x0, box.y0, box.x1, box.y1), None, TIMBER))
        middle = (box.y0 + box.y1) / 2
        marks.append(Words((box.x0 + box.x1) / 2, middle + size * 0.36, number, size, "middle", bold=True))
    return marks


def _end_boxes(face: PanelFace, stave: LaidStave, view: View) -> tuple[Box, Box]:
    size = _letter_size(stave, view)
    wide = width_mm("2", size, bold=True) + 0.6
    left, y = view.at((0, (stave.y0_mm + stave.y1_mm) / 2))
    right, _ = view.at((face.panel.length_mm, 0))
    half = size * 0.45
    return (
        Box(left + 0.6, y - half, left + 0.6 + wide, y + half),
        Box(right - 0.6 - wide, y - half, right - 0.6, y + half),
    )


def _letter_size(stave: LaidStave, view: View) -> float:
    return min(KEY_MM, (stave.y1_mm - stave.y0_mm) / view.scale * 0.7)


def _arrow_place(face: PanelFace, stave: LaidStave, view: View) -> tuple[float, float, float, float]:
    """Where a stave's arrow stands, clear of its defects where it can: x0, x1, y, size of its letter."""
    size = _letter_size(stave, view)
    left, y = view.at((0, (stave.y0_mm + stave.y1_mm) / 2))
    wide = face.panel.length_mm / view.scale
    half = min(9.0, wide / 8)
    reach = wide / 2 - half - 8
    shifts = [0.0, *(sign * reach * step / 6 for step in range(1, 7) for sign in (-1, 1))]
    high = size * 0.5
    boxes = [
        Box(left + wide / 2 + s - half, y - high, left + wide / 2 + s + half + 1.6 + size, y + high)
        for s in (shifts if reach > 0 else [0.0])
    ]
    box = first_free(boxes, _defect_boxes(face, view)) or boxes[0]
    return box.x0, box.x1 - 1.6 - size, y, size


def _defect_boxes(face: PanelFace, view: View) -> list[Box]:
    return [around(view.outline(part)) for laid in face.listed for part in laid.parts]


def _numbers(face: PanelFace, view: View) -> tuple[list[tuple[LaidDefect, Box]], list[Callout]]:
    """Each listed defect's key: a free place close to it, or a callout where there is none."""
    taken = _defect_boxes(face, view)
    for stave in face.staves:
        x0, x1, y, size = _arrow_place(face, stave, view)
        taken += [Box(x0, y - size * 0.5, x1 + 1.6 + size, y + size * 0.5), *_end_boxes(face, stave, view)]
        _, line = view.at((0, stave.y0_mm))
        taken.append(Box(view.x_mm, line - 0.3, view.x_mm + face.panel.length_mm / view.scale, line + 0.3))
    inside = around(view.outline(corners(0, 0, face.panel.length_mm, face.panel.width_mm)))
    taken += [around(view.outline(outline)) for line in face.joints for outline in line.outlines]
    placed: list[tuple[LaidDefect, Box]] = []
    left_over: list[Callout] = []
    for laid in face.listed:
        thing = around(tuple(point for part in laid.parts for point in view.outline(part)))
        wide = width_mm(laid.key, KEY_MM, bold=True) + 0.8
        near = [box for box in beside(thing, wide, KEY_MM * 0.73 + 1.2) if inside.holds(box)]
        box = first_free(near, taken)
        if box is None:
            left_over.append(Callout(laid.key, _top(thing), bool(laid.method)))
        else:
            taken.append(box)
            placed.append((laid, box))
    return placed, left_over


def _top(thing: Box) -> Point:
    return (thing.x0 + thing.x1) / 2, thing.y0


def _defect_mark(laid: LaidDefect, view: View) -> Group:
    hatch = HATCH_OF[laid.defect.kind]
    shapes = tuple(Shape(view.outline(part), Pen(0.18), PAPER, hatch) for part in laid.parts)
    spoken = f"{laid.key}: {kind_words(laid.defect.kind)}, {laid.done}"
    return Group("defect", laid.defect.id, shapes, spoken)


def _unlisted_mark(laid: LaidDefect, view: View) -> Group:
    shapes = tuple(Shape(view.outline(part), _UNLISTED) for part in laid.parts)
    return Group(
        "unlisted", laid.defect.id, shapes, f"{kind_words(laid.defect.kind)}, trimmed or planed away"
    )


def length_line(face: PanelFace, view: View, words: str) -> list[Mark]:
    """The finished length, measured under the panel."""
    left, low = view.at((0, -face.side_mm))
    right, _ = view.at((face.panel.length_mm, 0))
    y = low + 3.0
    wide = width_mm(words, 3.0, bold=True) + 2
    middle = (left + right) / 2
    marks: list[Mark] = [
        Line(((left, low + 0.6), (left, y + 1.2)), HAIR),
        Line(((right, low + 0.6), (right, y + 1.2)), HAIR),
        Words(middle, y + 1.1, words, 3.0, "middle", bold=True),
    ]
    if right - left > wide + 6:
        marks.append(Line(((middle - wide / 2, y), (left, y)), Pen(0.2), arrow=True))
        marks.append(Line(((middle + wide / 2, y), (right, y)), Pen(0.2), arrow=True))
    return marks
