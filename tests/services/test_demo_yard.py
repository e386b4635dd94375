import csv
import io
import json
from collections import Counter
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from pathlib import Path

import pytest
from openpyxl import load_workbook

from stockyard.geometry.crack import crack_outline
from stockyard.geometry.outline import outline_faults
from stockyard.moisture.climate import Climate
from stockyard.moisture.logger import read_logger
from stockyard.selection import read_job
from stockyard.services import demo_yard
from stockyard.services.demo_yard import Where
from stockyard.tally import Charge, CostedLine, ShareBy, TallyOptions, Tax, landed_cost, read_tally
from stockyard.timber import DefectKind, Do, Face
from stockyard.timber.species import known_species

SAMPLES = Path(__file__).parents[2] / "sample_images" / "demo"
QUANDONG, BROLGA, NINE_MILE = demo_yard.deliveries()


def lines():
    """Every line of every tally, as the reader reads it."""
    return [
        (delivery.docket, line)
        for delivery in demo_yard.deliveries()
        for line in read_tally(delivery.content, delivery.file_name, TallyOptions()).sound().lines
    ]


BOARDS = {
    Where(docket, line.row, piece): line for docket, line in lines() for piece in range(1, line.quantity + 1)
}


def cents(amount):
    return Decimal(amount).quantize(Decimal("0.01"), ROUND_HALF_UP)


def test_sixty_boards_of_five_species_came_in_three_deliveries():
    species = Counter(known_species().named(line.species).name for line in BOARDS.values())

    assert len(BOARDS) == 60
    assert species == {"spotted gum": 14, "blackwood": 14, "jarrah": 12, "blackbutt": 10, "messmate": 10}
    assert len(demo_yard.deliveries()) == 3


def test_the_metric_tally_adds_up_to_its_docket():
    rows = list(csv.reader(io.StringIO(QUANDONG.content.decode("utf-8"))))[3:-2]
    total = sum(Decimal(row[-1]) for row in rows)
    for _, _, length, width, thick, _, price, amount in rows:
        volume_m3 = Decimal(length) * Decimal(width) * Decimal(thick) / 10**9
        assert cents(volume_m3 * Decimal(price)) == Decimal(amount)

    assert Decimal(list(csv.reader(io.StringIO(QUANDONG.content.decode())))[-1][-1]) == total
    assert cents((total + Decimal("185.00")) * Decimal("1.1")) == QUANDONG.docket_total


def test_the_tally_with_decimal_commas_adds_up_to_its_docket():
    def number(cell):
        return Decimal(cell.replace(".", "").replace(",", "."))

    text = BROLGA.content.decode("utf-8")
    assert text.startswith("\ufeff")
    _, *rows, last = csv.reader(io.StringIO(text), delimiter=";")
    rows = [row for row in rows if any(row)]
    for _, pieces, length, _, price, amount in rows:
        assert cents(int(pieces) * number(length) * number(price)) == number(amount)

    total = sum(number(row[-1]) for row in rows)
    assert number(last[-1]) == total
    assert int(last[1]) == sum(int(row[1]) for row in rows) == 22
    assert cents((total + Decimal("142.50") + Decimal("45.00")) * Decimal("1.1")) == BROLGA.docket_total


def test_the_imperial_workbook_adds_up_to_its_docket():
    sheet = load_workbook(io.BytesIO(NINE_MILE.content))["Lot 58"]
    rows = [row for row in sheet.iter_rows(min_row=5, values_only=True) if row[1]]

    def inches(text):
        feet, _, rest = text.replace('"', "").rpartition("'")
        return int(feet or 0) * 12 + sum(Fraction(part) for part in rest.split())

    for _, _, length, width, quarters, price, amount in rows:
        super_feet = inches(length) * inches(width) * Fraction(quarters) / 144
        exact = super_feet / 100 * Fraction(price)
        assert cents(Decimal(exact.numerator) / exact.denominator) == cents(Decimal(str(amount)))

    total = sum(cents(Decimal(str(row[-1]))) for row in rows)
    assert total == NINE_MILE.docket_total
    assert NINE_MILE.tax_pct is None


@pytest.mark.parametrize("delivery", demo_yard.deliveries(), ids=lambda delivery: delivery.docket)
def test_a_delivery_can_be_costed_to_the_cent(delivery):
    tally = read_tally(delivery.content, delivery.file_name, TallyOptions())

    cost = landed_cost(
        [CostedLine(line.quantity, line.piece_mm3, line.purchase) for line in tally.lines],
        demo_yard.CURRENCY,
        charges=[
            Charge(c.name, c.amount, ShareBy(c.share_by), on_docket=c.on_docket) for c in delivery.charges
        ],
        tax=Tax(delivery.tax_pct) if delivery.tax_pct else None,
        docket_total=delivery.docket_total,
    )

    on_docket = cost.total + cost.recoverable
    on_docket -= sum((c.amount for c in delivery.charges if not c.on_docket), Decimal(0))
    assert on_docket == delivery.docket_total


def test_every_board_stands_in_one_place():
    assert sorted(row.board for row in demo_yard.places()) == sorted(BOARDS)
    assert len({row.place for row in demo_yard.places()}) >= 5


def test_whatever_was_found_was_found_on_a_board_there_is():
    found = [*demo_yard.readings(), *demo_yard.measurements(), *demo_yard.defects()]

    assert {row.board for row in found} <= set(BOARDS)


def test_readings_are_taken_after_the_board_came_and_leave_work_to_do():
    came = {delivery.docket: delivery.received_on for delivery in demo_yard.deliveries()}
    newest = {}
    for reading in demo_yard.readings():
        assert reading.taken_on >= came[reading.board.docket]
        assert 8 <= reading.raw_pct <= 25
        assert 10 <= reading.wood_c <= 30
        newest[reading.board] = reading.raw_pct

    assert 2 <= len(set(BOARDS) - set(newest)) <= 6  # still to be read
    assert sum(raw > 14 for raw in newest.values()) >= 3  # still to dry
    assert sum(raw <= 13 for raw in newest.values()) >= 45


def test_every_defect_lies_on_its_board_and_has_one_shape():
    for defect in demo_yard.defects():
        line = BOARDS[defect.board]
        length, width = float(line.length_mm), float(line.width_mm)
        shapes = [shape for shape in (defect.box, defect.polygon, defect.line) if shape is not None]
        assert len(shapes) == 1, defect
        if defect.line is not None:
            outline = crack_outline(defect.line, defect.opening_mm, length, width)
        elif defect.box is not None:
            x0, y0, x1, y1 = defect.box
            outline = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
        else:
            outline = defect.polygon
        assert outline_faults(outline, length, width) == (), defect
        assert defect.depth_mm is None or (0 < defect.depth_mm < line.thickness_mm and defect.face != "both")


def test_every_kind_of_defect_of_the_trade_occurs_on_either_face_and_through():
    assert {defect.kind for defect in demo_yard.defects()} == set(DefectKind)
    assert {defect.face for defect in demo_yard.defects()} == set(Face)
    clean = set(BOARDS) - {defect.board for defect in demo_yard.defects()}
    assert 8 <= len(clean) <= 30


def test_photographed_boards_have_the_size_that_their_pictures_show():
    for photo in demo_yard.photos():
        line = BOARDS[photo.board]
        for name, content in photo.pictures:
            labels = json.loads((SAMPLES / name).with_suffix(".json").read_text())
            assert content == (SAMPLES / name).read_bytes()
            assert labels["face"] == photo.face
            assert (labels["length_mm"], labels["width_mm"], labels["thickness_mm"]) == (
                line.length_mm, line.width_mm, line.thickness_mm,
            )  # fmt: skip


def test_measurements_are_of_likely_size():
    for row in demo_yard.measurements():
        for figure in (row.bow_mm, row.spring_mm, row.cup_mm, row.twist_mm):
            assert figure is None or 0 < figure <= 8
        for colour in (row.colour_a, row.colour_b):
            assert colour is None or (20 < colour[0] < 80 and 0 < colour[1] < 30 and 0 < colour[2] < 40)


@pytest.mark.parametrize("job", demo_yard.jobs(), ids=lambda job: job.name)
def test_a_job_is_sound_and_asks_for_what_the_yard_has(job):
    wanted = read_job(job.content)
    in_yard = {known_species().named(line.species).name: line for line in BOARDS.values()}

    assert wanted.id == job.name
    for panel in wanted.panels:
        assert set(panel.species) <= set(in_yard)
        longest = max(
            line.length_mm
            for line in BOARDS.values()
            if known_species().named(line.species).name in panel.species
        )
        assert panel.length_mm + 100 < longest
        assert panel.staves_max * panel.stave_width_max_mm >= panel.width_mm


@pytest.mark.parametrize("job", demo_yard.jobs(), ids=lambda job: job.name)
def test_a_job_has_something_to_treat_to_accept_and_to_avoid(job):
    rules = read_job(job.content).rules

    for kind in (DefectKind.DECAY, DefectKind.WANE):
        assert rules.on_show(kind).do is Do.AVOID
    for face in (rules.show, rules.back):
        assert {Do.TREAT, Do.ACCEPT} <= {rule.do for rule in face.values()}


def test_the_jobs_make_a_bench_and_a_cabinet():
    assert [len(read_job(job.content).panels) for job in demo_yard.jobs()] == [4, 7]
    assert all(job.client for job in demo_yard.jobs())


@pytest.mark.parametrize("air", demo_yard.climates(), ids=lambda air: air.place)
def test_a_loggers_file_reads_and_had_been_written_when_it_was_read(air):
    read = read_logger(air.content, demo_yard.ZONE)

    assert read.readings[-1].at.date() <= demo_yard.LOGGERS_READ
    span = Climate(air.place, read.readings, demo_yard.ZONE).emc_span()
    assert span.whole_year == (air.place != "shop")
    assert 6 < span.low_pct < span.high_pct < 16
