import cv2
import numpy as np
import pytest

from stockyard.drawings.label import A4_STOCKS, Label, LabelStock, label_sheets, stock_named
from stockyard.drawings.pdf import pdf
from stockyard.drawings.svg import svg
from stockyard.errors import BadInput
from tests.drawings.paper import assert_well_set, read, texts
from tests.drawings.raster import PX_PER_MM, page_sizes_mm, pdf_pages, pdf_text, spans_mm

LINES = ("spotted gum", "2400 × 180 × 32 mm", "docket 20418", "Quandong Siding Sawmill")


def some(count):
    return [Label(f"SG-{n:04d}", f"SG-{n:04d}", LINES) for n in range(1, count + 1)]


def decoded(page):
    """What OpenCV reads in a picture of one label, a little white around it as on any table."""
    text, *_ = cv2.QRCodeDetector().detectAndDecode(
        cv2.copyMakeBorder(page, 20, 20, 20, 20, cv2.BORDER_CONSTANT, value=255)
    )
    return text


def label_pictures(stock, page):
    for left, top in stock.corners:
        x, y = round(left * PX_PER_MM), round(top * PX_PER_MM)
        yield np.ascontiguousarray(
            page[y : y + round(stock.height_mm * PX_PER_MM), x : x + round(stock.width_mm * PX_PER_MM)]
        )


@pytest.mark.parametrize("stock", A4_STOCKS, ids=lambda stock: stock.name)
def test_every_code_of_a_sheet_is_read_as_its_number(stock):
    count = len(stock.corners)
    (page,) = pdf_pages(pdf(label_sheets(some(count), stock)))

    assert [decoded(picture) for picture in label_pictures(stock, page)] == [
        label.number for label in some(count)
    ]


@pytest.mark.parametrize("size", ["62x29", "50x25", "100x150", "89x36"])
def test_a_single_label_is_read_at_the_resolution_of_a_label_printer(size):
    stock = stock_named(size, single=True)
    document = pdf(label_sheets(some(2), stock))

    assert page_sizes_mm(document) == [(stock.width_mm, stock.height_mm)] * 2
    pages = [np.where(page < 128, 0, 255).astype(np.uint8) for page in pdf_pages(document, 203)]
    assert [decoded(page) for page in pages] == ["SG-0001", "SG-0002"]


def test_an_address_before_the_number_is_read_whole():
    label = Label("SG-0001", "https://yard.example/boards/SG-0001", LINES)
    (page,) = pdf_pages(pdf(label_sheets([label], stock_named("63.5x38.1"))))

    assert decoded(page[: round(60 * PX_PER_MM), : round(75 * PX_PER_MM)]) == label.code


@pytest.mark.parametrize("stock", A4_STOCKS, ids=lambda stock: stock.name)
def test_labels_lie_on_the_page_where_the_sheet_has_them(stock):
    """Measured on the printed page: the outlines' distances are the labels' own sizes, margins even."""
    (sheet,) = label_sheets(some(len(stock.corners)), stock, outlined=True)
    (page,) = pdf_pages(pdf([sheet]))
    wide = stock.columns * stock.width_mm + (stock.columns - 1) * stock.across_mm
    left, top = (210 - wide) / 2, (297 - stock.rows * stock.height_mm) / 2
    assert left >= 0
    assert top >= 0
    ink = page < 200
    across = ink[round((top + stock.height_mm / 2) * PX_PER_MM)]
    lines = [(a + b) / 2 for a, b in spans_mm(across) if b - a < 0.3]
    for column in range(stock.columns):
        x = left + column * (stock.width_mm + stock.across_mm)
        assert left == 0 or min(abs(line - x) for line in lines) < 0.15
        assert x + stock.width_mm > 209.8 or min(abs(line - x - stock.width_mm) for line in lines) < 0.15


def test_the_number_and_what_the_board_is_can_be_read():
    (sheet,) = label_sheets(some(3), stock_named("70x37"))

    assert_well_set(read(svg(sheet)))
    (text,) = pdf_text(pdf([sheet]))
    assert "SG-0003" in text
    assert texts(read(svg(sheet))).count("2400 × 180 × 32 mm") == 3


def test_used_labels_are_skipped_and_a_full_sheet_is_followed_by_another():
    stock = stock_named("105x74")
    sheets = label_sheets(some(8), stock, skip=3)

    assert len(sheets) == 2
    assert [len(sheet.marks) for sheet in sheets] == [5, 3]


@pytest.mark.parametrize("size", ["70", "70x", "70x36", "axb", "0x0", "70x37x2"])
def test_a_size_that_is_on_no_sheet_is_refused_with_those_that_are(size):
    with pytest.raises(BadInput) as refused:
        stock_named(size)

    assert refused.value.faults[0].found == repr(size)


@pytest.mark.parametrize("size", ["5x5", "300x40", "nanx30"])
def test_a_single_label_that_no_printer_takes_is_refused(size):
    with pytest.raises(BadInput):
        stock_named(size, single=True)


def test_a_label_too_small_for_its_code_is_refused():
    with pytest.raises(BadInput, match="too small for its code"):
        label_sheets([Label("SG-0001", "x" * 300)], LabelStock(40, 20))


@pytest.mark.parametrize(("count", "skip"), [(0, 0), (1, -1), (1, 24)])
def test_nothing_to_print_is_refused(count, skip):
    with pytest.raises(BadInput):
        label_sheets(some(count), A4_STOCKS[0], skip)
