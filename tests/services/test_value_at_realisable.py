from decimal import Decimal

import pytest

from stockyard.errors import BadInput, BoardNotFree, NotFound
from stockyard.records import Yard
from stockyard.services.add_cost import add_cost
from stockyard.services.check_books import check_books
from stockyard.services.dispose_board import dispose_board
from stockyard.services.reverse_movement import reverse_movement
from stockyard.services.value_at_realisable import value_board, value_stock
from stockyard.services.write_down_board import write_down_board
from tests.services.yards import SPOTTED_GUM, receive


def worth(yard: Yard, number: str) -> Decimal:
    with yard.open_work(reading=True) as work:
        return work.pieces.get(number).value


def test_a_write_down_is_taken_back_when_the_price_returns_but_never_above_cost(sqlite_yard: Yard) -> None:
    receive(sqlite_yard, SPOTTED_GUM)
    value_board(sqlite_yard.open_work, "SG-0001", Decimal("30.00"), reason="glut")
    assert worth(sqlite_yard, "SG-0001") == Decimal("30.00")
    value_board(sqlite_yard.open_work, "SG-0001", Decimal("41.00"), reason="less of a glut")
    assert worth(sqlite_yard, "SG-0001") == Decimal("41.00")
    told = value_board(sqlite_yard.open_work, "SG-0001", Decimal("90.00"), reason="scarce")

    assert (told.cost, told.stands, told.change) == (Decimal("48.00"), Decimal("48.00"), Decimal("7.00"))
    with sqlite_yard.open_work(reading=True) as work:
        kinds = [movement.kind.value for movement in work.movements.of_piece("SG-0001")]
    assert kinds == ["receive", "write_down", "write_up", "write_up"]
    assert check_books(sqlite_yard.open_work).disagreements == ()


def test_what_was_added_to_a_board_counts_as_its_cost(sqlite_yard: Yard) -> None:
    receive(sqlite_yard, SPOTTED_GUM)
    write_down_board(sqlite_yard.open_work, "SG-0001", to=Decimal("20.00"), reason="wet")
    add_cost(sqlite_yard.open_work, Decimal("6.00"), what="drying", numbers=["SG-0001"])

    told = value_board(sqlite_yard.open_work, "SG-0001", Decimal(500), reason="dry now")

    assert (told.stood, told.stands) == (Decimal("26.00"), Decimal("54.00"))  # 48 bought and 6 dried


def test_a_write_down_that_was_reversed_is_not_taken_back_twice(sqlite_yard: Yard) -> None:
    receive(sqlite_yard, SPOTTED_GUM)
    write_down_board(sqlite_yard.open_work, "SG-0001", to=Decimal("20.00"), reason="wrong board")
    reverse_movement(sqlite_yard.open_work, 2, reason="it was SG-0002")

    assert value_board(sqlite_yard.open_work, "SG-0001", Decimal(99), reason="price list").change == 0


def test_the_whole_stock_of_a_species_is_valued_piece_by_piece(yard: Yard) -> None:
    """2400 x 180 x 32 mm is 0.013824 m3, so 2,500 a cubic metre is 34.56."""
    receive(yard, SPOTTED_GUM, "spotted gum,2400,180,32,30.00", "blackbutt,2400,180,32,48.00")
    looked = value_stock(
        yard.open_work, Decimal(2500), species="spotted gum", reason="merchant's list", only_look=True
    )
    assert (looked.looked_at, looked.written_down, looked.booked) == (2, Decimal("13.44"), False)
    assert worth(yard, "SG-0001") == Decimal("48.00")

    value_stock(yard.open_work, Decimal(2500), species="spotted gum", reason="merchant's list")
    assert [worth(yard, n) for n in ("SG-0001", "SG-0002", "BB-0001")] == [
        Decimal("34.56"),
        Decimal("30.00"),
        Decimal("48.00"),
    ]
    again = value_stock(yard.open_work, Decimal(2500), species="spotted gum", reason="merchant's list")
    assert again.changed == ()
    back = value_stock(yard.open_work, Decimal(9999), reason="better list")
    assert (back.written_up, worth(yard, "SG-0001")) == (Decimal("13.44"), Decimal("48.00"))
    assert check_books(yard.open_work).disagreements == ()


def test_what_cannot_be_valued_is_refused(sqlite_yard: Yard) -> None:
    receive(sqlite_yard, SPOTTED_GUM)
    with pytest.raises(BadInput) as refused:
        value_board(sqlite_yard.open_work, "SG-0001", Decimal(-1), reason=" ")
    assert {fault.where for fault in refused.value.faults} == {"net realisable value", "reason"}
    with pytest.raises(NotFound):
        value_stock(sqlite_yard.open_work, Decimal(1), species="spotted gun", reason="list")
    with pytest.raises(BadInput, match="board or offcut"):
        value_stock(sqlite_yard.open_work, Decimal(1), kind="stave", reason="list")
    dispose_board(sqlite_yard.open_work, "SG-0001", reason="borers")
    with pytest.raises(BoardNotFree):
        value_board(sqlite_yard.open_work, "SG-0001", Decimal(1), reason="list")
