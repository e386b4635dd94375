from datetime import date, timedelta
from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from stockyard.ledger import account_sums, balanced, fold
from stockyard.reports.flow import journal_report, month_ends, worth_report
from stockyard.timber.movement import Account, Line, Movement, MovementKind

FIRST = date(2026, 1, 10)


def movement(
    number: int, day: date, value: str, account: Account = Account.SUPPLIERS, on_hand: int = 0
) -> Movement:
    lines = balanced([Line(f"SG-{number}", on_hand, 0, Decimal(value), 10**7 * on_hand)], account)
    return Movement(MovementKind.RECEIVE, lines, day, "why", id=number, who="Ada")


def test_months_end_on_their_last_days_and_the_last_on_the_day_asked_for() -> None:
    assert month_ends(date(2023, 12, 5), date(2024, 3, 10)) == [
        date(2023, 12, 31), date(2024, 1, 31), date(2024, 2, 29), date(2024, 3, 10),
    ]  # fmt: skip
    assert month_ends(date(2026, 2, 28), date(2026, 2, 28)) == [date(2026, 2, 28)]


def test_worth_by_month_tells_what_changed_it() -> None:
    movements = [
        movement(1, date(2026, 1, 10), "100.00", on_hand=1),
        movement(2, date(2026, 2, 3), "50.00", on_hand=1),
        movement(1, date(2026, 2, 9), "-30.00", Account.WRITE_DOWNS),
        movement(1, date(2026, 3, 1), "-70.00", Account.LOSSES, on_hand=-1),
        movement(2, date(2026, 3, 2), "-20.00", Account.JOBS),
    ]

    rows = worth_report(movements, date(2026, 2, 1), date(2026, 3, 5), "AUD").frame.to_dict("records")

    told = [
        [str(row[name]) for name in ("bought", "written_down", "lost", "to_jobs", "worth")] for row in rows
    ]
    assert told == [["50.00", "30.00", "0.00", "0.00", "120.00"], ["0.00", "0.00", "70.00", "20.00", "30.00"]]
    assert [(row["until"], row["pieces"], str(row["gross_m3"])) for row in rows] == [
        (date(2026, 2, 28), 2, "0.020000000"),
        (date(2026, 3, 5), 1, "0.010000000"),
    ]


def test_glue_bought_and_used_is_not_counted_as_timber() -> None:
    bought = (
        Line(account=Account.SUPPLIES, value=Decimal("8.00"), supply="glue", quantity=Decimal(1)),
        Line(account=Account.SUPPLIERS, value=Decimal("-8.00")),
    )
    used = (
        Line(account=Account.SUPPLIES, value=Decimal("-2.00"), supply="glue", quantity=Decimal("-0.25")),
        Line(account=Account.JOBS, value=Decimal("2.00"), job="hall-bench"),
    )
    movements = [
        movement(1, FIRST, "100.00", on_hand=1),
        Movement(MovementKind.RECEIVE, bought, FIRST, "why", id=2, who="Ada"),
        Movement(MovementKind.USE, used, FIRST, "why", id=3, who="Ada"),
    ]

    (row,) = worth_report(movements, FIRST, FIRST, "AUD").frame.to_dict("records")

    assert [str(row[name]) for name in ("bought", "to_jobs", "other", "worth")] == [
        "100.00",
        "0.00",
        "0.00",
        "100.00",
    ]


def test_the_journal_has_a_debit_for_every_credit() -> None:
    movements = [
        movement(1, FIRST, "100.00", on_hand=1),
        movement(1, FIRST + timedelta(40), "-30.00", Account.JOBS),
    ]
    movements.append(Movement(MovementKind.ALLOCATE, (Line("SG-1", promised=1),), FIRST, id=3))

    made = journal_report(movements, FIRST, FIRST + timedelta(60), "AUD")

    assert [(row[1], row[3], row[9], row[10]) for row in made.rows] == [
        (1, "stock", Decimal("100.00"), None),
        (1, "suppliers", None, Decimal("100.00")),
        (1, "stock", None, Decimal("30.00")),
        (1, "jobs", Decimal("30.00"), None),
    ]
    assert made.foot == {"debit": Decimal("130.00"), "credit": Decimal("130.00")}
    assert len(journal_report(movements, FIRST + timedelta(1), FIRST + timedelta(60), "AUD").rows) == 2


MOVEMENTS = st.lists(
    st.builds(
        lambda n, days, cents, account, there: movement(
            n, FIRST + timedelta(days), str(Decimal(cents) / 100), account, there
        ),
        st.integers(1, 5),
        st.integers(0, 120),
        st.integers(-10_000, 10_000),
        st.sampled_from([account for account in Account if account is not Account.STOCK]),
        st.integers(-1, 1),
    ),
    max_size=20,
)


@settings(max_examples=100, deadline=None)
@given(MOVEMENTS, st.integers(0, 130), st.integers(0, 130))
def test_every_month_end_is_the_replay_to_that_day_and_the_flows_explain_it(
    movements: list[Movement], begin: int, end: int
) -> None:
    since, until = FIRST + timedelta(min(begin, end)), FIRST + timedelta(max(begin, end))
    rows = worth_report(movements, since, until, "AUD").frame.to_dict("records")

    opening = sum((sums.value for sums in fold(movements, since - timedelta(1)).values()), Decimal(0))
    for row in rows:
        sums = list(fold(movements, row["until"]).values())
        assert row["worth"] == sum((each.value for each in sums), Decimal(0))
        assert row["worth"] == -sum(
            (
                value
                for account, value in account_sums(movements, row["until"]).items()
                if account is not Account.STOCK
            ),
            Decimal(0),
        )
        assert row["pieces"] == sum(each.on_hand for each in sums)
        opening += row["bought"] - row["to_jobs"] - row["written_down"] - row["lost"] + row["other"]
        assert opening == row["worth"]
