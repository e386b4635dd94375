import codecs
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard.errors import BadInput
from stockyard.tally import Tally, TallyOptions, read_tally
from stockyard.tally.text_file import decoded, text_sheets

TEXT = "Species,Length mm,Width mm,Thick mm,Price each,Note\nEucalypt – Öl,2400,200,50,10.00,café\n"


def species_of(content: bytes) -> tuple[str, str]:
    (line,) = read_tally(content, "tally.csv").sound().lines
    return line.species, line.note


@pytest.mark.parametrize(
    ("bom", "encoding"),
    [
        (b"", "utf-8"),
        (codecs.BOM_UTF8, "utf-8"),
        (codecs.BOM_UTF16_LE, "utf-16-le"),
        (codecs.BOM_UTF16_BE, "utf-16-be"),
        (codecs.BOM_UTF32_LE, "utf-32-le"),
        (b"", "utf-16-le"),
        (b"", "utf-16-be"),
        (b"", "cp1252"),
    ],
)
def test_every_common_encoding_is_found(bom: bytes, encoding: str) -> None:
    assert species_of(bom + TEXT.encode(encoding)) == ("Eucalypt – Öl", "café")


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_every_common_delimiter_and_line_end_is_found(delimiter: str, newline: str) -> None:
    text = TEXT.replace(",", delimiter).replace("\n", newline)
    assert species_of(text.encode()) == ("Eucalypt – Öl", "café")


def test_the_line_in_which_a_spreadsheet_names_its_delimiter_is_no_row() -> None:
    tally = read_tally(("sep=;\n" + TEXT.replace(",", ";")).encode(), "tally.csv").sound()
    assert tally.header_row == 2
    assert tally.lines[0].row == 3


def test_cells_in_quotation_marks_may_hold_delimiters_marks_and_line_ends() -> None:
    noted = 'Oak,"2,400",200,50,10,"two\nlines, and ""marks"""'
    text = f"Species,L mm,W mm,T mm,Price each,Note\n{noted}\nOak,1200,90,20,5,\n"
    tally = read_tally(text.encode(), "tally.csv").sound()
    assert tally.lines[0].length_mm == 2400
    assert tally.lines[0].note == 'two lines, and "marks"'
    assert [line.row for line in tally.lines] == [2, 4]


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "empty"),
        (b" \r\n\t\n", "empty"),
        (b"\x00\x00\x00\x00", "empty"),
        (b"Species,Length\x07\nOak,2400\n", "control character"),
        (b"Species,L\x81nge\n", "UTF-8"),
        (b"\xff\xfeabc", "UTF-8"),
        (b"%PDF-1.7 ...", "PDF"),
        (b"\x89PNG\r\n", "picture"),
        (b"<!DOCTYPE html><table>", "web page"),
        (b"\xef\xbb\xbf<?xml version='1.0'?>", "XML"),
        (b'Species,"Length\nOak,2400\n', "quotation mark"),
        (b"hello\nworld\n", "no row of headers"),
        (b"a,b,c\n1,2,3\n", "no row of headers"),
    ],
)
def test_what_is_no_tally_is_told_in_a_sentence(content: bytes, says: str) -> None:
    with pytest.raises(BadInput, match=says):
        read_tally(content, "tally.csv")


@pytest.mark.parametrize(
    "content",
    [
        b"x" * (32 * 1024 * 1024 + 1),
        b"a\n" * 100_001,
        b"," * 300 + b"\n",
        b'"' + b"x" * 200_000 + b'"\n',
    ],
    ids=["bytes", "rows", "columns", "cell"],
)
def test_what_is_too_big_is_refused(content: bytes) -> None:
    with pytest.raises(BadInput):
        read_tally(content, "tally.csv")


def test_words_with_signs_that_cannot_be_seen_are_cleaned_or_refused() -> None:
    clean = read_tally(TEXT.replace("café", "ca\u200bfé\u00a0").encode(), "tally.csv").sound()
    assert clean.lines[0].note == "café"
    private = read_tally(TEXT.replace("café", "\ue000").encode(), "tally.csv")
    assert "control characters" in str(private.faults[0])


@given(st.text(alphabet=st.characters(exclude_categories=["Cc", "Cs"]), max_size=200))
def test_text_comes_back_from_utf_8_and_utf_16(text: str) -> None:
    assert decoded(codecs.BOM_UTF8 + text.encode(), "t") == text
    assert decoded(codecs.BOM_UTF16_BE + text.encode("utf-16-be"), "t") == text


def read_or_refused(content: bytes) -> Tally | None:
    try:
        return read_tally(content, "t.csv", TallyOptions())
    except BadInput:
        return None


@given(st.binary(max_size=400))
def test_any_bytes_are_a_tally_or_bad_input(content: bytes) -> None:
    read_or_refused(content)


CELL = st.one_of(
    st.text(max_size=12),
    st.sampled_from(
        ["2400", "2,400", "200 x 50", "8'6\"", "5/4", "Oak", "Total", "Freight", "-", '"', "1.5", "NaN",
         "1e9", "$5/lm", "=A1", "inf", "0", "9" * 30, "10%", "½"]
    ),
)  # fmt: skip
HEADER = "Species,Length mm,Section,W,T (in),Qty,LM,m3,Price,Amount ex GST,MC,Note"


@given(st.lists(st.lists(CELL, max_size=13), max_size=8))
def test_any_cells_below_a_header_are_lines_or_faults(rows: list[list[str]]) -> None:
    body = "\n".join(",".join('"' + cell.replace('"', '""') + '"' for cell in row) for row in rows)
    tally = read_or_refused(f"{HEADER}\n{body}\n".encode("utf-8", "replace"))
    if tally is None:
        return
    for line in tally.lines:
        assert line.quantity >= 1
        assert all(
            Decimal("0.5") <= size <= 20000 for size in (line.length_mm, line.width_mm, line.thickness_mm)
        )
        assert line.purchase is None or line.purchase >= 0
        assert line.species


@given(st.lists(st.text(max_size=15), min_size=1, max_size=8), st.lists(CELL, max_size=8))
def test_any_header_is_understood_or_refused(header: list[str], row: list[str]) -> None:
    text = "\n".join("\t".join(cell.replace("\t", " ") for cell in cells) for cells in (header, row))
    for sheet in _sheets_or_none(text.encode("utf-8", "replace")):
        assert sheet
    read_or_refused(text.encode("utf-8", "replace"))


def _sheets_or_none(content: bytes) -> list[object]:
    try:
        return list(text_sheets(content, "t"))
    except BadInput:
        return []


SIZES = st.tuples(st.integers(300, 6000), st.integers(40, 600), st.integers(10, 100), st.integers(1, 40))


@given(st.lists(SIZES, min_size=1, max_size=20), st.sampled_from(list(",;\t|")), st.booleans())
def test_lines_written_out_come_back_in_every_dialect(
    boards: list[tuple[int, int, int, int]], delimiter: str, comma: bool
) -> None:
    rows = [["Species", "L (m)", "W (mm)", "T (cm)", "Pcs", "Price each"]]
    for length, width, thickness, count in boards:
        figures = [f"{length / 1000:.3f}", str(width), f"{thickness / 10:.1f}", str(count), "12.50"]
        rows.append(["Oak", *([f.replace(".", ",") for f in figures] if comma else figures)])
    rows.append(["Total", "", "", "", str(sum(count for *_, count in boards)), ""])
    text = "\n".join(delimiter.join(f'"{cell}"' for cell in row) for row in rows)
    tally = read_tally(text.encode(), "t.csv").sound()
    assert [
        (line.length_mm, line.width_mm, line.thickness_mm, line.quantity) for line in tally.lines
    ] == boards
    assert sum(line.purchase or 0 for line in tally.lines) == Decimal("12.50") * tally.pieces
