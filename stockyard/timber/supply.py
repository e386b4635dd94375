"""A consumable: glue, screws, finish. Interchangeable, so counted by quantity and worth its average cost."""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum

from stockyard.measures.money import rounded


class SupplyKind(StrEnum):
    """What a consumable is for; a quote has a line for each of the first four."""

    GLUE = "glue"
    CYANOACRYLATE = "cyanoacrylate"
    EPOXY = "epoxy"
    FINISH = "finish"
    FASTENER = "fastener"
    ABRASIVE = "abrasive"
    OTHER = "other"


class SupplyUnit(StrEnum):
    """What a consumable is counted in."""

    GRAM = "g"
    MILLILITRE = "mL"
    EACH = "each"


@dataclass(frozen=True, slots=True)
class Supply:
    """A consumable by name; the name says what a label says, such as "PVA glue"."""

    name: str
    kind: SupplyKind
    unit: SupplyUnit
    note: str = ""


@dataclass(frozen=True, slots=True)
class Shelf:
    """How much of a consumable there is, and what it stands for. quantity: in its unit, to a thousandth."""

    quantity: Decimal = Decimal(0)
    value: Decimal = Decimal(0)

    def cost_of(self, quantity: Decimal, currency: str) -> Decimal:
        """What some of it costs at the weighted average of all that is there, to the cent.

        All of it costs all that it stands for, so that no cent is left on an empty shelf.
        quantity: 0 <= it <= what is there. Source: AASB 102 Inventories (= IAS 2), paragraphs 25 and 27.
        """
        if quantity == self.quantity:
            return self.value
        return min(rounded(self.value * quantity / self.quantity, currency), self.value)

    @property
    def average(self) -> Decimal | None:
        """The weighted average cost of one unit, to six decimals; None while there is none."""
        if not self.quantity:
            return None
        return (self.value / self.quantity).quantize(Decimal("0.000001"), rounding=ROUND_HALF_UP)
