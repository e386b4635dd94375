"""What everything stands for, added up by the database: quick on a yard of any size, on any day."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Fault
from stockyard.measures.money import minor_digits
from stockyard.measures.rounding import adding_up
from stockyard.timber.movement import Account

if TYPE_CHECKING:
    from stockyard.records import OpenWork

GROUPS = ("species", "thickness", "place", "status", "docket")
"""What worth can be added up by without looking at single pieces."""


NONE = (0, 0, Decimal(0))


@dataclass(frozen=True, slots=True)
class StockWorth:
    """What stands in the books on the evening of `as_of`. accounts: what each has come to by then.

    supplies: consumables, at weighted average. All exact money of `currency`; the accounts add up to nothing.
    """

    as_of: date
    currency: str
    pieces: int
    volume_mm3: int
    timber: Decimal
    supplies: Decimal
    accounts: tuple[tuple[Account, Decimal], ...]

    @property
    def total(self) -> Decimal:
        """Timber and consumables."""
        return self.timber + self.supplies


@dataclass(frozen=True, slots=True)
class WorthLine:
    """Pieces that agree in what was asked. key: in the order asked. gross_m3, worth: add up as printed."""

    key: tuple[object, ...]
    pieces: int
    gross_m3: Decimal
    worth: Decimal


def stock_worth(open_work: "OpenWork", as_of: date | None = None) -> StockWorth:
    """What the whole stock stands for, by the end of a day; now when None. Raises BadInput."""
    with open_work(reading=True) as work:
        _refuse((), as_of, work.today)
        accounts = work.stock.accounts(as_of)
        pieces, volume, timber = work.stock.totals() if as_of is None else accounts.get(Account.STOCK, NONE)
        return StockWorth(
            as_of=as_of or work.today,
            currency=work.workshop.currency,
            pieces=pieces,
            volume_mm3=volume,
            timber=timber,
            supplies=accounts.get(Account.SUPPLIES, NONE)[2],
            accounts=tuple((each, accounts.get(each, NONE)[2]) for each in Account),
        )


def worth_lines(open_work: "OpenWork", by: Sequence[str], as_of: date | None = None) -> tuple[WorthLine, ...]:
    """Pieces, gross volume and worth of each group, in order. by: any of GROUPS. Raises BadInput.

    as_of: by the end of that day; now when None.
    """
    with open_work(reading=True) as work:
        _refuse(by, as_of, work.today)
        digits = minor_digits(work.workshop.currency)
        sums = work.stock.summed(by, as_of)
    ordered = sorted(sums.items(), key=lambda item: tuple(_order(part) for part in item[0]))
    volumes = adding_up([Decimal(figures[1]).scaleb(-9) for _, figures in ordered], 4)
    worths = adding_up([figures[2] for _, figures in ordered], digits)
    return tuple(
        WorthLine(key, figures[0], volume, worth)
        for (key, figures), volume, worth in zip(ordered, volumes, worths, strict=True)
    )


def _refuse(by: Sequence[str], as_of: date | None, today: date) -> None:
    faults = [Fault("--by", f"one of {', '.join(GROUPS)}", name) for name in by if name not in GROUPS]
    if as_of is not None and as_of > today:
        faults.append(Fault("--as-of", f"a day up to today, {today}", str(as_of)))
    if faults:
        raise BadInput("The stock cannot be valued so.", faults)


def _order(part: object) -> tuple[float, str]:
    return (float(part), "") if isinstance(part, int | float) else (0.0, str(part))
