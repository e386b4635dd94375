"""Reports of what value did over time: worth by month, and the journal as an accountant reads it."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal

from stockyard.reports.report import Column, Report, Unit, cubic_metres, framed
from stockyard.timber.movement import Account, Movement

FLOWS = (
    (Account.SUPPLIERS, "bought", -1),
    (Account.JOBS, "to_jobs", 1),
    (Account.WRITE_DOWNS, "written_down", 1),
    (Account.LOSSES, "lost", 1),
)
"""Where value came from or went, by account; the sign that makes the usual direction positive."""


def worth_report(movements: Sequence[Movement], since: date, until: date, currency: str) -> Report:
    """What the stock stood for at the end of each month, and what changed it in that month.

    movements: all that count by the end of `until`. The last row is of `until` itself.
    """
    columns = (
        Column("until", "evening of", Unit.DAY),
        Column("pieces", "pieces", Unit.COUNT),
        Column("gross_m3", "gross m3", Unit.M3, brief=False),
        *(
            Column(name, name.replace("_", " "), Unit.MONEY, total=True)
            for name in ("bought", "to_jobs", "written_down", "lost")
        ),
        Column("other", "other", Unit.MONEY, total=True, brief=False),
        Column("worth", "worth", Unit.MONEY),
    )
    ends = month_ends(since, until)
    pieces, volume, worth = 0, 0, Decimal(0)
    rows: list[tuple[object, ...]] = []
    waiting = sorted(movements, key=lambda movement: movement.effective)
    place = 0
    known = {account: (name, sign) for account, name, sign in FLOWS}
    for index, end in enumerate(ends):
        flows: dict[str, Decimal] = defaultdict(Decimal)
        while place < len(waiting) and waiting[place].effective <= end:
            movement = waiting[place]
            # What only passes between suppliers, supplies and jobs leaves the timber as it was.
            of_timber = any(line.account is Account.STOCK for line in movement.lines)
            counted = of_timber and (index > 0 or movement.effective >= since)
            for line in movement.lines:
                if line.account is Account.STOCK:
                    pieces, volume, worth = (
                        pieces + line.on_hand,
                        volume + line.volume_mm3,
                        worth + line.value,
                    )
                elif counted:
                    name, sign = known.get(line.account, ("other", -1))
                    flows[name] += sign * line.value
            place += 1
        told = [
            flows.get(name, Decimal("0.00"))
            for name in ("bought", "to_jobs", "written_down", "lost", "other")
        ]
        rows.append((end, pieces, cubic_metres(volume), *told, worth))
    notes = ("Worth is what stood before, and bought, less what went to jobs, was written down and lost.",)
    return Report(
        "worth", "Worth over time", f"{since} to {until}", currency, columns, framed(columns, rows), notes
    )


def journal_report(movements: Sequence[Movement], since: date, until: date, currency: str) -> Report:
    """Every line of value, debit or credit, in the order booked; of each movement they are equal."""
    columns = (
        Column("day", "day", Unit.DAY),
        Column("movement", "no.", Unit.COUNT),
        Column("kind", "kind"),
        Column("account", "account"),
        Column("board", "board"),
        Column("job", "job", brief=False),
        Column("supplier", "supplier", brief=False),
        Column("docket", "docket", brief=False),
        Column("plan", "plan", Unit.COUNT, brief=False),
        Column("debit", "debit", Unit.MONEY, total=True),
        Column("credit", "credit", Unit.MONEY, total=True),
        Column("currency", "currency", brief=False),
        Column("cause", "cause", brief=False),
        Column("by", "by", brief=False),
    )
    rows = [
        (
            movement.effective,
            movement.id,
            movement.kind.value.replace("_", " "),
            line.account.value.replace("_", " "),
            line.piece or "",
            line.job or "",
            movement.supplier or "",
            movement.docket or "",
            movement.plan,
            line.value if line.value > 0 else None,
            -line.value if line.value < 0 else None,
            currency,
            movement.cause,
            movement.who,
        )
        for movement in movements
        if since <= movement.effective <= until
        for line in movement.lines
        if line.value
    ]
    return Report("journal", "Journal", f"{since} to {until}", currency, columns, framed(columns, rows))


def month_ends(since: date, until: date) -> list[date]:
    """The last day of every month from that of `since` on, and `until`."""
    ends: list[date] = []
    day = since.replace(day=1)
    while True:
        day = (day + timedelta(days=31)).replace(day=1)
        if day > until:
            return [*ends, until]
        ends.append(day - timedelta(days=1))
