from datetime import date
from decimal import Decimal

import pytest

from stockyard.errors import BadInput, NotFound
from stockyard.records import Yard
from stockyard.services.add_cost import add_cost
from stockyard.services.check_books import check_books
from stockyard.services.correct_board import Correction, correct_board
from stockyard.services.dispose_board import dispose_board
from tests.services.yards import SPOTTED_GUM, receive


def test_a_drying_bill_is_shared_by_volume_and_adds_up_to_the_cent(yard: Yard) -> None:
    """Freight by volume of the worked lot (COST-03): 0.024 and 0.01368 m3 five times each share 180.00."""
    receive(
        yard,
        *["spotted gum,2400,200,50,156.00"] * 5,
        *["spotted gum,2400,150,38,79.34"] * 5,
    )

    added = add_cost(yard.open_work, Decimal("180.00"), what="kiln drying", docket="1")

    shares = [share for _, share in added.shares]
    assert sum(shares) == Decimal("180.00")
    assert set(shares[:5]) == {Decimal("22.93")}
    assert set(shares[5:]) == {Decimal("13.07")}
    with yard.open_work(reading=True) as work:
        assert work.pieces.get("SG-0001").value == Decimal("178.93")  # COST-05
        assert [change.fact for change in work.pieces.history("SG-0001")] == ["value"]
    assert check_books(yard.open_work).disagreements == ()


@pytest.mark.parametrize(
    ("by", "shares"), [("each", ("5.00", "5.00")), ("value", ("7.50", "2.50")), ("volume", ("5.00", "5.00"))]
)
def test_it_may_be_shared_otherwise(sqlite_yard: Yard, by: str, shares: tuple[str, str]) -> None:
    receive(sqlite_yard, "spotted gum,2400,180,32,60.00", "spotted gum,2400,180,32,20.00")

    added = add_cost(
        sqlite_yard.open_work, Decimal(10), what="milling", numbers=["SG-0001", "SG-0002"], by=by
    )

    assert tuple(str(share) for _, share in added.shares) == shares


def test_drying_shrinks_a_board_without_a_gain_or_a_loss(sqlite_yard: Yard) -> None:
    receive(sqlite_yard, SPOTTED_GUM)
    add_cost(sqlite_yard.open_work, Decimal(4), what="drying", place="rack 1")

    correct_board(sqlite_yard.open_work, "SG-0001", Correction(width_mm=170, thickness_mm=30.5))

    with sqlite_yard.open_work(reading=True) as work:
        assert work.pieces.get("SG-0001").value == Decimal("52.00")
    assert check_books(sqlite_yard.open_work).disagreements == ()


def test_a_cost_that_cannot_be_added_is_refused_with_every_fault(sqlite_yard: Yard) -> None:
    receive(sqlite_yard, SPOTTED_GUM, SPOTTED_GUM)
    dispose_board(sqlite_yard.open_work, "SG-0002", reason="borers")
    with pytest.raises(BadInput) as refused:
        add_cost(
            sqlite_yard.open_work,
            Decimal(0),
            what=" ",
            numbers=["SG-0002"],
            by="weight",
            effective=date(2030, 1, 1),
        )
    assert {fault.where for fault in refused.value.faults} == {"amount", "what", "by", "date", "SG-0002"}
    with pytest.raises(BadInput, match="numbers, a docket or a place"):
        add_cost(sqlite_yard.open_work, Decimal(1), what="drying")
    with pytest.raises(BadInput, match="boards on hand there"):
        add_cost(sqlite_yard.open_work, Decimal(1), what="drying", place="rack 9")
    with pytest.raises(NotFound):
        add_cost(sqlite_yard.open_work, Decimal(1), what="drying", docket="9")
