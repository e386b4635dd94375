from datetime import date, timedelta
from decimal import Decimal
from functools import partial

import pytest

from stockyard.errors import BadInput
from stockyard.ledger import OffcutPolicy
from stockyard.records import Yard
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.cut_plan import cut_plan
from stockyard.services.offcut_policy import choose_policy, show_policy
from tests.conftest import NOON
from tests.services.test_allocate_plan import planned

TODAY = NOON.date()


def offcut_values(yard: Yard, plan: int, day: date | None = None) -> list[Decimal]:
    """What the offcuts of a plan stand for when it is cut, written down on 8 March."""
    later = partial(yard.open_work, now=NOON + timedelta(days=6))
    allocate_plan(later, plan)
    return [piece.value for piece in cut_plan(later, plan, effective=day).offcuts]


def test_a_new_yard_shares_by_volume_and_may_choose_at_once(yard: Yard) -> None:
    assert (show_policy(yard.open_work).today, show_policy(yard.open_work).entries) == (
        OffcutPolicy.VOLUME,
        (),
    )

    told = choose_policy(partial(yard.open_work, who="Ada"), "by_product")

    assert told.today is OffcutPolicy.BY_PRODUCT
    ((policy, since, at, who),) = [(each.policy, each.since, each.at, each.who) for each in told.entries]
    assert (policy, since, at, who) == (OffcutPolicy.BY_PRODUCT, TODAY, NOON, "Ada")


@pytest.mark.parametrize(
    ("cut_on", "worth"),
    [
        # By volume 48.00 x 1157 x 180 / (1157 x 180 + 1220 x 140); as a by-product the plan's 11.20.
        (date(2026, 3, 5), Decimal("26.37")),
        (date(2026, 3, 6), Decimal("11.20")),
        (None, Decimal("11.20")),
    ],
)
def test_a_change_counts_for_what_is_cut_from_its_day_on(
    yard: Yard, cut_on: date | None, worth: Decimal
) -> None:
    plan, _ = planned(yard)
    told = choose_policy(yard.open_work, "by_product", date(2026, 3, 6))
    assert told.today is OffcutPolicy.VOLUME

    assert offcut_values(yard, plan, cut_on) == [worth, worth]


def test_once_something_was_cut_only_days_to_come_can_be_changed(yard: Yard) -> None:
    plan, _ = planned(yard)
    allocate_plan(yard.open_work, plan)
    cut_plan(yard.open_work, plan)

    for since in (TODAY - timedelta(days=1), TODAY):
        with pytest.raises(BadInput) as refused:
            choose_policy(yard.open_work, "by_product", since)
        assert [fault.where for fault in refused.value.faults] == ["--from"]

    assert choose_policy(yard.open_work, "by_product").entries[0].since == TODAY + timedelta(days=1)


def test_what_is_no_change_or_no_policy_is_refused(yard: Yard) -> None:
    for word, since, faults in (("volume", None, 1), ("by_weight", TODAY - timedelta(days=1), 2)):
        with pytest.raises(BadInput) as refused:
            choose_policy(yard.open_work, word, since)
        assert len(refused.value.faults) == faults
    assert show_policy(yard.open_work).entries == ()
