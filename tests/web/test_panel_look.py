"""A panel's look lays every picture as the definition's table of frames says, seen from either side."""

import re

import pytest

from stockyard.drawings.laid import LaidDefect, LaidStave
from stockyard.timber import Board, Defect, DefectKind, Face, Panel, Window
from stockyard.web.panel_look import panel_look

WINDOW = Window(100, 20, 900, 120)
PANEL = Panel("top", 800, 180, 24, ("spotted gum",), 2, 2, 60, 120)
BOARD = Board("SG-0001", "spotted gum", 2400, 180, 32, 10)


def laid(show: Face, turned: bool, defects: tuple[LaidDefect, ...] = ()) -> LaidStave:
    """The second stave of two, 100 mm wide above one of 80 mm."""
    return LaidStave(2, BOARD, show, turned, WINDOW, WINDOW, 80.0, 180.0, defects)


def address(board: str, face: Face, window: Window) -> str:
    return f"/{board}/{face.value}/{window.x0}"


# The table of section 1: a board point (x, y) lies at (X, Y) within the stave.
LIES = {
    (Face.A, False): lambda x, y: (x - 100, y - 20),
    (Face.A, True): lambda x, y: (900 - x, 120 - y),
    (Face.B, False): lambda x, y: (x - 100, 120 - y),
    (Face.B, True): lambda x, y: (900 - x, y - 20),
}


@pytest.mark.parametrize(("show", "turned"), LIES)
@pytest.mark.parametrize("back", [False, True])
def test_a_picture_lies_where_the_board_lies(show: Face, turned: bool, back: bool) -> None:
    face = show.other if back else show
    look = panel_look(PANEL, [laid(show, turned)], [], {("SG-0001", face)}, address, "told", back=back)
    matrix = re.search(r'<image href="/SG-0001/(.)/100"[^>]*transform="matrix\(([^)]*)\)"', look.svg)
    assert matrix
    assert matrix[1] == face.value
    a, b, c, d, e, f = map(float, matrix[2].split())
    for x, y in ((100, 20), (900, 20), (100, 120), (250, 40)):
        u, v = x - 100, 120 - y  # in the picture, whose first row is the window's far edge
        across, high = LIES[show, turned](x, y)
        seen = (across, (80 + high) if back else 180 - (80 + high))
        assert (a * u + c * v + e, b * u + d * v + f) == seen


def test_a_stave_without_a_picture_is_drawn_and_said() -> None:
    look = panel_look(PANEL, [laid(Face.A, False)], [], {("SG-0001", Face.B)}, address, "told")
    assert look.drawn == (2,)
    assert "<image" not in look.svg
    assert '<rect class="wood" y="0" width="800" height="100"/>' in look.svg


@pytest.mark.parametrize(("back", "keys"), [(False, ["C1"]), (True, ["N2"])])
def test_flaws_are_keyed_on_the_side_they_are_seen_on(back: bool, keys: list[str]) -> None:
    outline = ((10.0, 90.0), (60.0, 90.0), (60.0, 110.0), (10.0, 110.0))
    crack = Defect("SG-0001/1", DefectKind.CRACK, Face.A, outline)
    knot = Defect("SG-0001/2", DefectKind.SOUND_KNOT, Face.B, outline)
    trimmed = Defect("SG-0001/3", DefectKind.SPLIT, Face.A, outline)
    defects = (
        LaidDefect(1, crack, True, False, "thin cyanoacrylate", (outline,)),
        LaidDefect(2, knot, False, True, "", (outline,)),
        LaidDefect(0, trimmed, True, False, "", (outline,)),
    )
    look = panel_look(PANEL, [laid(Face.A, False, defects)], [], (), address, "told", back=back)
    assert re.findall(r'text-anchor="middle">([^<]*)<', look.svg) == keys
    first = "M10 90L60 90" if back else "M10 90L60 90L60 70"
    assert first in look.svg


def test_what_is_told_of_a_panel_cannot_break_out_of_it() -> None:
    look = panel_look(PANEL, [laid(Face.A, False)], [], (), address, '"><script>')
    assert "<script" not in look.svg
