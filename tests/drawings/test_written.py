from hypothesis import given, settings
from hypothesis import strategies as st

from stockyard.drawings.pdf import pdf
from stockyard.drawings.svg import svg
from stockyard.drawings.written import Field, Heading, Listing, Paragraph, Signing, written_sheets
from tests.drawings.paper import assert_self_contained, assert_well_set, read, texts
from tests.drawings.raster import page_sizes_mm, pdf_text

FIELDS = (Field("board", 20, bold=True), Field("what", 60), Field("worth", 20, right=True))
ROWS = [(f"SG-{n:04d}", "wick thin cyanoacrylate into the crack " * (n % 4), f"{n}.00") for n in range(60)]


def test_every_row_of_a_list_is_written_once_and_its_headings_on_every_page():
    pages = written_sheets("hall-bench", "bench sheet", [Heading("List"), Listing(FIELDS, ROWS, tick=True)])
    written = [texts(read(svg(page))) for page in pages]

    assert len(pages) > 1
    assert [text for page in written for text in page if text.startswith("SG-")] == [row[0] for row in ROWS]
    assert all("worth" in page for page in written)
    assert all(f"page {n} of {len(pages)}" in page for n, page in enumerate(written, 1))


def test_pages_are_a4_upright_and_well_set():
    pages = written_sheets(
        "hall-bench",
        "bench sheet",
        [Paragraph("Some words. " * 60), Listing(FIELDS, ROWS), Signing(("by", "date"))],
    )

    assert page_sizes_mm(pdf(pages)) == [(210, 297)] * len(pages)
    for page in pages:
        assert_self_contained(svg(page))
        assert_well_set(read(svg(page)))


def test_no_heading_is_left_alone_at_the_foot_of_a_page():
    for lines in range(40, 60):
        blocks = [*(Paragraph("a line") for _ in range(lines)), Heading("List"), Listing(FIELDS, ROWS[:2])]
        for page in written_sheets("x", "y", blocks):
            written = texts(read(svg(page)))
            assert ("List" in written) == ("SG-0000" in written)


def test_no_list_leaves_its_headings_alone_at_the_foot_of_a_page():
    for lines in range(40, 60):
        blocks = [*(Paragraph("a line") for _ in range(lines)), Listing(FIELDS, ROWS[:2])]
        for page in written_sheets("x", "y", blocks):
            written = texts(read(svg(page)))
            assert ("worth" in written) == any(text.startswith("SG-") for text in written)


def test_the_sum_of_a_list_stands_on_the_page_of_its_last_row():
    for rows in range(30, 60):
        pages = written_sheets("x", "y", [Listing(FIELDS, ROWS[:rows], last=("sum", "", "1.00"))])
        written = texts(read(svg(pages[-1])))
        assert "sum" in written
        assert ROWS[rows - 1][0] in written


def test_a_list_without_rows_is_left_out():
    (page,) = written_sheets("x", "y", [Listing(FIELDS, [])])

    assert "worth" not in texts(read(svg(page)))


def test_the_words_can_be_copied_from_the_pdf():
    pages = written_sheets(
        "hall-bench", "bench sheet", [Paragraph("Guards on, hands clear.")], foot=("left", "")
    )

    assert "Guards on, hands clear." in pdf_text(pdf(pages))[0]


@given(st.lists(st.text(max_size=90), min_size=1, max_size=12))
@settings(max_examples=25, deadline=None)
def test_any_words_stay_on_the_page(said):
    pages = written_sheets(
        "n" * 60, "w", [Listing(FIELDS, [(text, text, text) for text in said]), *map(Paragraph, said)]
    )

    for page in pages:
        root = read(svg(page))
        assert all(
            0 <= float(element.attrib["x"]) <= 210 for element in root.iter() if element.tag.endswith("}text")
        )
