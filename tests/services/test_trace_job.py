"""Provenance of a job, by the checks of chain of custody COC-01 to COC-04."""

from datetime import date

import pytest

from stockyard.errors import NotFound
from stockyard.records import Yard
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.materials_statement import NO_CERTIFICATE, materials_statement
from stockyard.services.receive_delivery import Order, receive_delivery
from stockyard.services.trace_job import NO_DOCKET, trace_board, trace_job
from tests.stocking import a_plan, keep_plan
from tests.stocking import receive as receive_plain

CLAIMED = {"claim": "FSC 100%", "claim_on": "docket", "certificate": "XYZ-COC-001234", "country": "Australia"}


def bought(yard: Yard, docket: str, provenance: dict[str, str], *, claim_column: str = "") -> str:
    """One board of spotted gum on a docket; returns its number."""
    head, cell = (",Claim", f",{claim_column}") if claim_column else ("", "")
    sheet = (
        f"Species,Length (mm),Width (mm),Thickness (mm),Price each{head}\n"
        f"spotted gum,2400,180,32,48.00{cell}\n"
    )
    order = Order("Riverbend Mill", docket, date(2026, 2, 2), tax=None, provenance=provenance)
    return receive_delivery(yard.open_work, sheet.encode(), "tally.csv", order).pieces[0].number


def promised(yard: Yard, *numbers: str) -> None:
    with yard.open_work() as work:
        plan = keep_plan(work, a_plan(numbers))
        work.commit()
    allocate_plan(yard.open_work, plan)


def test_a_panel_whose_boards_all_carry_one_claim_is_told_to_carry_it(yard: Yard) -> None:
    promised(yard, bought(yard, "1", CLAIMED), bought(yard, "2", CLAIMED))

    trace = trace_job(yard.open_work, "hall-bench")

    (panel,) = trace.panels
    assert (panel.claim, panel.made, panel.staves, panel.species) == ("FSC 100%", False, 2, "spotted gum")
    assert [(board.docket, board.claim, board.problems) for board in trace.boards] == [
        ("1", "FSC 100%", ()),
        ("2", "FSC 100%", ()),
    ]
    assert trace.boards[0].received_on == date(2026, 2, 2)
    assert trace.missing == ()


def test_a_panel_of_one_claimed_and_one_unclaimed_board_carries_none(sqlite_yard: Yard) -> None:
    """COC-04."""
    promised(sqlite_yard, bought(sqlite_yard, "1", CLAIMED), bought(sqlite_yard, "2", {}))

    assert trace_job(sqlite_yard.open_work, "hall-bench").panels[0].claim == ""


def test_a_claim_without_a_certificate_and_one_on_the_invoice_alone_are_not_inherited(
    sqlite_yard: Yard,
) -> None:
    """COC-01 and COC-02."""
    bare = bought(sqlite_yard, "1", {**CLAIMED, "certificate": ""})
    invoiced = bought(sqlite_yard, "2", {**CLAIMED, "claim_on": "invoice"})

    for number, said in ((bare, "without a certificate"), (invoiced, "only on the invoice")):
        board = trace_board(sqlite_yard.open_work, number)
        assert board.claim == ""
        assert any(said in problem for problem in board.problems)


def test_imported_boards_need_their_entry_and_milled_ones_their_place(sqlite_yard: Yard) -> None:
    """COC-03."""
    imported = bought(sqlite_yard, "1", {"acquired": "imported", "country": "Ghana"})
    milled = bought(sqlite_yard, "2", {"acquired": "milled"})
    promised(sqlite_yard, imported, milled)

    problems = dict(trace_job(sqlite_yard.open_work, "hall-bench").problems)

    assert "import entry" in problems[imported]
    assert "harvested" in problems[milled]


def test_a_claim_of_a_boards_own_row_of_the_tally_stands_on_the_docket(sqlite_yard: Yard) -> None:
    number = bought(sqlite_yard, "1", {"certificate": "XYZ-COC-001234"}, claim_column="FSC Mix 70%")

    board = trace_board(sqlite_yard.open_work, number)

    assert (board.claim, board.written["claim"]) == ("FSC Mix 70%", "FSC Mix 70%")


def test_a_board_without_a_docket_says_so(sqlite_yard: Yard) -> None:
    with sqlite_yard.open_work() as work:
        (number,) = receive_plain(work, 1)
        work.commit()

    assert trace_board(sqlite_yard.open_work, number).problems == (NO_DOCKET,)


def test_the_statement_for_the_client_names_wood_docket_and_origin_and_passes_no_claim_on(yard: Yard) -> None:
    own = {**CLAIMED, "supplier_number": "51 824 753 556", "place": "Bald Hill", "source": "plantation"}
    promised(yard, bought(yard, "D-9", own), bought(yard, "D-10", {}))

    text = materials_statement(yard.open_work, "hall-bench")

    assert "Corymbia maculata" in text  # spotted gum, by the yard's own list of species
    assert "from Riverbend Mill, docket D-9 of 02 February 2026" in text
    assert "plantation from Bald Hill, Australia" in " ".join(text.split())
    assert "none that holds for all its boards" in text
    assert NO_CERTIFICATE.split(":")[0] in " ".join(text.split())
    assert "51 824 753 556" not in text
    assert "48.00" not in text
    assert max(map(len, text.splitlines())) <= 78


def test_a_job_with_nothing_promised_says_what_is_missing(sqlite_yard: Yard) -> None:
    with sqlite_yard.open_work() as work:
        keep_plan(work, a_plan(receive_plain(work, 2)))
        work.commit()

    trace = trace_job(sqlite_yard.open_work, "hall-bench")

    assert (trace.panels, trace.missing) == ((), ("top",))
    assert "No timber is cut" in materials_statement(sqlite_yard.open_work, "hall-bench")
    with pytest.raises(NotFound):
        trace_job(sqlite_yard.open_work, "no-such-job")
