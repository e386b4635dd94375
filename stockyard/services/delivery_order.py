"""What a docket says besides its tally, as plain words: from a form, a script, or kept with an errand.

    order_from(words) -> Order

words: text by name; what is left out or empty is as usual. supplier, docket, date, place, freight, charges
({name: amount}), share_by, tax (percent), tax_lost, with_tax ("yes", "no"), total, species, thickness, price,
price_unit, lot, unit, gross, sheet, columns ({header: what it holds}), new_species (list), provenance.
"""

from collections.abc import Callable, Mapping
from decimal import Decimal
from enum import StrEnum
from typing import Any, TypeVar

from stockyard.errors import BadInput, Fault
from stockyard.measures.date_text import parse_date
from stockyard.measures.length import LengthUnit
from stockyard.measures.number import parse_number
from stockyard.measures.price import PriceUnit
from stockyard.services.receive_delivery import Order
from stockyard.tally import Charge, Measure, Role, ShareBy, TallyOptions, Tax

Word = TypeVar("Word", bound=StrEnum)
Value = TypeVar("Value")

WORDS = (
    "supplier", "docket", "date", "place", "freight", "share_by", "tax", "tax_lost", "with_tax", "total",
    "species", "thickness", "price", "price_unit", "lot", "unit", "gross", "sheet",
)  # fmt: skip
"""Every name that stands for one text."""


def order_from(words: Mapping[str, Any]) -> Order:
    """The order that these words mean. Raises BadInput with everything in them that cannot be meant."""
    read = _Reading(words)
    freight = read.amount("freight")
    share_by = read.word("share_by", ShareBy) or ShareBy.VOLUME
    charges = [] if freight is None else [Charge("freight", freight, share_by)]
    for name, amount in dict(words.get("charges") or {}).items():
        said = read.value(f"charge {name}", str(amount), lambda text: parse_number(text, where="charge"))
        charges += [] if said is None else [Charge(str(name), said, share_by)]
    rate = read.amount("tax", Decimal(10))
    columns = {
        str(header): role
        for header, said in dict(words.get("columns") or {}).items()
        if said and (role := read.one_of(f"column {header}", str(said), Role)) is not None
    }
    with_tax = read.text("with_tax").casefold()
    order = Order(
        supplier=read.text("supplier"),
        docket=read.text("docket"),
        received_on=read.value("date", read.text("date"), lambda text: parse_date(text, where="date")),
        charges=tuple(charges),
        tax=Tax(rate_pct=rate, recoverable=not words.get("tax_lost")) if rate else None,
        docket_total=read.amount("total"),
        place=read.text("place"),
        provenance={str(name): str(said) for name, said in dict(words.get("provenance") or {}).items()},
        new_species=tuple(str(name).strip() for name in words.get("new_species") or () if str(name).strip()),
        options=TallyOptions(
            unit=read.word("unit", LengthUnit),
            sheet=read.text("sheet") or None,
            columns=columns,
            species=read.text("species") or None,
            thickness_mm=read.amount("thickness"),
            price=read.amount("price"),
            price_unit=read.word("price_unit", PriceUnit),
            lot_total=read.amount("lot"),
            tax_included={"yes": True, "no": False}.get(with_tax),
            measure=Measure.GROSS if words.get("gross") else Measure.NET,
        ),
    )
    if read.faults:
        raise BadInput("The docket cannot be meant so; nothing was written.", read.faults)
    return order


class _Reading:
    """Words read into values, each fault noted."""

    def __init__(self, words: Mapping[str, Any]) -> None:
        self._words = words
        self.faults: list[Fault] = []

    def text(self, name: str) -> str:
        """A text; "" where it is missing."""
        return str(self._words.get(name) or "").strip()

    def amount(self, name: str, usual: Decimal | None = None) -> Decimal | None:
        """A number, or what is usual where none is said."""
        said = self._words.get(name)
        if said is None or str(said).strip() == "":
            return usual
        return self.value(name, str(said), lambda text: parse_number(text, where=name))

    def word(self, name: str, words: type[Word]) -> Word | None:
        """One of the words of an enumeration."""
        return self.one_of(name, self.text(name), words)

    def one_of(self, where: str, said: str, words: type[Word]) -> Word | None:
        """The word that is said, case aside; None, and a fault, for one that there is not."""
        if not said:
            return None
        for word in words:
            if word.value.casefold() == said.casefold():
                return word
        self.faults.append(Fault(where, f"one of {', '.join(word.value for word in words)}", said))
        return None

    def value(self, where: str, said: str, read: Callable[[str], Value]) -> Value | None:
        """What a text means; None where it is empty, or means nothing, which is noted."""
        if not said.strip():
            return None
        try:
            return read(said.strip())
        except BadInput as refused:
            self.faults += refused.faults or (Fault(where, refused.message, said),)
            return None
