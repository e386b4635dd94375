"""Where a board came from and what is claimed of it, and whether the claim holds."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, fields
from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import Any

from stockyard.errors import BadInput, Fault


class Source(StrEnum):
    """What kind of growing or use the timber comes from."""

    NATIVE = "native"
    PLANTATION = "plantation"
    SALVAGE = "salvage"
    RECYCLED = "recycled"
    UNKNOWN = "unknown"


class Acquired(StrEnum):
    """How the workshop came by it, which says what it must know of it."""

    BOUGHT = "bought"  # sawn, from a merchant at home
    IMPORTED = "imported"  # by the workshop itself
    MILLED = "milled"  # from a log, by the workshop itself


class Paper(StrEnum):
    """A paper that a claim can stand on."""

    DOCKET = "docket"
    INVOICE = "invoice"


class Confidence(StrEnum):
    """How sure the species is."""

    STATED = "stated"  # by the supplier
    LIKELY = "likely"  # by looking at it
    CONFIRMED = "confirmed"  # by someone who identifies timber


@dataclass(frozen=True, slots=True)
class Provenance:
    """What is known of a board's origin, as its papers state it; "" or None where they do not.

    supplier_number: of its business, such as an ABN. quantity, quantity_unit: as invoiced. claim: the words
    of a forest certification claim, as "FSC 100%". claim_on: the papers it stands on. certificate: the
    seller's code. import_entry: number of the customs entry. harvested: a year or a date, as written.
    place: forest, property or harvesting unit.
    The fields follow what the Illegal Logging Prohibition rules and FSC-STD-40-004 ask of those they bind.
    """

    supplier: str = ""
    supplier_number: str = ""
    supplier_address: str = ""
    docket: str = ""
    docket_date: date | None = None
    invoice: str = ""
    invoice_date: date | None = None
    species_common: str = ""
    species_botanical: str = ""
    species_confidence: Confidence = Confidence.STATED
    country: str = ""
    state: str = ""
    place: str = ""
    source: Source = Source.UNKNOWN
    acquired: Acquired = Acquired.BOUGHT
    harvested: str = ""
    quantity: Decimal | None = None
    quantity_unit: str = ""
    claim: str = ""
    claim_on: frozenset[Paper] = field(default_factory=frozenset)
    certificate: str = ""
    claim_checked_on: date | None = None
    import_entry: str = ""
    documents: tuple[str, ...] = ()
    risk_note: str = ""
    checked_by: str = ""

    def as_json(self) -> dict[str, Any]:
        """The fields that say something, as plain JSON values."""
        said = {}
        for each in fields(self):
            value = getattr(self, each.name)
            if value not in ("", None, (), frozenset()):
                said[each.name] = sorted(value) if isinstance(value, frozenset) else value
        return {name: _plain(value) for name, value in said.items()}

    @classmethod
    def from_json(cls, values: Mapping[str, Any]) -> "Provenance":
        """The provenance that `as_json` gave these values of.

        Raises BadInput when a field is unknown or a value cannot be read.
        """
        known = {each.name for each in fields(cls)}
        faults = [
            Fault(f"provenance.{name}", "a field of a provenance") for name in values if name not in known
        ]
        read: dict[str, Any] = {}
        for name, value in values.items():
            try:
                read[name] = _READ.get(name, str)(value)
            except (ValueError, TypeError, ArithmeticError):
                faults.append(Fault(f"provenance.{name}", "a value of its kind", repr(value)[:60]))
        if faults:
            raise BadInput("The provenance cannot be read.", faults)
        return cls(**read)


def _plain(value: Any) -> Any:
    if isinstance(value, list | tuple):
        return [str(each) for each in value]
    return value.isoformat() if isinstance(value, date) else str(value)


_READ: dict[str, Callable[[Any], Any]] = {
    "docket_date": date.fromisoformat,
    "invoice_date": date.fromisoformat,
    "claim_checked_on": date.fromisoformat,
    "species_confidence": Confidence,
    "source": Source,
    "acquired": Acquired,
    "quantity": Decimal,
    "claim_on": lambda papers: frozenset(Paper(paper) for paper in papers),
    "documents": lambda names: tuple(str(name) for name in names),
}


class Gap(StrEnum):
    """What is wrong with a provenance."""

    UNSUPPORTED_CLAIM = "unsupported claim"
    CLAIM_NOT_INHERITED = "claim not inherited"
    NO_IMPORT_DETAILS = "no import details"
    NO_HARVEST_PLACE = "no harvest place"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing wrong with a provenance, and what it means in a sentence."""

    gap: Gap
    detail: str


def findings(provenance: Provenance) -> tuple[Finding, ...]:
    """What is wrong with a board's papers; nothing when all is well."""
    found = []
    if provenance.claim and not provenance.certificate:
        found.append(
            Finding(Gap.UNSUPPORTED_CLAIM, f"{provenance.claim!r} is claimed without a certificate code.")
        )
    if provenance.claim and Paper.DOCKET not in provenance.claim_on:
        where = "only on the invoice" if Paper.INVOICE in provenance.claim_on else "on neither paper"
        found.append(
            Finding(
                Gap.CLAIM_NOT_INHERITED,
                f"{provenance.claim!r} stands {where}; the board's docket must carry it.",
            )
        )
    if provenance.acquired is Acquired.IMPORTED and not (provenance.import_entry and provenance.country):
        found.append(
            Finding(Gap.NO_IMPORT_DETAILS, "Imported timber needs its import entry number and country.")
        )
    if provenance.acquired is Acquired.MILLED and not provenance.place:
        found.append(
            Finding(Gap.NO_HARVEST_PLACE, "Timber milled from a log needs the place it was harvested.")
        )
    return tuple(found)


def inherited_claim(provenance: Provenance) -> str:
    """The claim a board carries: that of its own docket with a certificate code, else ""."""
    gaps = {finding.gap for finding in findings(provenance)}
    return "" if gaps & {Gap.UNSUPPORTED_CLAIM, Gap.CLAIM_NOT_INHERITED} else provenance.claim


def panel_claim(boards: Iterable[Provenance]) -> str:
    """The claim a panel carries: the one that all its boards carry, else "".

    What is passed on with a product needs a certificate of the workshop's own; this is for its records.
    """
    claims = {inherited_claim(board) for board in boards}
    return claims.pop() if len(claims) == 1 else ""
