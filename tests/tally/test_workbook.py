import io
import zipfile
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard.errors import BadInput
from stockyard.measures.number import DecimalMark
from stockyard.tally import Tally, TallyOptions, read_tally
from tests.tally.workbooks import a_workbook, repacked, with_cached_value, with_shared_strings

HEADER = ["Species", "Length (mm)", "Width (mm)", "Thickness (mm)", "Qty", "Price per m3", "Amount"]
ROWS = [HEADER, ["Spotted Gum", 2400, 200, 50, 5, 6500, 780], ["Blackbutt", 2400, 150, 38, 5, 5800.0, 396.72]]


def tally_of(content: bytes, **options: object) -> Tally:
    return read_tally(content, "tally.xlsx", TallyOptions(**options))  # type: ignore[arg-type]


def test_a_workbook_is_read_into_lines() -> None:
    tally = tally_of(a_workbook(("Tally", ROWS))).sound()
    assert [(line.row, line.quantity, line.length_mm) for line in tally.lines] == [(2, 5, 2400), (3, 5, 2400)]
    assert [line.purchase for line in tally.lines] == [780, Fraction("396.72")]
    assert tally.sheet == "Tally"


def test_words_kept_in_a_part_of_their_own_are_read() -> None:
    plain = a_workbook(("Tally", ROWS))
    assert tally_of(with_shared_strings(plain)) == tally_of(plain)


def test_the_sheet_that_looks_like_a_tally_is_taken() -> None:
    cover = ("Cover", [["Kettle Creek Sawmill"], ["Docket", 4411]])
    terms = ("Terms", [["Length of credit", "30 days"]])
    assert len(tally_of(a_workbook(cover, ("List", ROWS), terms)).sound().lines) == 2


def test_between_two_tallies_one_must_be_named() -> None:
    book = a_workbook(("Monday", ROWS), ("Tuesday", ROWS[:2]))
    with pytest.raises(BadInput, match="Monday, Tuesday"):
        tally_of(book)
    assert len(tally_of(book, sheet="Tuesday").sound().lines) == 1
    with pytest.raises(BadInput, match="no sheet 'Sunday'"):
        tally_of(book, sheet="Sunday")


def test_a_formula_without_a_computed_value_is_a_fault_that_says_so() -> None:
    tally = tally_of(a_workbook(("Tally", [HEADER, ["Oak", 2400, 200, 50, 5, 6500, "=E2*F2*0.024"]])))
    (fault,) = tally.faults
    assert fault.where == "row 2, column G (Amount)"
    assert "save it" in fault.expected
    assert "=E2*F2*0.024" in fault.found


def test_a_formulas_computed_value_is_taken_and_rounded_as_it_is_shown() -> None:
    book = a_workbook(("Tally", [HEADER, ["Oak", 2400, 150, 38, 1, 5800, "=E2*F2*0.01368"]]))
    tally = tally_of(with_cached_value(book, "E2*F2*0.01368", "79.344")).sound()
    assert tally.lines[0].amount == Decimal("79.34")
    assert "rounded" in str(tally.warnings[0])


def test_an_error_of_the_spreadsheet_is_a_fault() -> None:
    tally = tally_of(a_workbook(("Tally", [HEADER, ["Oak", 2400, "#REF!", 50, 5, 6500, 780]])))
    assert "row 2, column C (Width (mm)): expected a value, not an error" in str(tally.faults[0])


def test_a_quarter_thickness_that_became_a_date_is_a_fault_that_says_so() -> None:
    tally = tally_of(a_workbook(("Tally", [HEADER, ["Oak", 2400, 200, date(2026, 4, 5), 5, 6500, 780]])))
    assert "made a date of it" in str(tally.faults[0])


def test_headers_merged_over_their_columns_give_their_unit() -> None:
    rows = [
        ["Species", "Size (mm)", None, None, "Price"],
        [None, "L", "W", "T", "each"],
        ["Oak", 2400, 200, 50, 10],
    ]
    tally = tally_of(a_workbook(("Tally", rows), merged=["B1:D1", "A1:A2"])).sound()
    assert (tally.lines[0].length_mm, tally.lines[0].thickness_mm) == (2400, 50)


def test_a_species_merged_down_over_its_rows_is_that_of_each() -> None:
    rows = [HEADER, ["Oak", 2400, 200, 50, 5, 6500, 780], [None, 2400, 150, 38, 5, 5800, 396.72]]
    tally = tally_of(a_workbook(("Tally", rows), merged=["A2:A3"])).sound()
    assert [line.species for line in tally.lines] == ["Oak", "Oak"]


def test_numbers_in_a_workbook_need_no_decimal_mark_and_keep_fifteen_figures() -> None:
    rows = [["Species", "L (m)", "W mm", "T mm", "Price each"], ["Oak", 0.1 + 0.2, 200, 50, 10]]
    tally = tally_of(a_workbook(("T", rows)), decimal_mark=DecimalMark.COMMA).sound()
    assert tally.lines[0].length_mm == 300


def test_moisture_shown_as_percent_is_read_as_percent() -> None:
    rows = [["Species", "L mm", "W mm", "T mm", "MC", "Price each"], ["Oak", 2400, 200, 50, 0.115, 10]]
    assert tally_of(a_workbook(("T", rows))).sound().lines[0].moisture_pct == Decimal("11.5")


def test_what_a_workbook_says_goes_before_its_name() -> None:
    assert len(read_tally(a_workbook(("T", ROWS)), "tally.csv").sound().lines) == 2


def test_an_empty_workbook_is_refused() -> None:
    with pytest.raises(BadInput, match="no cells"):
        tally_of(a_workbook(("T", [])))


def test_old_and_locked_and_foreign_workbooks_are_told_apart() -> None:
    ole = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
    with pytest.raises(BadInput, match=r"old \.xls"):
        tally_of(ole + b"\x00" * 600)
    with pytest.raises(BadInput, match="password"):
        tally_of(ole + b"\x00" * 600 + "EncryptedPackage".encode("utf-16-le"))
    for part, says in [
        ("mimetype", "OpenDocument"),
        ("xl/workbook.bin", "xlsb"),
        ("readme.txt", "not an .xlsx"),
    ]:
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w") as archive:
            archive.writestr(part, b"x")
        with pytest.raises(BadInput, match=says):
            tally_of(out.getvalue())


def test_a_locked_archive_is_refused() -> None:
    content = bytearray(a_workbook(("T", ROWS)))
    for start in (b"PK\x03\x04", b"PK\x01\x02"):
        at = content.find(start)
        content[at + (6 if start.endswith(b"\x03\x04") else 8)] |= 1
    with pytest.raises(BadInput, match="password"):
        tally_of(bytes(content))


def test_a_workbook_cut_short_is_refused() -> None:
    content = a_workbook(("T", ROWS))
    for length in (10, 100, len(content) // 2, len(content) - 1):
        with pytest.raises(BadInput):
            tally_of(content[:length])


def test_a_bomb_is_refused_before_it_is_unpacked() -> None:
    def grow(name: str, part: bytes) -> bytes:
        return part + b" " * 60_000_000 if name.startswith("xl/worksheets/") else part

    with pytest.raises(BadInput, match="times its size"):
        tally_of(repacked(a_workbook(("T", ROWS)), grow))


def test_a_bomb_of_many_parts_is_refused() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("[Content_Types].xml", b"<x/>")
        for index in range(2_001):
            archive.writestr(f"{index}.xml", b"")
    with pytest.raises(BadInput, match="parts"):
        tally_of(out.getvalue())


def test_a_part_that_lies_about_its_size_is_refused() -> None:
    content = bytearray(a_workbook(("T", ROWS)))
    at = content.rfind(b"xl/worksheets/sheet1.xml") - 46
    assert content[at : at + 4] == b"PK\x01\x02"
    content[at + 24 : at + 28] = (5).to_bytes(4, "little")
    with pytest.raises(BadInput):
        tally_of(bytes(content))


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16-le"])
def test_entities_are_refused(encoding: str) -> None:
    def poison(name: str, part: bytes) -> bytes:
        if not name.startswith("xl/worksheets/"):
            return part
        return '<!DOCTYPE a [<!ENTITY b "cc">]>'.encode(encoding) + part

    with pytest.raises(BadInput, match="entities"):
        tally_of(repacked(a_workbook(("T", ROWS)), poison))


@pytest.mark.parametrize("size", [b"A1:XFD1048576", b"A1:A1", b"B2:C3"])
def test_the_size_a_sheet_declares_is_not_believed(size: bytes) -> None:
    def lie(name: str, part: bytes) -> bytes:
        return part.replace(b'<dimension ref="A1:G3"', b'<dimension ref="' + size + b'"')

    content = a_workbook(("T", ROWS))
    lied = repacked(content, lie)
    assert len(tally_of(lied).sound().lines) == 2


def test_cells_far_outside_are_refused_or_ignored() -> None:
    def far(name: str, part: bytes) -> bytes:
        return part.replace(b'r="G3"', b'r="XFD3"')

    with pytest.raises(BadInput, match="columns"):
        tally_of(repacked(a_workbook(("T", ROWS)), far))

    def deep(name: str, part: bytes) -> bytes:
        return part.replace(b'<row r="3"', b'<row r="99999999"')

    with pytest.raises(BadInput, match="below row"):
        tally_of(repacked(a_workbook(("T", ROWS)), deep))


def test_too_many_merged_cells_are_refused() -> None:
    def merge(name: str, part: bytes) -> bytes:
        areas = b"".join(b'<mergeCell ref="A1:IV1048576"/>' for _ in range(1000))
        return part.replace(b"</sheetData>", b"</sheetData><mergeCells>" + areas + b"</mergeCells>")

    with pytest.raises(BadInput, match="merged"):
        tally_of(repacked(a_workbook(("T", [[*row] for row in ROWS * 300])), merge))


@pytest.mark.parametrize("missing", ["xl/workbook.xml", "xl/worksheets/sheet1.xml", "xl/sharedStrings.xml"])
def test_a_workbook_with_a_part_missing_is_refused(missing: str) -> None:
    whole = with_shared_strings(a_workbook(("T", ROWS)))
    content = repacked(whole, lambda name, part: None if name == missing else part)
    with pytest.raises(BadInput):
        tally_of(content).sound()


GOOD = a_workbook(("T", ROWS))
SHARED = with_shared_strings(GOOD)


@given(st.integers(0, len(GOOD) - 1), st.integers(0, 255))
def test_any_changed_byte_leaves_a_tally_or_bad_input(at: int, byte: int) -> None:
    changed = GOOD[:at] + bytes([byte]) + GOOD[at + 1 :]
    try:
        tally_of(changed)
    except BadInput:
        return


@given(
    st.sampled_from(["xl/worksheets/sheet1.xml", "xl/workbook.xml", "xl/styles.xml", "xl/sharedStrings.xml"]),
    st.data(),
)
def test_any_changed_part_leaves_a_tally_or_bad_input(name: str, data: st.DataObject) -> None:
    def spoil(part_name: str, part: bytes) -> bytes:
        if part_name != name:
            return part
        at = data.draw(st.integers(0, len(part)))
        return part[:at] + data.draw(st.binary(max_size=6)) + part[at + data.draw(st.integers(0, 9)) :]

    try:
        tally_of(repacked(SHARED, spoil))
    except BadInput:
        return


@given(
    st.lists(
        st.lists(
            st.one_of(
                st.none(), st.integers(-(10**12), 10**12), st.floats(allow_nan=False), st.booleans(),
                st.dates(date(1901, 1, 1)),
                st.text(st.characters(exclude_categories=["Cc", "Cs", "Cn"]), max_size=8),
            ),
            max_size=8,
        ),
        max_size=6,
    )
)  # fmt: skip
def test_any_cells_of_a_workbook_are_lines_or_faults(rows: list[list[object]]) -> None:
    try:
        tally = tally_of(a_workbook(("T", [HEADER, *rows])))
    except BadInput:
        return
    assert all(line.quantity >= 1 for line in tally.lines)
