"""What a job really costs, line by line, against the quote that was given for it."""

from dataclasses import asdict, dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from stockyard.errors import BadInput, Fault, Refused
from stockyard.measures.money import rounded
from stockyard.measures.quantity import show_quantity
from stockyard.prep.quote import Quote
from stockyard.records import retried
from stockyard.services.habits import habits_of
from stockyard.services.quote_job import QuotedJob, quote_job
from stockyard.timber.booked_plan import PlanStatus
from stockyard.timber.job_account import KeptQuote, TimeEntry
from stockyard.timber.movement import MovementKind
from stockyard.timber.supply import SupplyKind

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork

TIMBER = ("timber", "offcuts returned", "timber to buy")
"""The lines of a quote that the timber used up answers."""

OTHER = "other consumables"


@dataclass(frozen=True, slots=True)
class CostLine:
    """One line: what was quoted for it and what it came to; how: where the actual figure comes from."""

    what: str
    quoted: Decimal | None
    actual: Decimal
    how: str

    @property
    def over(self) -> Decimal | None:
        """Actual less quoted, None where nothing was quoted for it."""
        return None if self.quoted is None else self.actual - self.quoted


@dataclass(frozen=True, slots=True)
class JobCost:
    """A job's cost so far against its quote, both before profit and tax.

    quote: the newest that was kept, None when there is none, and then nothing is compared.
    price: what the quote asks, without tax; profit: that less the actual cost.
    ledger: what the ledger says the job bears; staves in work are in the stock still and not in it.
    notes: what is not in the figures yet.
    """

    job: str
    currency: str
    quote: KeptQuote | None
    lines: tuple[CostLine, ...]
    quoted: Decimal | None
    actual: Decimal
    price: Decimal | None
    ledger: Decimal
    minutes: int
    notes: tuple[str, ...]

    @property
    def profit(self) -> Decimal | None:
        """The price asked less what the job came to so far."""
        return None if self.price is None else self.price - self.actual


def keep_quote(
    open_work: "OpenWork",
    name: str,
    *,
    plan: int | None = None,
    buy_at_m3: Decimal | None = None,
    more_minutes: Decimal = Decimal(0),
    who: str = "",
) -> tuple[QuotedJob, KeptQuote]:
    """Quote a job as `quote_job` does, and keep what was quoted so that its actual cost can be held to it."""
    quoted = quote_job(open_work, name, plan=plan, buy_at_m3=buy_at_m3, more_minutes=more_minutes)
    number = None if quoted.plan is None else quoted.plan.number
    document = _document(quoted.quote)
    kept = retried(open_work, lambda work: work.job_accounts.keep_quote(name, number, document), who=who)
    return quoted, kept


def add_time(
    open_work: "OpenWork", job: str, minutes: int, *, on: date | None = None, note: str = "", who: str = ""
) -> tuple[TimeEntry, ...]:
    """Note time spent on a job; below 0 takes some back. Returns all its entries.

    minutes: whole, not 0, at most a day either way. Raises NotFound, BadInput with every fault, Refused when
    more would be taken back than was noted.
    """

    def add(work: "UnitOfWork") -> tuple[TimeEntry, ...]:
        booked = work.jobs.get(job)
        day = on or work.today
        faults = []
        if not minutes or abs(minutes) > 24 * 60:
            faults.append(Fault("minutes", "1 to 1440, or below 0 to take back", str(minutes)))
        if day > work.today:
            faults.append(Fault("date", f"a day up to today, {work.today}", str(day)))
        if faults:
            raise BadInput("The time was not noted.", faults)
        spent = sum(each.minutes for each in work.job_accounts.times(booked.name))
        if spent + minutes < 0:
            raise Refused(f"{booked.name} has {spent} minutes noted; no more than those can be taken back.")
        work.job_accounts.add_time(booked.name, day, minutes, note.strip())
        return work.job_accounts.times(booked.name)

    return retried(open_work, add, who=who)


def job_cost(open_work: "OpenWork", job: str) -> JobCost:
    """What a job has come to so far, against its newest kept quote. Raises NotFound.

    Timber: what its staves stand for, finished, spoiled and in work; offcuts went back and are not in it.
    Consumables: at the weighted average when they were used. Labour: time noted, at the present hourly rate.
    """
    with open_work(reading=True) as work:
        booked = work.jobs.get(job)
        accounts = work.job_accounts
        quotes = accounts.quotes(booked.name)
        minutes = sum(each.minutes for each in accounts.times(booked.name))
        rate = habits_of(work).rates.labour
        borne = accounts.borne(booked.name)
        staves, staves_worth = accounts.in_work(booked.name)
        boards, boards_worth = accounts.promised(booked.name)
        currency = work.workshop.currency
        cut = [each.number for each in work.plans.find(job=booked.name) if each.status is PlanStatus.CUT]
        kinds = {each.name: each for each in work.supplies.all()}
        used = [(kinds[name], *figures) for name, figures in work.supplies.used_by(booked.name).items()]
    quote = quotes[-1] if quotes else None
    quoted = (
        {} if quote is None else {line["what"]: Decimal(line["amount"]) for line in quote.document["lines"]}
    )
    spoiled = sum(
        (borne.get(kind, Decimal(0)) for kind in (MovementKind.CUT, MovementKind.DISPOSE)), Decimal(0)
    )
    made = borne.get(MovementKind.FINISH, Decimal(0))
    lines = [
        CostLine(
            "timber",
            sum((quoted[name] for name in TIMBER if name in quoted), Decimal(0)) if quote else None,
            made + spoiled + staves_worth,
            f"made up {made}, spoiled {spoiled}, {staves} staves in work {staves_worth}",
        )
    ]
    for kind in SupplyKind:
        if kind in (SupplyKind.FASTENER, SupplyKind.ABRASIVE, SupplyKind.OTHER):
            continue
        some = [each for each in used if each[0].kind is kind]
        if some or quoted.get(kind.value):
            lines.append(_used(kind.value, quoted.get(kind.value, Decimal(0)) if quote else None, some))
    rest = [
        each for each in used if each[0].kind in (SupplyKind.FASTENER, SupplyKind.ABRASIVE, SupplyKind.OTHER)
    ]
    if rest:
        lines.append(_used(OTHER, Decimal(0) if quote else None, rest))
    labour = rounded(Decimal(minutes) / 60 * rate, currency)
    lines.append(
        CostLine(
            "labour",
            quoted.get("labour", Decimal(0)) if quote else None,
            labour,
            f"{minutes} min noted, at {rate} an hour",
        )
    )
    notes = []
    if boards:
        notes.append(f"{boards} boards worth {boards_worth} are promised to it and not cut yet.")
    if staves:
        notes.append(f"{staves} staves are in work: the stock holds them until their panel is finished.")
    if quote is not None and cut and quote.plan is not None and quote.plan not in cut:
        done = ", ".join(map(str, cut))
        notes.append(f"The quote counted on plan {quote.plan}; what was cut is plan {done}.")
    if quote is None:
        notes.append(f"No quote was kept: `stockyard quote {booked.name} --keep` keeps one to compare with.")
    return JobCost(
        job=booked.name,
        currency=currency,
        quote=quote,
        lines=tuple(lines),
        quoted=None if quote is None else Decimal(quote.document["cost"]),
        actual=sum((line.actual for line in lines), Decimal(0)),
        price=None if quote is None else Decimal(quote.document["price"]),
        ledger=sum(borne.values(), Decimal(0)),
        minutes=minutes,
        notes=tuple(notes),
    )


def _used(what: str, quoted: Decimal | None, some: list[Any]) -> CostLine:
    told = ", ".join(
        f"{show_quantity(quantity, supply.unit.value)} {supply.name}" for supply, quantity, _ in some
    )
    return CostLine(what, quoted, sum((value for *_, value in some), Decimal(0)), told or "none used yet")


def _document(quote: Quote) -> dict[str, Any]:
    """The quote as plain JSON, money as text."""
    told = asdict(quote)
    told["lines"] = [{**line, "amount": str(line["amount"])} for line in told["lines"]]
    return {name: str(value) if isinstance(value, Decimal) else value for name, value in told.items()} | {
        "assumes": list(quote.assumes)
    }
