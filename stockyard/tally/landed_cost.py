"""What each piece really cost, delivered: its purchase, its share of every charge, tax as the law has it."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from stockyard.errors import BadInput, Fault
from stockyard.measures.money import apportion, exact, minor_digits, rounded, smallest_unit


class ShareBy(StrEnum):
    """What a charge is shared out by."""

    VOLUME = "volume"
    MASS = "mass"
    VALUE = "value"


@dataclass(frozen=True, slots=True)
class Tax:
    """The tax on sales. [percent of the amount without it]

    recoverable: whether the workshop gets it back (it is registered), so that it is no part of cost.
    The default is the goods and services tax of Australia and a registered workshop.
    """

    rate_pct: Decimal = Decimal(10)
    recoverable: bool = True


@dataclass(frozen=True, slots=True)
class Charge:
    """Freight, a levy, unloading: money besides the timber.

    tax_included: whether `amount` has tax in it. taxable: False where no tax is charged on it at all.
    on_docket: False for what someone else bills, such as a carrier; it is then no part of the docket total.
    """

    name: str
    amount: Decimal
    share_by: ShareBy = ShareBy.VOLUME
    tax_included: bool = False
    taxable: bool = True
    on_docket: bool = True


@dataclass(frozen=True, slots=True)
class CostedLine:
    """Pieces alike: how many, one's volume [mm3, > 0] and mass [kg, where known], the money for all of them.

    purchase: exact or rounded, None in a lot.
    """

    quantity: int
    piece_mm3: Decimal
    purchase: Fraction | Decimal | None = None
    piece_kg: Decimal | None = None


@dataclass(frozen=True, slots=True)
class PieceCost:
    """One piece's cost in exact cents: its purchase and its share of each charge, in the charges' order."""

    purchase: Decimal
    charges: tuple[Decimal, ...] = ()

    @property
    def landed(self) -> Decimal:
        """What it stands in the books for."""
        return self.purchase + sum(self.charges, Decimal(0))


@dataclass(frozen=True, slots=True)
class LandedCost:
    """The cost of a delivery, piece by piece; every part adds up to its total to the cent.

    lines: for each line, the cost of each of its pieces. purchase, charges: totals that go into stock.
    tax: all the tax charged; recoverable: how much of it is kept out of stock.
    """

    lines: tuple[tuple[PieceCost, ...], ...]
    purchase: Decimal
    charges: tuple[Decimal, ...]
    tax: Decimal
    recoverable: Decimal

    @property
    def total(self) -> Decimal:
        """What goes into stock."""
        return self.purchase + sum(self.charges, Decimal(0))


def landed_cost(
    lines: Sequence[CostedLine],
    currency: str,
    *,
    charges: Sequence[Charge] = (),
    tax: Tax | None = None,
    tax_included: bool = False,
    lot_total: Decimal | None = None,
    docket_total: Decimal | None = None,
    docket_total_includes_tax: bool = True,
) -> LandedCost:
    """Each piece's landed cost, in cents that add up to the docket.

    Each line is rounded to cents as on an invoice. Each of timber and charges is then shared out apart,
    first over the lines and then over a line's pieces, by largest remainder.
    tax: None for a purchase without any. tax_included: whether the lines' money, or the lot's, has tax in
    it. lot_total: the timber's money where lines have none; shared by volume. docket_total: what the docket
    comes to, timber and its own charges; it may differ from their sum by the rounding of a cent a line and
    charge, and the timber then takes the difference.
    Raises BadInput when the money does not add up, is below zero, or a mass is wanting.
    Source: AASB 102 (IAS 2) paragraph 10: cost is what it takes to bring stock to its place and condition.
    """
    _check(lines, charges, lot_total)
    rate = _Rate(tax, currency)
    line_money = _line_money(lines, lot_total, currency)
    timber = _Sum(*rate.both(sum(line_money, Decimal(0)), included=tax_included, taxable=True))
    extras = [
        _Sum(*rate.both(exact(c.amount, currency, c.name), included=c.tax_included, taxable=c.taxable))
        for c in charges
    ]
    if docket_total is not None:
        beside = [extra for extra, charge in zip(extras, charges, strict=True) if charge.on_docket]
        timber = _reconciled(
            timber,
            beside,
            exact(docket_total, currency, "docket total"),
            docket_total_includes_tax,
            rate,
            cents=smallest_unit(currency) * (len(lines) + len(beside) + 1),
        )
    by_volume = [line.piece_mm3 * line.quantity for line in lines]
    values: Sequence[Decimal | Fraction] = (
        by_volume if lot_total is not None else [line.purchase or Decimal(0) for line in lines]
    )
    purchases = _shared(timber.in_stock(rate), values, lines, currency)
    parts = []
    for extra, charge in zip(extras, charges, strict=True):
        weights: Sequence[Decimal | Fraction] = {
            ShareBy.VOLUME: by_volume,
            ShareBy.VALUE: values,
            ShareBy.MASS: [(line.piece_kg or Decimal(0)) * line.quantity for line in lines],
        }[charge.share_by]
        parts.append(_shared(extra.in_stock(rate), weights, lines, currency))
    pieces = tuple(
        tuple(PieceCost(purchases[i][j], tuple(part[i][j] for part in parts)) for j in range(line.quantity))
        for i, line in enumerate(lines)
    )
    all_tax = sum((each.with_tax - each.without for each in (timber, *extras)), Decimal(0))
    return LandedCost(
        lines=pieces,
        purchase=timber.in_stock(rate),
        charges=tuple(extra.in_stock(rate) for extra in extras),
        tax=all_tax,
        recoverable=all_tax if rate.recoverable else Decimal(0),
    )


@dataclass(frozen=True, slots=True)
class _Sum:
    """A sum of money without and with its tax, both in whole cents."""

    without: Decimal
    with_tax: Decimal

    def in_stock(self, rate: "_Rate") -> Decimal:
        """What of it is cost."""
        return self.without if rate.recoverable else self.with_tax


class _Rate:
    def __init__(self, tax: Tax | None, currency: str) -> None:
        if tax and not (tax.rate_pct.is_finite() and 0 <= tax.rate_pct <= 100):
            raise BadInput(f"A tax of {tax.rate_pct} percent cannot be; give 0 to 100.")
        self.currency = currency
        self.recoverable = tax is None or tax.recoverable
        self.factor = 1 + (Fraction(tax.rate_pct) / 100 if tax else 0)

    def both(self, amount: Decimal, *, included: bool, taxable: bool) -> tuple[Decimal, Decimal]:
        """The amount without and with tax."""
        if not taxable:
            return amount, amount
        if included:
            return _rounded(Fraction(amount) / self.factor, self.currency), amount
        return amount, _rounded(Fraction(amount) * self.factor, self.currency)


def _rounded(amount: Fraction, currency: str) -> Decimal:
    """An exact amount to cents, halves away from zero."""
    # Integers, because a Decimal quotient would be rounded before it is rounded to cents.
    above, below = abs(amount.numerator) * 10 ** minor_digits(currency), amount.denominator
    whole = (2 * above + below) // (2 * below)
    return Decimal(whole if amount >= 0 else -whole).scaleb(-minor_digits(currency))


def _check(lines: Sequence[CostedLine], charges: Sequence[Charge], lot_total: Decimal | None) -> None:
    faults = []
    if not lines:
        raise BadInput("There is no timber on this docket to put a cost on.")
    by_mass = [charge.name for charge in charges if charge.share_by is ShareBy.MASS]
    for index, line in enumerate(lines, 1):
        where = f"line {index}"
        if line.quantity < 1 or not line.piece_mm3.is_finite() or line.piece_mm3 <= 0:
            faults.append(Fault(where, "at least one piece, of a volume above 0"))
        if lot_total is None and (line.purchase is None or line.purchase < 0):
            faults.append(Fault(where, "a price of 0 or more, or a total for the lot"))
        if lot_total is not None and line.purchase is not None:
            faults.append(Fault(where, "no price of its own beside a total for the lot"))
        if by_mass and (line.piece_kg is None or not line.piece_kg.is_finite() or line.piece_kg <= 0):
            faults.append(Fault(where, f"a mass, since {by_mass[0]} is shared by mass"))
    faults += [
        Fault(charge.name, "an amount of 0 or more", str(charge.amount))
        for charge in charges
        if not charge.amount.is_finite() or charge.amount < 0
    ]
    if lot_total is not None and (not lot_total.is_finite() or lot_total < 0):
        faults.append(Fault("lot total", "an amount of 0 or more", str(lot_total)))
    if faults:
        raise BadInput("The docket's cost cannot be shared out.", faults)


def _line_money(lines: Sequence[CostedLine], lot_total: Decimal | None, currency: str) -> list[Decimal]:
    """Each line's money as an invoice rounds it; a lot is one line."""
    if lot_total is not None:
        return [exact(lot_total, currency, "lot total")]
    return [
        _rounded(line.purchase, currency)
        if isinstance(line.purchase, Fraction)
        else rounded(line.purchase, currency)
        for line in lines
        if line.purchase is not None
    ]


def _reconciled(
    timber: _Sum, beside: Sequence[_Sum], stated: Decimal, includes_tax: bool, rate: _Rate, cents: Decimal
) -> _Sum:
    """The timber's sum, so that with the charges it is the docket's total."""
    found = timber.with_tax if includes_tax else timber.without
    others = sum((extra.with_tax if includes_tax else extra.without for extra in beside), Decimal(0))
    wanted = stated - others
    if abs(wanted - found) > cents or wanted < 0:
        side = "with" if includes_tax else "without"
        raise BadInput(
            "The docket does not add up.",
            [
                Fault(
                    "docket total",
                    f"{found + others} {side} tax, the sum of its lines and charges",
                    str(stated),
                )
            ],
        )
    if wanted == found:
        return timber
    return _Sum(*rate.both(wanted, included=includes_tax, taxable=True))


def _shared(
    total: Decimal, weights: Sequence[Decimal | Fraction], lines: Sequence[CostedLine], currency: str
) -> list[list[Decimal]]:
    """`total` over the lines by weight, and each line's share over its pieces evenly."""
    if not any(weights):
        # Timber given away still carries its freight: by volume, there being no value to go by.
        weights = [line.piece_mm3 * line.quantity for line in lines]
    shares = apportion(total, weights, currency)
    return [
        [share] if line.quantity == 1 else apportion(share, [1] * line.quantity, currency)
        for share, line in zip(shares, lines, strict=True)
    ]
