"""What a job will cost before it is begun, line by line, with what is assumed said."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from stockyard.errors import BadInput, Fault
from stockyard.measures.money import rounded
from stockyard.timber import Plan


class Waste(StrEnum):
    """What a percentage of waste is a percentage of; "20 %" is two different sums."""

    ADD_ON = "added to the net"  # net x 1.20
    YIELD_LOSS = "lost from the gross"  # net / 0.80


class Profit(StrEnum):
    """What a percentage of profit is a percentage of."""

    MARKUP = "of the cost"
    MARGIN = "of the price"


@dataclass(frozen=True, slots=True)
class Rates:
    """The workshop's prices, in one currency.

    labour: for an hour. glue: for a kilogram. cyanoacrylate, epoxy: for a millilitre. finish: for a litre;
    cover: what a litre covers in one coat [m2]. profit_pct by `profit`; tax_pct: on the price, GST of 10 %
    by default. waste_pct by `waste`: for timber that is bought and not planned; 20 % added is the middle of
    15-20 % to 20-25 % in published trade advice (furnituremaking.us, woodweb.com).
    """

    labour: Decimal = Decimal(80)
    glue: Decimal = Decimal(15)
    cyanoacrylate: Decimal = Decimal("0.60")
    epoxy: Decimal = Decimal("0.08")
    finish: Decimal = Decimal(60)
    cover_m2: Decimal = Decimal(12)
    profit_pct: Decimal = Decimal(20)
    profit: Profit = Profit.MARKUP
    tax_pct: Decimal = Decimal(10)
    waste_pct: Decimal = Decimal(20)
    waste: Waste = Waste.ADD_ON


@dataclass(frozen=True, slots=True)
class QuoteLine:
    """One line of a quote. amount: below 0 for a credit. how: the sum it comes from."""

    what: str
    amount: Decimal
    how: str


@dataclass(frozen=True, slots=True)
class Quote:
    """What a job costs and what is asked for it. cost + profit = price; price + tax = total.

    assumes: what a reader has to know to trust it.
    """

    currency: str
    lines: tuple[QuoteLine, ...]
    cost: Decimal
    profit: Decimal
    price: Decimal
    tax: Decimal
    total: Decimal
    assumes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Work:
    """What a job takes besides timber.

    minutes: of labour. glue_g; cyanoacrylate_ml, epoxy_ml: mixed or used. finish_m2, coats: area of one coat.
    """

    minutes: Decimal = Decimal(0)
    glue_g: Decimal = Decimal(0)
    cyanoacrylate_ml: Decimal = Decimal(0)
    epoxy_ml: Decimal = Decimal(0)
    finish_m2: Decimal = Decimal(0)
    coats: int = 0


def gross_of_net(net: Decimal, waste_pct: Decimal, waste: Waste) -> Decimal:
    """What has to be bought for a net quantity. [in its unit]

    waste_pct: 0 <= it, and below 100 where it is lost from the gross. Raises BadInput.
    """
    if not waste_pct.is_finite() or waste_pct < 0 or (waste is Waste.YIELD_LOSS and waste_pct >= 100):
        raise BadInput(
            "That is no share of waste.",
            [Fault("waste", "0 % or more, below 100 % of the gross", f"{waste_pct}")],
        )
    if waste is Waste.ADD_ON:
        return net * (100 + waste_pct) / 100
    return net * 100 / (100 - waste_pct)


def timber_of_plan(plan: Plan) -> tuple[QuoteLine, ...]:
    """The timber a plan uses up, and the credit for the offcuts that go back on the rack."""
    parts = plan.cost_parts
    lines = [QuoteLine("timber", parts.timber, f"book value of {len(plan.boards)} boards cut")]
    if parts.offcuts:
        count = sum(len(board.offcuts) for board in plan.boards)
        lines.append(QuoteLine("offcuts returned", parts.offcuts, f"{count} offcuts at the plan's recovery"))
    return tuple(lines)


def timber_to_buy(net_m3: Decimal, price_m3: Decimal, rates: Rates) -> QuoteLine:
    """Timber that is not in stock: net volume with waste, at a price for a cubic metre."""
    gross = gross_of_net(net_m3, rates.waste_pct, rates.waste)
    how = f"{net_m3:.4f} m3 net, {rates.waste_pct:g} % {rates.waste}: {gross:.4f} m3 at {price_m3}"
    return QuoteLine("timber to buy", gross * price_m3, how)


def make_quote(timber: Sequence[QuoteLine], work: Work, rates: Rates, currency: str) -> Quote:
    """A quote from timber lines, work and rates. Lines are rounded to the cent; the sums are of the lines.

    Raises BadInput when a rate is below 0, or a margin takes the whole price.
    """
    _check(work, rates)
    lines = [
        *timber,
        QuoteLine(
            "cyanoacrylate", work.cyanoacrylate_ml * rates.cyanoacrylate, f"{work.cyanoacrylate_ml:.1f} mL"
        ),
        QuoteLine("epoxy", work.epoxy_ml * rates.epoxy, f"{work.epoxy_ml:.1f} mL mixed"),
        QuoteLine("glue", work.glue_g / 1000 * rates.glue, f"{work.glue_g:.0f} g"),
        QuoteLine(
            "finish",
            work.finish_m2 * work.coats / rates.cover_m2 * rates.finish,
            f"{work.finish_m2:.2f} m2, {work.coats} coats, {rates.cover_m2} m2 to the litre",
        ),
        QuoteLine(
            "labour", work.minutes / 60 * rates.labour, f"{work.minutes:.0f} min at {rates.labour} an hour"
        ),
    ]
    kept = tuple(
        QuoteLine(line.what, rounded(line.amount, currency), line.how) for line in lines if line.amount != 0
    )
    cost = sum((line.amount for line in kept), Decimal(0))
    share = rates.profit_pct / 100
    price = rounded(cost * (1 + share) if rates.profit is Profit.MARKUP else cost / (1 - share), currency)
    tax = rounded(price * rates.tax_pct / 100, currency)
    assumes = (
        f"Profit is {rates.profit_pct:g} % {rates.profit}.",
        f"Tax is {rates.tax_pct:g} % of the price; costs are without tax that is recovered.",
        "Labour is as estimated; machines, rent and delivery are in the hourly rate.",
    )
    return Quote(currency, kept, cost, price - cost, price, tax, price + tax, assumes)


def _check(work: Work, rates: Rates) -> None:
    faults = []
    for owner, names in (
        (work, ("minutes", "glue_g", "cyanoacrylate_ml", "epoxy_ml", "finish_m2", "coats")),
        (rates, ("labour", "glue", "cyanoacrylate", "epoxy", "finish", "profit_pct", "tax_pct")),
    ):
        for name in names:
            value = Decimal(getattr(owner, name))
            if not value.is_finite() or value < 0:
                faults.append(Fault(name, "0 or more", str(value)))
    if not rates.cover_m2.is_finite() or rates.cover_m2 <= 0:
        faults.append(Fault("cover_m2", "above 0", str(rates.cover_m2)))
    if rates.profit is Profit.MARGIN and rates.profit_pct >= 100:
        faults.append(Fault("profit_pct", "below 100 % of the price", str(rates.profit_pct)))
    if faults:
        raise BadInput("The quote cannot be worked out.", faults)
