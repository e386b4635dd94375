from decimal import Decimal

import pytest

from stockyard.errors import AlreadyBooked, BadInput, NotFound
from stockyard.records import Yard
from stockyard.timber.delivery import Measure, Supplier
from tests.conftest import NOON
from tests.stocking import a_delivery


def test_a_delivery_comes_back_as_it_was_booked(yard: Yard) -> None:
    delivery = a_delivery(
        measure=Measure.GROSS,
        goods=Decimal("1176.72"),
        charges={"freight": Decimal("180.00")},
        tax=Decimal("135.67"),
        total=Decimal("1492.39"),
        provenance={"claim": "none", "State": "Queensland"},
        source_file="tally.csv",
        source_sha256="ab" * 32,
    )
    with yard.open_work(who="Ada") as work:
        work.deliveries.add(delivery)
        work.commit()

    with yard.open_work(reading=True) as work:
        back = work.deliveries.get("D-17")
    assert back == a_delivery(
        **{
            name: getattr(delivery, name)
            for name in ("measure", "goods", "charges", "tax", "total", "provenance")
        },
        source_file="tally.csv",
        source_sha256="ab" * 32,
        at=NOON,
        who="Ada",
    )


def test_the_same_docket_of_the_same_supplier_is_booked_once(yard: Yard) -> None:
    with yard.open_work(who="Ada") as work:
        work.deliveries.add(a_delivery())
        with pytest.raises(AlreadyBooked, match="was received on 02 March 2026 by Ada"):
            work.deliveries.add(a_delivery(supplier=" tallow  creek MILL ", docket=" D-17 "))


def test_another_suppliers_docket_may_have_the_same_number(yard: Yard) -> None:
    with yard.open_work() as work:
        work.deliveries.add(a_delivery())
        work.deliveries.add(a_delivery(supplier="Other Mill"))

        assert len(work.deliveries.all()) == 2
        assert work.deliveries.get("D-17", "other mill").supplier == "Other Mill"
        with pytest.raises(BadInput, match="came from Tallow Creek Mill and Other Mill"):
            work.deliveries.get("D-17")


def test_a_docket_that_is_not_there_is_named_with_near_ones(sqlite_yard: Yard) -> None:
    with sqlite_yard.open_work() as work:
        work.deliveries.add(a_delivery())
        with pytest.raises(NotFound, match="Did you mean D-17"):
            work.deliveries.get("D-71")


def test_a_suppliers_particulars_can_be_kept_and_brought_up_to_date(yard: Yard) -> None:
    with yard.open_work() as work:
        work.suppliers.keep(Supplier("Tallow Creek Mill", {"state": "Queensland"}))
        work.suppliers.keep(Supplier("tallow creek mill", {"state": "NSW"}, "moved"))

        assert work.suppliers.all() == (Supplier("Tallow Creek Mill", {"state": "NSW"}, "moved"),)
        with pytest.raises(NotFound, match="Did you mean Tallow Creek Mill"):
            work.suppliers.get("Tallow Creak Mill")
