from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from stockyard.errors import BadInput
from stockyard.measures.length import LengthUnit
from stockyard.measures.number import DecimalMark
from stockyard.measures.price import PriceUnit
from stockyard.tally import Measure, Role, Tally, TallyLine, TallyOptions, read_tally

PLAIN = """Species,Length (mm),Width (mm),Thickness (mm),Qty,Price per m3,Amount
Spotted Gum,2400,200,50,5,6500,780.00
Blackbutt,2400,150,38,5,5800,396.72
Total,,,,10,,1176.72
"""


def tally_of(text: str, **options: object) -> Tally:
    return read_tally(text.encode(), "tally.csv", replace(TallyOptions(), **options))  # type: ignore[arg-type]


def sizes(tally: Tally) -> list[tuple[int, Decimal, Decimal, Decimal]]:
    tally.sound()
    return [(line.quantity, line.length_mm, line.width_mm, line.thickness_mm) for line in tally.lines]


def roles(tally: Tally) -> dict[str, Role]:
    return {column.header: column.role for column in tally.columns}


def faults(tally: Tally) -> str:
    return "\n".join(str(fault) for fault in tally.faults)


def the_line(tally: Tally) -> TallyLine:
    (line,) = tally.sound().lines
    return line


def test_a_plain_tally_is_read_into_lines() -> None:
    tally = tally_of(PLAIN).sound()
    assert sizes(tally) == [(5, 2400, 200, 50), (5, 2400, 150, 38)]
    assert [line.species for line in tally.lines] == ["Spotted Gum", "Blackbutt"]
    assert [line.purchase for line in tally.lines] == [780, Fraction("396.72")]
    assert [line.row for line in tally.lines] == [2, 3]
    assert tally.pieces == 10
    assert tally.volume_mm3 == Decimal("0.1884") * 10**9


def test_what_every_column_was_taken_for_is_told() -> None:
    told = [(c.column, c.header, c.role, c.unit) for c in tally_of(PLAIN).columns]
    assert told == [
        ("A", "Species", Role.SPECIES, ""),
        ("B", "Length (mm)", Role.LENGTH, "mm"),
        ("C", "Width (mm)", Role.WIDTH, "mm"),
        ("D", "Thickness (mm)", Role.THICKNESS, "mm"),
        ("E", "Qty", Role.QUANTITY, ""),
        ("F", "Price per m3", Role.PRICE, "AUD per m3"),
        ("G", "Amount", Role.AMOUNT, "AUD"),
    ]


def test_a_price_alone_gives_the_rows_money_exactly() -> None:
    tally = tally_of("Timber,L mm,W mm,T mm,$/m3\nJarrah,2400,150,38,5800\n")
    assert the_line(tally).purchase == Fraction("79.344")
    assert the_line(tally).quantity == 1


@pytest.mark.parametrize(
    ("header", "price", "wanted"),
    [
        ("$/lm", "65.00", "156"),
        ("Rate per lineal metre", "65", "156"),
        ("Price/m3", "6500", "156"),
        ("Price (m³)", "6500", "156"),
        ("Price each", "156.00", "156"),
        ("$ per piece", "156", "156"),
        ("Price", "$65.00/lm", "156"),
        ("Price", "6500 per m3", "156"),
        ("Rate", "156.00 ea", "156"),
        ("Unit price", "AUD 6,500.00/m3", "156"),
    ],
)
def test_the_price_unit_comes_from_the_header_or_the_cell(header: str, price: str, wanted: str) -> None:
    tally = tally_of(f'Species,Length mm,Width mm,Thick mm,{header}\nOak,2400,200,50,"{price}"\n')
    assert the_line(tally).purchase == Fraction(wanted)


# One board foot is 144 cubic inches; the super foot is as large (spikevm.com/list/timber-volume-units.php).
@pytest.mark.parametrize(
    ("header", "price", "unit"),
    [
        ("$/BF", "12.00", PriceUnit.BOARD_FOOT),
        ("Price per bd ft", "12.00", PriceUnit.BOARD_FOOT),
        ("$/MBF", "12000", PriceUnit.THOUSAND_BOARD_FEET),
        ("per 100 super feet price", "1200", PriceUnit.HUNDRED_SUPER_FEET),
        ("Price /100 super ft", "1200", PriceUnit.HUNDRED_SUPER_FEET),
    ],
)
def test_board_feet_and_super_feet_are_priced_alike(header: str, price: str, unit: PriceUnit) -> None:
    tally = tally_of(f"Species,Length,Width,Thickness,{header}\nWalnut,8 ft,6 in,2 in,{price}\n")
    line = the_line(tally)
    assert line.price_unit is unit
    assert line.purchase == 96


def test_a_column_of_price_units_tells_each_rows_own() -> None:
    tally = tally_of(
        "Species,Length mm,Width mm,Thick mm,Price,UOM\nOak,2400,200,50,65,LM\nOak,2400,200,50,6500,m3\n"
        "Oak,2400,200,50,156,EA\n"
    )
    assert [line.purchase for line in tally.sound().lines] == [156, 156, 156]


def test_the_price_for_the_whole_sheet_can_be_said() -> None:
    text = "Species,Length mm,Width mm,Thick mm\nOak,2400,200,50\n"
    tally = tally_of(text, price=Decimal(65), price_unit=PriceUnit.LINEAL_METRE)
    assert the_line(tally).purchase == 156


def test_a_price_for_nobody_knows_what_is_a_fault_said_once() -> None:
    tally = tally_of("Species,Length mm,Width mm,Thick mm,Price\nOak,2400,200,50,65\nOak,2400,200,50,65\n")
    assert faults(tally).count("what the price is for") == 1


def test_lines_without_any_money_are_a_fault_unless_a_lot_total_is_given() -> None:
    text = "Species,Length mm,Width mm,Thick mm\nOak,2400,200,50\nOak,1200,200,50\n"
    assert "a price or an amount" in faults(tally_of(text))
    tally = tally_of(text, lot_total=Decimal("300.00")).sound()
    assert (tally.lot_total, [line.purchase for line in tally.lines]) == (300, [None, None])


def test_a_total_of_money_over_unpriced_lines_is_the_price_of_the_lot() -> None:
    tally = tally_of(
        "Species,Length mm,Width mm,Thick mm,Amount\nOak,2400,200,50,\nOak,1200,200,50,\nTotal,,,,300.00\n"
    )
    assert tally.sound().lot_total == 300


def test_a_lot_total_beside_priced_lines_is_refused() -> None:
    assert "no lot total" in faults(tally_of(PLAIN, lot_total=Decimal(5)))


def test_some_lines_without_money_among_others_are_each_a_fault() -> None:
    tally = tally_of("Species,Length mm,Width mm,Thick mm,$/m3\nOak,2400,200,50,6500\nOak,2400,200,50,\n")
    assert "row 3: expected a price or an amount" in faults(tally)


@pytest.mark.parametrize(
    ("header", "cells"),
    [
        ("Length (mm),Width (mm),Thickness (mm)", "2400,200,50"),
        ("Length mm,Width mm,Thick mm", "2400,200,50"),
        ('Length (m),"W, mm","T, mm"', "2.4,200,50"),
        ("LEN [M],WIDTH [CM],THICK [CM]", "2.40,20,5"),
        ("Length,Width,Thickness", "2400 mm,200mm,50 mm"),
        ("Length,Width,Thickness", "2.4m,20 cm,50mm"),
        ("L (mm),Section (mm)", "2400,200 x 50"),
        ("L (mm),Section (mm)", "2400,50 x 200"),
        ("L (mm),Section mm", "2400,200x50"),
        ("L (mm),Size", "2400,200 x 50 mm"),
        ("L (mm),T x W (mm)", "2400,50 X 200"),
        ("L (mm),W x T mm", "2400,200×50"),
        ("Dimensions (mm)", "2400 x 200 x 50"),
        ("L x W x T (mm)", "2400 x 200 x 50"),
        ("Dimensions", "50x200x2400mm"),
        ("length_mm,width_mm,thickness_mm", "2400,200,50"),
        ("Lgth (mm),Wdth (mm),Thk (mm)", '"2,400",200,50'),
    ],
)
def test_sizes_are_found_however_they_are_headed(header: str, cells: str) -> None:
    tally = tally_of(f"Species,{header},Price each\nOak,{cells},10.00\n")
    assert sizes(tally) == [(1, 2400, 200, 50)]


def test_a_hardwood_tally_in_feet_inches_and_quarters() -> None:
    text = "Species\tThickness\tWidth\tLength\tBF\t$/BF\nWalnut\t8/4\t7\"\t8'\t9.33\t12.50\n"
    tally = tally_of(text, currency="USD")
    assert sizes(tally) == [(1, Decimal("2438.4"), Decimal("177.8"), Decimal("50.8"))]


# VOL-03: goodwoodcorp.com/HardwoodGrading.asp: 6 7/16 in x 10 ft 9 in measures 5, and 5 is charged.
def test_footage_by_surface_measure_is_taken_as_the_seller_counts_it() -> None:
    text = "Species,Thickness,Width,Length,BF,$/BF\nWalnut,4/4,6 7/16 in,10 ft 9 in,5,10.00\n"
    assert the_line(tally_of(text, currency="USD")).purchase == 50


# VOL-08 and VOL-09: woodweb.com, "Net measure vs gross measure": 1800 per 1000 gross is 1935.48 net at 7 %.
def test_a_price_per_gross_footage_charges_for_the_width_lost_in_drying() -> None:
    # 100 boards of 10 bf each: 8 ft x 7.5 in x 2 in.
    text = "Species,Qty,Length,Width,Thickness,$/MBF\nWalnut,100,8 ft,7 1/2 in,2 in,1800\n"
    net = the_line(tally_of(text))
    gross = the_line(tally_of(text, measure=Measure.GROSS))
    assert net.purchase == 1800
    assert float(gross.purchase or 0) == pytest.approx(1935.48, abs=0.005)
    assert gross.width_mm == net.width_mm == Decimal("190.5")


def test_widths_measured_green_are_booked_less_the_shrinkage() -> None:
    text = "Species,Length mm,Width mm,Thick mm,$/m3\nOak,2400,200,50,6500\n"
    line = the_line(tally_of(text, measure=Measure.GROSS, sizes=Measure.GROSS))
    assert line.width_mm == Decimal("186.00")
    assert line.purchase == 156


def test_lineal_metres_with_a_count_give_the_mean_length_and_say_so() -> None:
    tally = tally_of("Species,Section (mm),Pcs,L/M,$/lm\nOak,200x50,3,10.0,65\n").sound()
    line = tally.lines[0]
    assert (line.quantity, line.length_mm, line.length_is_mean) == (3, Decimal("3333.3"), True)
    assert line.purchase == 650
    assert "mean" in str(tally.warnings[0])


def test_lineal_metres_without_a_count_make_no_pieces() -> None:
    assert "count of pieces" in faults(tally_of("Species,Section (mm),L/M,$/lm\nOak,200x50,10.0,65\n"))


def test_a_description_gives_section_and_species_where_no_column_does() -> None:
    tally = tally_of("Description,Length m,Pcs,$/lm\n200x50mm Spotted Gum,2.4,5,65\n")
    line = the_line(tally)
    assert (line.species, line.width_mm, line.thickness_mm) == ("Spotted Gum", 200, 50)
    assert "200x50mm Spotted Gum" in line.note


def test_headings_between_the_lines_give_species_and_section() -> None:
    tally = tally_of(
        "OAK 200 x 50 mm,,\nLength (m),Pcs,$/lm\n2.4,5,65\nBLACKBUTT 150 x 38 mm,,\n3.6,2,40\n3.0,1,40\n"
    )
    assert sizes(tally) == [(5, 2400, 200, 50), (2, 3600, 150, 38), (1, 3000, 150, 38)]
    assert [line.species for line in tally.lines] == ["OAK", "BLACKBUTT", "BLACKBUTT"]


def test_ditto_marks_repeat_the_cell_above() -> None:
    tally = tally_of('Species,L mm,W mm,T mm,$/lm\nOak,2400,200,50,65\n"""",2400,ditto,do.,""""\n')
    assert tally.lines[1] == replace(tally.lines[0], row=3)


def test_lines_above_the_header_are_kept_as_preamble_and_rows_keep_their_numbers() -> None:
    tally = tally_of(f"Kettle Creek Sawmill\n\nDocket 4411;to bench\n{PLAIN}").sound()
    assert tally.preamble == ("Kettle Creek Sawmill", "Docket 4411;to bench")
    assert tally.header_row == 4
    assert [line.row for line in tally.lines] == [5, 6]


def test_a_unit_told_above_the_header_serves_columns_without_one() -> None:
    tally = tally_of("All sizes in mm\nSpecies,Length,Width,Thickness,Price each\nOak,2400,200,50,10\n")
    assert sizes(tally) == [(1, 2400, 200, 50)]


def test_units_in_a_row_below_the_header_are_taken() -> None:
    tally = tally_of("Species,Length,Width,Thickness,Rate\n,m,mm,mm,per lm\nOak,2.4,200,50,65\n")
    assert sizes(tally) == [(1, 2400, 200, 50)]
    assert tally.lines[0].purchase == 156


def test_a_header_over_two_rows_is_read_together() -> None:
    tally = tally_of("Species,Size (mm),,,Price\n,L,W,T,each\nOak,2400,200,50,10\n")
    assert sizes(tally) == [(1, 2400, 200, 50)]


def test_blank_rows_totals_and_repeated_headers_are_passed_over_and_told() -> None:
    header, first, second, total = PLAIN.splitlines()
    text = "\n".join([header, first, ",,,,,,", "Subtotal,,,,5,,780.00", header, second, "", total])
    tally = tally_of(text).sound()
    assert len(tally.lines) == 2
    assert [(skip.row, skip.why.split(",")[0]) for skip in tally.skipped] == [
        (3, "blank"),
        (4, "total"),
        (5, "the header once more"),
        (7, "blank"),
        (8, "total"),
    ]


@pytest.mark.parametrize(("old", "new"), [("10,,1176.72", "11,,1176.72"), ("1176.72", "1186.72")])
def test_a_total_that_the_lines_do_not_add_up_to_is_a_fault(old: str, new: str) -> None:
    assert "as the lines add up to" in faults(tally_of(PLAIN.replace(old, new)))


def test_sums_without_the_word_total_are_not_booked_but_checked() -> None:
    assert len(tally_of(PLAIN.replace("Total", "")).sound().lines) == 2
    assert "add up to" in faults(tally_of(PLAIN.replace("Total", "").replace("1176.72", "1100.00")))


def test_a_total_may_include_the_freight_and_tax_listed_above_it() -> None:
    text = PLAIN.replace("Total,,,,10,,1176.72", "Freight,,,,,,180.00\nGST,,,,,,135.67\nTotal,,,,,,1492.39")
    tally = tally_of(text).sound()
    assert len(tally.lines) == 2
    assert "charges given beside the tally" in str(tally.warnings[0])


def test_an_amount_that_does_not_follow_is_a_fault_and_a_warning_when_trusted() -> None:
    text = PLAIN.replace("780.00", "870.00").replace("1176.72", "1266.72")
    tally = tally_of(text)
    assert "row 2, column G (Amount): expected 780.00 by price and sizes, found 870.00" in faults(tally)
    trusted = tally_of(text, trust_amounts=True).sound()
    assert trusted.lines[0].purchase == 870
    assert "870.00" in str(trusted.warnings[0])


def test_a_volume_that_does_not_follow_shows_a_unit_misread() -> None:
    text = "Species,L mm,W mm,T mm,m3,$/m3\nOak,2400,200,50,0.024,6500\nOak,2400,150,50,0.081,6500\n"
    assert "row 3, column E (m3): expected 0.018 by the sizes" in faults(tally_of(text))


@pytest.mark.parametrize("volume", ["0.014", "0.0137", "0.01368", "0.068", "0.0684"])
def test_a_volume_rounded_as_printed_of_one_piece_or_all_is_accepted(volume: str) -> None:
    text = f"Species,Qty,L mm,W mm,T mm,Volume,$/m3\nOak,5,2400,150,38,{volume},5800\n"
    assert the_line(tally_of(text)).purchase == Fraction("396.72")


def test_an_amount_from_a_volume_rounded_to_the_litre_is_the_dockets_own() -> None:
    text = "Species,L mm,W mm,T mm,$/m3,Amount\nOak,2400,150,38,5800,81.20\n"
    assert the_line(tally_of(text)).purchase == Fraction("81.20")


def test_every_fault_is_told_at_once_with_row_and_column() -> None:
    text = (
        "Species,Length mm,Width mm,Thickness mm,Qty,Price each\n"
        "Oak,2400,-200,50,1,10\nOak,99999,200,abc,0,ten\n,2400,200,50,1.5,10\nOak,2400,200,NaN,1,10.1234567\n"
    )
    tally = tally_of(text)
    assert tally.lines == ()
    where = [fault.where for fault in tally.faults]
    assert where == [
        "row 2, column C (Width mm)",
        "row 3, column B (Length mm)",
        "row 3, column D (Thickness mm)",
        "row 3, column E (Qty)",
        "row 3, column F (Price each)",
        "row 4, column E (Qty)",
        "row 4",
        "row 5, column D (Thickness mm)",
        "row 5, column F (Price each)",
    ]
    assert "found '-200'" in faults(tally)
    with pytest.raises(BadInput, match="9 things to put right"):
        tally.sound()


def test_sizes_without_a_unit_are_one_fault_a_column_not_one_a_cell() -> None:
    text = "Species,Length,Width,Thickness,Price each\nOak,2400,200,50,10\nOak,2400,200,50,10\n"
    assert [fault.where for fault in tally_of(text).faults] == [
        "column B (Length)",
        "column C (Width)",
        "column D (Thickness)",
    ]
    assert len(tally_of(text, unit=LengthUnit.MM).sound().lines) == 2


def test_missing_columns_are_one_fault_each() -> None:
    assert "a column for the thickness" in faults(
        tally_of("Species,Length mm,Width mm,$/lm\nOak,2400,200,5\n")
    )
    tally = tally_of("Species,Length mm,Width mm,$/lm\nOak,2400,200,5\n", thickness_mm=Decimal(50))
    assert sizes(tally) == [(1, 2400, 200, 50)]


def test_the_species_of_the_whole_sheet_can_be_said_and_must_be_known() -> None:
    text = "Length mm,Width mm,Thickness mm,Price each\n2400,200,50,10\n"
    assert "a species" in faults(tally_of(text))
    assert the_line(tally_of(text, species="Red gum")).species == "Red gum"


def test_two_columns_of_one_size_are_a_fault_until_one_is_explained() -> None:
    text = "Species,Length mm,Actual length mm,Width mm,Thick mm,Price each\nOak,2400,2410,200,50,10\n"
    assert "one column for length" in faults(tally_of(text))
    tally = tally_of(text, columns={"Length mm": Role.IGNORED})
    assert sizes(tally) == [(1, 2410, 200, 50)]


def test_a_header_nobody_knows_can_be_explained() -> None:
    text = "Holz,Langueur mm,Width mm,Thick mm,Price each\nOak,2400,200,50,10\n"
    tally = tally_of(text, columns={"langueur MM": Role.LENGTH, "Holz": Role.SPECIES})
    assert sizes(tally) == [(1, 2400, 200, 50)]


def test_a_number_column_counts_rows_when_it_runs_one_two_three() -> None:
    text = "No.,Species,L mm,W mm,T mm,Price each\n1,Oak,2400,200,50,10\n2,Oak,2400,200,50,10\n"
    assert sizes(tally_of(text)) == [(1, 2400, 200, 50)] * 2
    assert roles(tally_of(text))["No."] is Role.ROW_NUMBER
    assert [line.quantity for line in tally_of(text.replace("\n1,", "\n5,")).sound().lines] == [5, 2]


def test_money_with_and_without_tax_keeps_the_side_asked_for() -> None:
    text = "Species,L mm,W mm,T mm,Amount ex GST,Amount inc GST\nOak,2400,200,50,100.00,110.00\n"
    without, included = tally_of(text), tally_of(text, tax_included=True)
    assert (the_line(without).amount, without.tax_included) == (100, False)
    assert (the_line(included).amount, included.tax_included) == (110, True)
    assert roles(without)["Amount inc GST"] is Role.IGNORED


def test_everything_the_supplier_says_of_a_board_is_kept() -> None:
    text = (
        "Tag,Species,Grade,L mm,W mm,T mm,MC %,Pack,Bay,Remarks,Defects,Origin,Claim,Certificate,Price each\n"
        "K-17,Oak,Select,2400,200,50,11.5,P3,B2,quarter sawn,end split,France,FSC 100%,XX-COC-000000,10\n"
    )
    line = the_line(tally_of(text))
    assert (line.mark, line.grade, line.pack, line.place) == ("K-17", "Select", "P3", "B2")
    assert (line.moisture_pct, line.note) == (Decimal("11.5"), "quarter sawn; end split")
    assert (line.origin, line.claim, line.certificate) == ("France", "FSC 100%", "XX-COC-000000")


def test_moisture_in_words_goes_to_the_note_and_nonsense_is_a_fault() -> None:
    text = "Species,L mm,W mm,T mm,MC,Price each\nOak,2400,200,50,{},10\n"
    assert the_line(tally_of(text.format("KD"))).note == "moisture: KD"
    assert the_line(tally_of(text.format("12%"))).moisture_pct == 12
    assert "percent" in faults(tally_of(text.format("900")))


@pytest.mark.parametrize(
    "row",
    ["Oak,2,4,200,50,10", "Oak,2400,200,50,10,surplus"],
)
def test_more_cells_than_headers_are_a_fault(row: str) -> None:
    assert "cells" in faults(tally_of(f"Species,Length m,Width mm,Thick mm,Price each\n{row}\n"))


def test_decimal_commas_are_found_from_the_sheet_itself() -> None:
    text = "Species;L (m);Section (mm);Pcs;m³;€/m³\nOak;2,400;200 x 50;5;0,120;1.250,00\n"
    tally = tally_of(text, currency="EUR").sound()
    assert tally.decimal_mark is DecimalMark.COMMA
    assert sizes(tally) == [(5, 2400, 200, 50)]
    assert tally.lines[0].purchase == 150


def test_an_unclear_price_is_a_fault_until_the_mark_is_said() -> None:
    text = 'Species,L mm,W mm,T mm,$/m3\nOak,2400,200,50,"6,500"\n'
    assert "plainly 6.500 or 6500" in faults(tally_of(text))
    assert the_line(tally_of(text, decimal_mark=DecimalMark.POINT)).purchase == 156


@pytest.mark.parametrize(
    "options",
    [
        {"currency": "dollars"},
        {"price": Decimal(-1)},
        {"lot_total": Decimal("NaN")},
        {"price": Decimal(1), "lot_total": Decimal(1)},
        {"shrinkage_pct": Decimal(70)},
        {"thickness_mm": Decimal(0)},
    ],
)
def test_options_that_make_no_sense_are_refused(options: dict[str, object]) -> None:
    with pytest.raises(BadInput):
        tally_of(PLAIN, **options)


def test_a_tally_without_lines_is_a_fault() -> None:
    assert "at least one line" in faults(tally_of(PLAIN.splitlines()[0]))


def test_more_pieces_than_any_delivery_has_are_a_fault() -> None:
    row = "Oak,2400,200,50,9999,1\n"
    assert "pieces in one tally" in faults(tally_of("Species,L mm,W mm,T mm,Qty,Price each\n" + row * 21))


def test_nominal_and_finished_sizes_side_by_side_must_be_explained() -> None:
    text = "Timber,Nominal Size (mm),Finished Size (mm),Length m,$/LM\nOak,150x25,140x19,2.4,12.50\n"
    assert "one column for section" in faults(tally_of(text))
    tally = tally_of(text, columns={"Nominal Size (mm)": Role.IGNORED})
    assert sizes(tally) == [(1, 2400, 140, 19)]


def test_a_board_number_is_a_mark_and_no_count() -> None:
    text = "Board #,Species,L mm,W mm,T mm,Price each\n7,Oak,2400,200,50,10\n"
    assert the_line(tally_of(text)).mark == "7"
    assert the_line(tally_of(text)).quantity == 1


def test_an_amount_stands_where_nobody_says_what_the_price_is_for() -> None:
    tally = tally_of("Species,L mm,W mm,T mm,Rate,Amount\nOak,2400,200,50,6500,156.00\n").sound()
    assert tally.lines[0].purchase == 156
    assert "what the price is for" in str(tally.warnings[0])


def test_an_amount_with_too_many_decimals_is_refused() -> None:
    assert "plainly 12.505 or 12505" in faults(
        tally_of("Species,L mm,W mm,T mm,Amount\nOak,2400,200,50,12.505\n")
    )


@pytest.mark.parametrize(
    "cell", ["1" * 100_000, " 1" * 50_000, "x" * 100_000, "1x" * 50_000, "a" + " " * 100_000 + "b"]
)
def test_a_cell_without_end_is_a_fault_and_takes_no_time(cell: str) -> None:
    header = "Species,Description,Length mm,Section mm,Qty,LM,m3,Price,MC"
    for first in (cell, "Oak", "Total"):
        tally = tally_of(header + "\n" + ",".join([first] + [cell] * 8) + "\n")
        assert tally.lines == ()
        assert tally.faults
