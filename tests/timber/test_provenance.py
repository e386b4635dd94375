from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from stockyard.errors import BadInput
from stockyard.timber.provenance import (
    Acquired,
    Gap,
    Paper,
    Provenance,
    Source,
    findings,
    inherited_claim,
    panel_claim,
)

CLAIMED = Provenance(
    claim="FSC 100%", certificate="XX-COC-000000", claim_on=frozenset({Paper.DOCKET, Paper.INVOICE})
)


def gaps(provenance: Provenance) -> set[Gap]:
    return {finding.gap for finding in findings(provenance)}


def test_papers_in_order_leave_nothing_to_say() -> None:
    assert findings(CLAIMED) == ()
    assert findings(Provenance()) == ()
    assert inherited_claim(CLAIMED) == "FSC 100%"


# COC-01 to COC-04: the elements FSC-STD-40-004 (clause 6.1 of V2-0) asks of sales and delivery papers.
def test_a_claim_without_a_certificate_code_is_unsupported() -> None:
    bare = replace(CLAIMED, certificate="")
    assert gaps(bare) == {Gap.UNSUPPORTED_CLAIM}
    assert inherited_claim(bare) == ""


def test_a_claim_on_the_invoice_alone_is_not_inherited() -> None:
    invoiced = replace(CLAIMED, claim_on=frozenset({Paper.INVOICE}))
    assert gaps(invoiced) == {Gap.CLAIM_NOT_INHERITED}
    assert inherited_claim(invoiced) == ""
    assert "invoice" in findings(invoiced)[0].detail


def test_an_import_without_details_and_a_log_without_a_place_are_flagged() -> None:
    assert gaps(Provenance(acquired=Acquired.IMPORTED)) == {Gap.NO_IMPORT_DETAILS}
    assert gaps(Provenance(acquired=Acquired.IMPORTED, import_entry="A1", country="")) == {
        Gap.NO_IMPORT_DETAILS
    }
    assert gaps(Provenance(acquired=Acquired.IMPORTED, import_entry="A1", country="US")) == set()
    assert gaps(Provenance(acquired=Acquired.MILLED)) == {Gap.NO_HARVEST_PLACE}
    assert gaps(Provenance(acquired=Acquired.MILLED, place="back paddock")) == set()


def test_a_panel_carries_a_claim_only_when_all_its_boards_do() -> None:
    assert panel_claim([CLAIMED, Provenance()]) == ""
    assert panel_claim([CLAIMED, CLAIMED]) == "FSC 100%"
    assert panel_claim([CLAIMED, replace(CLAIMED, claim="FSC Mix 70%")]) == ""
    assert panel_claim([]) == ""


def test_a_provenance_survives_being_written_down() -> None:
    full = replace(
        CLAIMED,
        supplier="Kettle Creek Sawmill",
        docket_date=date(2026, 11, 3),
        source=Source.SALVAGE,
        quantity=Decimal("0.1884"),
        quantity_unit="m3",
        documents=("docket.pdf",),
    )
    assert Provenance.from_json(full.as_json()) == full
    assert full.as_json()["docket_date"] == "2026-11-03"
    assert Provenance.from_json({}) == Provenance()


@pytest.mark.parametrize(
    "values",
    [{"colour": "red"}, {"docket_date": "soon"}, {"source": "moon"}, {"quantity": "many"}, {"claim_on": 3}],
)
def test_a_provenance_that_cannot_be_read_is_refused(values: dict[str, object]) -> None:
    with pytest.raises(BadInput):
        Provenance.from_json(values)
