from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from stockyard.errors import AlreadyBooked, BadInput
from stockyard.records import Yard
from stockyard.services.receive_delivery import Order, receive_delivery
from stockyard.tally import Charge, ShareBy, TallyOptions
from stockyard.timber.rack_query import RackQuery

# The worked lot of the trade's figures: 5 boards 2400 x 200 x 50 at $6500/m3 and 5 boards 2400 x 150 x 38 at
# $5800/m3, all without tax; freight $180. Computed from AASB 102 paragraph 10 (cost is what brings stock to
# its place), shared by volume with cents that add up.
WORKED_LOT = (
    b"Species,Length (mm),Width (mm),Thickness (mm),Qty,Price per m3\n"
    b"Spotted Gum,2400,200,50,5,6500\n"
    b"Blackbutt,2400,150,38,5,5800\n"
)


def an_order(**changes: Any) -> Order:
    values: dict[str, Any] = {
        "supplier": "Riverbend Mill",
        "docket": "4471",
        "received_on": date(2026, 2, 27),
        "charges": (Charge("freight", Decimal("180.00")),),
    }
    return Order(**{**values, **changes})


def on_hand(yard: Yard) -> dict[str, Decimal]:
    with yard.open_work(reading=True) as work:
        return {piece.number: piece.value for piece in work.pieces.find(RackQuery())}


def test_worked_lot_lands_at_its_published_cost_to_the_cent(yard: Yard) -> None:
    receipt = receive_delivery(yard.open_work, WORKED_LOT, "tally.csv", an_order())

    assert receipt.landed == Decimal("1356.72")
    assert receipt.recoverable_tax == Decimal("135.67")
    assert [piece.landed for piece in receipt.pieces if piece.species == "spotted gum"] == [
        Decimal("178.93")
    ] * 5
    assert {piece.landed for piece in receipt.pieces if piece.species == "blackbutt"} <= {
        Decimal("92.41"),
        Decimal("92.42"),
    }
    assert sum(on_hand(yard).values()) == Decimal("1356.72")


def test_boards_are_numbered_by_species_in_the_order_of_the_sheet(yard: Yard) -> None:
    receipt = receive_delivery(yard.open_work, WORKED_LOT, "tally.csv", an_order())
    assert [piece.number for piece in receipt.pieces][:2] == ["SG-0001", "SG-0002"]
    assert [piece.number for piece in receipt.pieces][5:7] == ["BB-0001", "BB-0002"]
    assert [piece.row for piece in receipt.pieces] == [2] * 5 + [3] * 5


def test_only_looking_writes_nothing_and_shows_the_same(yard: Yard) -> None:
    looked = receive_delivery(yard.open_work, WORKED_LOT, "tally.csv", an_order(), only_look=True)
    assert on_hand(yard) == {}
    booked = receive_delivery(yard.open_work, WORKED_LOT, "tally.csv", an_order())
    assert not looked.booked
    assert looked.pieces == booked.pieces


def test_the_same_docket_twice_is_refused_and_changes_nothing(yard: Yard) -> None:
    receive_delivery(yard.open_work, WORKED_LOT, "tally.csv", an_order())
    before = on_hand(yard)
    with pytest.raises(AlreadyBooked, match="4471 of Riverbend Mill was received on 27 February 2026"):
        receive_delivery(yard.open_work, WORKED_LOT, "tally.csv", an_order())
    assert on_hand(yard) == before


def test_the_same_docket_number_of_another_supplier_is_another_docket(yard: Yard) -> None:
    receive_delivery(yard.open_work, WORKED_LOT, "tally.csv", an_order())
    receive_delivery(yard.open_work, WORKED_LOT, "tally.csv", an_order(supplier="Hilltop Timber"))
    assert len(on_hand(yard)) == 20


def test_all_faults_are_told_together_with_their_places_and_nothing_is_written(yard: Yard) -> None:
    sheet = (
        b"Species,Length (mm),Width (mm),Thickness (mm),Price each\n"
        b"Spoted Gum,2400,200,50,60\n"
        b"Blackbutt,-5,200,50,60\n"
        b"Blackbutt,2400,wide,50,60\n"
    )
    with pytest.raises(BadInput) as refused:
        receive_delivery(yard.open_work, sheet, "t.csv", an_order(received_on=date(2026, 3, 3), charges=()))
    places = " | ".join(str(fault) for fault in refused.value.faults)
    assert len(refused.value.faults) == 4
    assert "--date" in places
    assert "row 2" in places
    assert "spotted gum" in places
    assert "row 3" in places
    assert "row 4" in places
    assert on_hand(yard) == {}


def test_a_species_the_yard_does_not_know_can_be_taken(yard: Yard) -> None:
    sheet = b"Species,Length,Width,Thickness,Price each\nMulga,1200 mm,90 mm,25 mm,30\n"
    receipt = receive_delivery(
        yard.open_work, sheet, "t.csv", an_order(new_species=("mulga",), charges=(), docket="1")
    )
    assert receipt.pieces[0].species == "mulga"
    with yard.open_work(reading=True) as work:
        assert work.species.get("Mulga").prefix == receipt.pieces[0].number.split("-")[0]


def test_stated_moisture_is_kept_as_the_suppliers_word(yard: Yard) -> None:
    sheet = b"Species,Length,Width,Thickness,MC %,Price each\nBlackbutt,1200 mm,90 mm,25 mm,11.5,30\n"
    receive_delivery(yard.open_work, sheet, "t.csv", an_order(charges=()))
    with yard.open_work(reading=True) as work:
        (reading,) = work.readings.of_piece("BB-0001")
    assert (reading.raw_pct, reading.corrected_pct) == (11.5, 11.5)
    assert "supplier" in reading.rule


def test_ten_thousand_rows_are_booked_in_one_go(sqlite_yard: Yard) -> None:
    rows = b"".join(b"Blackbutt,%d,150,25,30.00\n" % (2400 + n % 600) for n in range(10_000))
    sheet = b"Species,Length (mm),Width (mm),Thickness (mm),Price each\n" + rows
    receipt = receive_delivery(sqlite_yard.open_work, sheet, "t.csv", an_order())
    assert len(receipt.pieces) == 10_000
    assert receipt.landed == Decimal("300180.00")
    assert sum(on_hand(sqlite_yard).values()) == receipt.landed


def test_provenance_stays_with_the_delivery(yard: Yard) -> None:
    order = an_order(provenance={"place": "a private forest near the river", "source": "native"}, charges=())
    receive_delivery(yard.open_work, WORKED_LOT, "tally.csv", order)
    with yard.open_work(reading=True) as work:
        kept = work.deliveries.get("4471")
    assert kept.provenance["place"] == "a private forest near the river"
    assert kept.provenance["supplier"] == "Riverbend Mill"
    assert kept.provenance["rows"]["2"]["species as written"] == "Spotted Gum"
    assert len(kept.source_sha256) == 64


def test_a_claim_without_a_certificate_is_booked_and_said(yard: Yard) -> None:
    # Check COC-01 of the chain-of-custody rules: a claim type without a certificate code is unsupported
    # (FSC-STD-40-004, clause on sales and delivery papers).
    order = an_order(provenance={"claim": "FSC 100%", "claim_on": "docket"}, charges=())
    receipt = receive_delivery(yard.open_work, WORKED_LOT, "tally.csv", order)
    assert receipt.papers == ("'FSC 100%' is claimed without a certificate code.",)


def test_a_provenance_field_nobody_knows_is_a_fault(yard: Yard) -> None:
    order = an_order(provenance={"colour of the lorry": "blue", "source": "the moon"}, charges=())
    with pytest.raises(BadInput) as refused:
        receive_delivery(yard.open_work, WORKED_LOT, "tally.csv", order)
    assert [fault.where for fault in refused.value.faults] == [
        "provenance.colour of the lorry",
        "provenance.source",
    ]


def test_options_reach_the_sheet(yard: Yard) -> None:
    sheet = b"Length;Width;Thickness\n2,4;0,2;0,05\n"
    options = TallyOptions(species="jarrah", lot_total=Decimal("100.00"))
    with pytest.raises(BadInput, match="unit"):
        receive_delivery(yard.open_work, sheet, "t.csv", an_order(options=options, charges=()))


def test_freight_can_be_shared_by_mass(yard: Yard) -> None:
    # Spotted gum 1010 and blackbutt 930 kg/m3 air dry (Queensland Government timber species pages): equal
    # boards of 1 m3 in sum carry 1940 of freight as 1010 and 930.
    sheet = (
        b"Species,Length (mm),Width (mm),Thickness (mm),Price each\n"
        b"Spotted Gum,2500,200,50,60\nBlackbutt,2500,200,50,60\n"
    )
    order = an_order(charges=(Charge("freight", Decimal("194.00"), ShareBy.MASS),))
    receipt = receive_delivery(yard.open_work, sheet, "t.csv", order)
    assert [piece.charges for piece in receipt.pieces] == [Decimal("101.00"), Decimal("93.00")]
