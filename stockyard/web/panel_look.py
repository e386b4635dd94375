"""A panel as it will look: pictures of its staves' faces laid as planned, flaws and joints marked over them.

A unit is a millimetre of the finished panel. The back is shown as it is seen once the panel is turned over
along its length: ends stay left and right, and the first stave comes to stand at the top.
"""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from html import escape

from stockyard.drawings.joint_marks import LineJoints
from stockyard.drawings.kinds import kind_words
from stockyard.drawings.laid import LaidDefect, LaidStave
from stockyard.geometry.frames import stave_point
from stockyard.timber import Face, Outline, Panel, Point, Window

Address = Callable[[str, Face, Window], str]
"""Where the picture of a window of a board's face is."""


@dataclass(frozen=True, slots=True)
class PanelLook:
    """One side of a panel. drawn: the staves that have no picture, by place, 1 first."""

    svg: str
    drawn: tuple[int, ...]


def panel_look(
    panel: Panel,
    staves: Sequence[LaidStave],
    joints: Sequence[LineJoints],
    pictured: Collection[tuple[str, Face]],
    address: Address,
    told: str,
    *,
    back: bool = False,
) -> PanelLook:
    """One side of a made panel as an SVG. pictured: the faces that have a picture. told: it in words."""
    length, width = panel.length_mm, panel.width_mm

    def seen(point: Point) -> Point:
        return (point[0], point[1] if back else width - point[1])

    wood, marks, drawn = [], [], []
    for stave in staves:
        face = stave.show.other if back else stave.show
        ends = sorted(seen((0, y))[1] for y in (stave.y0_mm, stave.y1_mm))
        box = f'y="{_n(ends[0])}" width="{_n(length)}" height="{_n(ends[1] - ends[0])}"'
        if (stave.board.id, face) in pictured:
            href = escape(address(stave.board.id, face, stave.finished))
            wood.append(
                f'<image href="{href}" width="{stave.finished.length_mm}" height="{stave.finished.width_mm}"'
                f' preserveAspectRatio="none" transform="{_laid(stave, seen)}"/>'
            )
        else:
            drawn.append(stave.place)
            wood.append(f'<rect class="wood" {box}/>')
        middle = (ends[0] + ends[1]) / 2
        size = min(length / 30, 0.6 * (ends[1] - ends[0]))
        marks.append(
            f'<text class="place" x="{_n(size * 0.5)}" y="{_n(middle + size * 0.35)}" font-size="{_n(size)}">'
            f"{stave.place}</text>"
        )
        for laid in stave.defects:
            if laid.number and (laid.on_back if back else laid.on_show):
                marks.append(_flaw(laid, seen, length, width))
    for line in staves[1:]:
        y = _n(seen((0, line.y0_mm))[1])
        marks.append(f'<path class="glue-line" d="M0 {y}H{_n(length)}"/>')
    marks += [
        f'<path class="joint" d="{_path(outline, seen)}"/>' for line in joints for outline in line.outlines
    ]
    svg = (
        f'<svg viewBox="0 0 {_n(length)} {_n(width)}" preserveAspectRatio="xMinYMin" role="img"'
        f' aria-label="{escape(told)}"><g class="staves">{"".join(wood)}</g>'
        f'<g class="marks">{"".join(marks)}</g>'
        f'<rect class="rim" width="{_n(length)}" height="{_n(width)}"/></svg>'
    )
    return PanelLook(svg, tuple(drawn))


def _laid(stave: LaidStave, seen: Callable[[Point], Point]) -> str:
    """Takes the picture of the stave's window, x right from end 1 and y down from edge 2, to its place."""
    window = stave.finished

    def there(x: float, y: float) -> Point:
        along, across = stave_point((x, y), window, stave.show, stave.turned)
        return seen((along, across + stave.y0_mm))

    (ox, oy), (ax, ay), (bx, by) = (
        there(window.x0, window.y1), there(window.x0 + 1, window.y1), there(window.x0, window.y1 - 1),
    )  # fmt: skip
    figures = (ax - ox, ay - oy, bx - ox, by - oy, ox, oy)
    return f"matrix({' '.join(_n(figure) for figure in figures)})"


def _flaw(laid: LaidDefect, seen: Callable[[Point], Point], length: float, width: float) -> str:
    shape = "".join(_path(part, seen) for part in laid.parts)
    points = [seen(point) for part in laid.parts for point in part]
    size = length / 30
    high = min(y for _, y in points)
    y = high - size * 0.25 if high > size * 1.2 else max(y for _, y in points) + size
    x = min(max(sum(x for x, _ in points) / len(points), size), length - size)
    does = "treated" if laid.method else "accepted"
    words = escape(f"{laid.key}: {kind_words(laid.defect.kind)}, {laid.done}")
    return (
        f'<g class="{does}"><path d="{shape}"><title>{words}</title></path>'
        f'<text x="{_n(x)}" y="{_n(min(y, width - size * 0.2))}" font-size="{_n(size)}"'
        f' text-anchor="middle">{laid.key}</text></g>'
    )


def _path(outline: Outline, seen: Callable[[Point], Point]) -> str:
    return "M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in map(seen, outline)) + "Z"


def _n(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")
