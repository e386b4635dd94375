from datetime import date
from decimal import Decimal

import pytest

from stockyard.errors import BadInput, NotFound, Refused
from stockyard.records import Yard
from stockyard.selection.interchange import job_document
from stockyard.services.check_books import check_books
from stockyard.services.reverse_movement import reverse_movement
from stockyard.services.supplies import (
    add_supply,
    buy_supply,
    count_supply,
    list_supplies,
    show_supply,
    use_supply,
)
from tests.builders import a_job


@pytest.fixture
def stocked(yard: Yard) -> Yard:
    """4 kg of glue that cost 54.00 in two purchases, and a job called bench."""
    with yard.open_work() as work:
        work.jobs.keep("bench", job_document(a_job()))
        work.commit()
    add_supply(yard.open_work, "PVA glue", kind="glue", unit="g")
    buy_supply(yard.open_work, "PVA glue", Decimal(1000), cost=Decimal("12.00"), supplier="Brolga Fixings")
    buy_supply(
        yard.open_work,
        "pva  GLUE",
        Decimal(3000),
        cost=Decimal("42.00"),
        supplier="Brolga Fixings",
        docket="77",
    )
    return yard


def shelf(yard: Yard) -> tuple[Decimal, Decimal]:
    (listed,) = list_supplies(yard.open_work)
    return listed.shelf.quantity, listed.shelf.value


def test_a_job_bears_what_it_used_at_the_weighted_average(stocked: Yard) -> None:
    left = use_supply(stocked.open_work, "PVA glue", Decimal(500), job="bench")

    assert (left.shelf.quantity, left.shelf.value) == (Decimal(3500), Decimal("47.25"))  # 54 - 500 x 54/4000
    with stocked.open_work(reading=True) as work:
        assert work.movements.job_cost("bench") == Decimal("6.75")
        assert work.supplies.used_by("bench") == {"PVA glue": (Decimal(500), Decimal("6.75"))}
    assert check_books(stocked.open_work).disagreements == ()


def test_less_on_the_shelf_than_in_the_books_is_a_loss_and_more_is_no_gain(stocked: Yard) -> None:
    count_supply(stocked.open_work, "PVA glue", Decimal(3000), reason="dried up")
    assert shelf(stocked) == (Decimal(3000), Decimal("40.50"))

    count_supply(stocked.open_work, "PVA glue", Decimal(3600), reason="behind the bench")
    assert shelf(stocked) == (Decimal(3600), Decimal("40.50"))
    assert check_books(stocked.open_work).disagreements == ()


def test_a_count_that_agrees_books_nothing(stocked: Yard) -> None:
    count_supply(stocked.open_work, "PVA glue", Decimal(4000), reason="")

    assert len(show_supply(stocked.open_work, "PVA glue")[1]) == 2


def test_its_story_tells_every_movement_and_what_was_left(stocked: Yard) -> None:
    use_supply(stocked.open_work, "PVA glue", Decimal(4000), job="bench", note="big table")
    now, events = show_supply(stocked.open_work, "PVA glue")

    assert (now.shelf.quantity, now.shelf.value) == (0, 0)
    assert [(each.kind.value, each.quantity, each.left.value) for each in events] == [
        ("receive", Decimal(1000), Decimal("12.00")),
        ("receive", Decimal(3000), Decimal("54.00")),
        ("use", Decimal(-4000), Decimal("0.00")),
    ]
    assert events[1].cause == "bought from Brolga Fixings, docket 77"
    assert (events[2].job, events[2].cause) == ("bench", "used for bench: big table")


def test_a_purchase_whose_glue_was_used_cannot_be_taken_back_before_its_use(stocked: Yard) -> None:
    use_supply(stocked.open_work, "PVA glue", Decimal(3500), job="bench")
    first, _, use = show_supply(stocked.open_work, "PVA glue")[1]

    with pytest.raises(Refused, match="used or counted after it"):
        reverse_movement(stocked.open_work, first.movement, reason="wrong docket")
    reverse_movement(stocked.open_work, use.movement, reason="wrong job")
    reverse_movement(stocked.open_work, first.movement, reason="wrong docket")

    assert shelf(stocked) == (Decimal(3000), Decimal("42.00"))
    assert check_books(stocked.open_work).disagreements == ()


def test_bad_input_names_every_fault_and_books_nothing(stocked: Yard) -> None:
    with pytest.raises(BadInput) as refused:
        buy_supply(
            stocked.open_work, "PVA glue", Decimal(-1), cost=Decimal(-2), supplier=" ", day=date(2030, 1, 1)
        )
    assert {fault.where for fault in refused.value.faults} == {"quantity", "date", "supplier", "cost"}
    with pytest.raises(BadInput, match="all there is"):
        use_supply(stocked.open_work, "PVA glue", Decimal(4001), job="bench")
    with pytest.raises(BadInput, match="newest movement"):
        use_supply(stocked.open_work, "PVA glue", Decimal(1), job="bench", day=date(2026, 1, 1))
    with pytest.raises(BadInput, match="why it differs"):
        count_supply(stocked.open_work, "PVA glue", Decimal(1), reason=" ")
    with pytest.raises(NotFound):
        use_supply(stocked.open_work, "PVA glue", Decimal(1), job="chair")
    with pytest.raises(NotFound, match="PVA glue"):
        use_supply(stocked.open_work, "PVB glue", Decimal(1), job="bench")
    with pytest.raises(Refused, match="kept already"):
        add_supply(stocked.open_work, "pva glue", kind="glue", unit="g")
    with pytest.raises(BadInput):
        add_supply(stocked.open_work, " ", kind="gum", unit="cup")

    assert shelf(stocked) == (Decimal(4000), Decimal("54.00"))


def test_what_was_there_on_an_earlier_day_can_be_asked(stocked: Yard) -> None:
    (before,) = list_supplies(stocked.open_work, date(2026, 3, 1))

    assert before.shelf.quantity == 0
