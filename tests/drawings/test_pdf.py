from math import radians, tan

import numpy as np
import pytest

from stockyard.drawings.board_map import board_sheets
from stockyard.drawings.callouts import KEY_MM
from stockyard.drawings.cut_map import cut_sheets
from stockyard.drawings.fonts import font_name
from stockyard.drawings.hatches import HATCHES
from stockyard.drawings.kinds import HATCH_OF
from stockyard.drawings.panel_layout import panel_sheets
from stockyard.drawings.pdf import pdf
from stockyard.drawings.sheet import Boxes, Group, Line, Pen, Shape, Sheet, Words, rectangle
from stockyard.drawings.svg import svg
from stockyard.timber import DefectKind, Face
from tests.builders import a_board, a_box, a_defect, a_job, a_panel
from tests.drawings.plans import Wanted, a_plan
from tests.drawings.raster import PX_PER_MM, dark, page_sizes_mm, pdf_pages, pdf_text, spans_mm, svg_page

KINDS = [
    a_defect(id=f"d{n}", kind=kind, face=Face.BOTH, outline=a_box(60 + 150 * n, 30, 160 + 150 * n, 110))
    for n, kind in enumerate(DefectKind)
]
MAPPED = a_board(defects=tuple(KINDS))
ONE, TWO = (
    a_board(id="SG-0001"),
    a_board(id="SG-0002", defects=(a_defect(id="c", outline=a_box(300, 40, 400, 44)),)),
)
PLAN = a_plan(a_job(a_panel()), {"top": [Wanted(ONE, 190 - 20), Wanted(TWO, 190 - 20, treat=("c",))]})
BOARDS = {board.id: board for board in (ONE, TWO)}


def a_sheet(*marks, width=100.0, height=80.0):
    return Sheet("a sheet", "spoken", width, height, list(marks))


def every_sheet():
    return [
        board_sheets(MAPPED)[0],
        cut_sheets(PLAN, TWO)[0],
        panel_sheets(PLAN, "top", BOARDS)[0],
    ]


@pytest.mark.parametrize("sheet", every_sheet(), ids=["board", "cuts", "panel"])
def test_the_pdf_and_the_svg_of_a_sheet_are_the_same_picture(sheet):
    apart = _apart(pdf_pages(pdf([sheet]), 150)[0], svg_page(svg(sheet), 150))

    assert apart.max() < 45
    assert apart.mean() < 1.5


def test_a_picture_that_lacks_a_word_is_not_the_same():
    sheet = every_sheet()[2]
    whole = svg_page(svg(sheet), 150)
    del sheet.marks[0]

    assert _apart(pdf_pages(pdf([sheet]), 150)[0], whole).max() > 60


def _apart(one, other):
    """How far two pages differ, by neighbourhoods of 2 mm: two renderers smooth edges differently."""
    tall, wide = (min(sides) // 12 * 12 for sides in zip(one.shape, other.shape, strict=True))
    means = [
        page[:tall, :wide].astype(float).reshape(tall // 12, 12, wide // 12, 12).mean(axis=(1, 3))
        for page in (one, other)
    ]
    return np.abs(means[0] - means[1])


@pytest.mark.parametrize("sheet", every_sheet(), ids=["board", "cuts", "panel"])
def test_the_check_ruler_is_fifty_millimetres_long_on_paper(sheet):
    (page,) = pdf_pages(pdf([sheet]))
    band = dark(page, 180, sheet.height_mm - 6.6, sheet.width_mm - 5, sheet.height_mm - 6.4).any(axis=0)

    longest = max(spans_mm(band), key=lambda span: span[1] - span[0])
    assert longest[1] - longest[0] == pytest.approx(50, abs=0.3)


def test_a_board_measures_on_paper_what_its_scale_says():
    (page,) = pdf_pages(pdf(board_sheets(a_board(length_mm=2400, width_mm=180))))
    # Only the sides of the faces are upright lines of more than 14 mm.
    ink = page < 128
    upright = [
        column / PX_PER_MM
        for column in range(ink.shape[1])
        if any(b - a > 14 for a, b in spans_mm(ink[:, column]))
    ]
    left, right = min(upright), max(upright)
    assert right - left == pytest.approx(2400 / 10, abs=0.4)


def test_pages_are_as_large_as_their_sheets():
    document = pdf([a_sheet(), a_sheet(width=210.0, height=297.0)])

    assert page_sizes_mm(document) == [(100, 80), (210, 297)]


def test_a_line_and_a_shape_stand_where_the_sheet_says():
    (page,) = pdf_pages(
        pdf(
            [a_sheet(Line(((10, 20), (70, 20)), Pen(0.5)), Shape(rectangle(20, 40, 50, 60), None, "#000000"))]
        )
    )

    ((start, end),) = spans_mm(dark(page, 0, 19.9, 100, 20.1).any(axis=0))
    assert (start, end) == (pytest.approx(10, abs=0.15), pytest.approx(70, abs=0.15))
    ((top, bottom),) = spans_mm(dark(page, 30, 30, 40, 70).any(axis=1))
    assert (top, bottom) == (pytest.approx(10, abs=0.15), pytest.approx(30, abs=0.15))


def test_boxes_meet_without_a_seam():
    marks = Boxes(tuple((10 + n / 3, 10, 10 + (n + 1) / 3, 30) for n in range(60)))
    (page,) = pdf_pages(pdf([a_sheet(marks)]), 203)

    assert page[100:200, 100:220].max() < 128


def test_what_is_written_can_be_copied_whatever_its_script():
    words = ["2400 × 180", "310 – 455", "Żółć åß", "ящик", "ξύλο", "–1 °C ≤ 5"]
    (text,) = pdf_text(pdf([a_sheet(*(Words(10, 10 + 8 * n, word, 4) for n, word in enumerate(words)))]))

    assert all(word in text for word in words)


def test_control_characters_leave_no_trace():
    (text,) = pdf_text(pdf([a_sheet(Words(10, 10, "a\x00b\x1b", 4))]))

    assert text.strip() == "a b"


def test_its_fonts_are_in_the_file():
    document = pdf([a_sheet(Words(10, 10, "plain", 4), Words(10, 20, "bold", 4, bold=True, serif=True))])

    assert document.count(b"/FontFile2") == 2


def test_the_same_sheets_give_the_same_bytes():
    assert pdf(every_sheet()) == pdf(every_sheet())


def test_hatches_differ_in_black_and_white():
    hatches = sorted({HATCH_OF[kind] for kind in DefectKind})
    marks = [
        Shape(
            rectangle(5 + 20 * (n % 5), 5 + 20 * (n // 5), 20 + 20 * (n % 5), 20 + 20 * (n // 5)),
            None,
            "#ffffff",
            hatch,
        )
        for n, hatch in enumerate(hatches)
    ]
    (page,) = pdf_pages(pdf([a_sheet(*marks, width=110, height=80)]))
    swatches = [
        dark(page, 6 + 20 * (n % 5), 6 + 20 * (n // 5), 19 + 20 * (n % 5), 19 + 20 * (n // 5))
        for n in range(len(hatches))
    ]

    assert all(swatch.any() for swatch in swatches)
    for n, one in enumerate(swatches):
        for other in swatches[:n]:
            high, wide = (min(a, b) for a, b in zip(one.shape, other.shape, strict=True))
            # compared by how their ink lies along four directions, which a shift does not change
            assert not np.allclose(
                _directions(one[:high, :wide]), _directions(other[:high, :wide]), atol=0.02
            )


def _directions(ink):
    lags = ((0, 5), (5, 0), (5, 5), (5, -5), (0, 9), (9, 0), (9, 9), (9, -9))
    return [ink.mean(), *((ink & np.roll(ink, lag, axis=(0, 1))).mean() for lag in lags)]


def test_every_hatch_is_drawn_inside_its_shape_only():
    for name in HATCHES:
        (page,) = pdf_pages(pdf([a_sheet(Shape(rectangle(30, 30, 60, 50), None, "#ffffff", name))]), 150)
        ink = page < 250
        assert ink[180:292, 180:352].any(), name
        ink[175:297, 175:357] = False
        assert not ink.any(), name


def test_a_key_is_read_from_two_metres():
    from reportlab.pdfbase.pdfmetrics import getFont

    # Five minutes of arc, the letters of the line of normal sight on an eye chart (ISO 8596: an optotype of
    # visual acuity 1,0 subtends 5'), at two metres.
    needed = 2000 * tan(radians(5 / 60))
    capital = getFont(font_name(bold=True)).face.capHeight / 1000
    keys = [
        words.size_mm
        for sheet in every_sheet()
        for words in _words(sheet.marks)
        if words.bold
        and words.text[:1] in "CKLHBNUVGRWDPST"
        and words.text[1:].isdigit()
        and words.anchor == "middle"
    ]

    assert len(keys) >= 2 * len(KINDS)
    assert min(keys) * capital >= needed
    assert KEY_MM * capital >= needed


def _words(marks):
    for mark in marks:
        if isinstance(mark, Group):
            yield from _words(mark.marks)
        elif isinstance(mark, Words):
            yield mark
