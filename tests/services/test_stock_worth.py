from datetime import date
from decimal import Decimal

import pytest

from stockyard.errors import BadInput
from stockyard.records import Yard
from stockyard.services.dispose_board import dispose_board
from stockyard.services.report_holdings import report_holdings
from stockyard.services.stock_worth import GROUPS, stock_worth, worth_lines
from stockyard.services.supplies import add_supply, buy_supply
from stockyard.services.write_down_board import write_down_board
from stockyard.timber.movement import Account
from tests.services.yards import SPOTTED_GUM, receive


@pytest.fixture
def busy(yard: Yard) -> Yard:
    """Four boards for 163.35, one thrown away and one written down by 8.00, and glue for 14.50."""
    receive(yard, SPOTTED_GUM, SPOTTED_GUM, docket="1")
    receive(yard, "blackbutt,1800,140,25,31.35", "blackbutt,1800,140,38,36.00", docket="2", place="rack 2",
            day=date(2026, 2, 20))  # fmt: skip
    dispose_board(yard.open_work, "SG-0001", reason="borers")
    write_down_board(yard.open_work, "SG-0002", to=Decimal("40.00"), reason="sappy")
    add_supply(yard.open_work, "PVA glue", kind="glue", unit="g")
    buy_supply(yard.open_work, "PVA glue", Decimal(1000), cost=Decimal("14.50"), supplier="Brolga Fixings")
    return yard


def test_the_whole_stock_is_valued_now_and_on_a_day_gone_by(busy: Yard) -> None:
    now = stock_worth(busy.open_work)

    assert (now.pieces, now.timber, now.supplies) == (3, Decimal("107.35"), Decimal("14.50"))
    assert now.volume_mm3 == 2400 * 180 * 32 + 1800 * 140 * (25 + 38)
    assert now.total == Decimal("121.85")
    accounts = dict(now.accounts)
    assert sum(accounts.values()) == 0
    assert accounts[Account.SUPPLIERS] == -Decimal("177.85")
    assert (accounts[Account.LOSSES], accounts[Account.WRITE_DOWNS]) == (Decimal("48.00"), Decimal("8.00"))
    then = stock_worth(busy.open_work, date(2026, 2, 10))
    assert (then.pieces, then.timber, then.supplies) == (2, Decimal("96.00"), Decimal(0))
    assert stock_worth(busy.open_work, date(2026, 1, 1)).pieces == 0


@pytest.mark.parametrize("by", [(), *((each,) for each in GROUPS), ("place", "species")])
@pytest.mark.parametrize("day", [None, date(2026, 2, 25)])
def test_groups_are_what_a_report_piece_by_piece_says(
    busy: Yard, by: tuple[str, ...], day: date | None
) -> None:
    slow = [
        (tuple(row[name] for name in by), row["pieces"], row["gross_m3"], row["worth"])
        for row in report_holdings(busy.open_work, by, day).rows
    ]
    lines = worth_lines(busy.open_work, by, day)

    assert [(each.key, each.pieces, each.gross_m3, each.worth) for each in lines] == (
        slow[:-1] if by else slow
    )


def test_a_day_to_come_and_a_group_that_is_none_are_refused(sqlite_yard: Yard) -> None:
    with pytest.raises(BadInput) as refused:
        worth_lines(sqlite_yard.open_work, ("colour",), date(2030, 1, 1))
    assert {fault.where for fault in refused.value.faults} == {"--by", "--as-of"}
