"""Sharing what a cut board stood for among what was cut from it, by the workshop's stated policy."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from stockyard.errors import Broken
from stockyard.measures.money import apportion, rounded


class OffcutPolicy(StrEnum):
    """How offcuts are valued. A workshop chooses one and keeps it.

    Source: AASB 102 Inventories (= IAS 2), paragraph 14, on joint products and by-products.
    """

    VOLUME = "volume"  # every usable piece by its volume
    RELATIVE_VALUE = "relative_value"  # every usable piece by what it could be sold for
    BY_PRODUCT = "by_product"  # offcuts at what they could be sold for, the rest on the staves by volume


@dataclass(frozen=True, slots=True)
class CutPiece:
    """One usable piece of a cut board.

    volume_mm3: > 0. worth: what it could be sold for, net; a whole number of cents. by_product: an offcut.
    """

    volume_mm3: int
    worth: Decimal = Decimal(0)
    by_product: bool = False


def share_value(
    value: Decimal, pieces: Sequence[CutPiece], policy: OffcutPolicy, currency: str
) -> list[Decimal]:
    """Each piece's share of a board's value; they add up to it to the cent. Waste carries nothing.

    value: >= 0, money of `currency`. pieces: the usable ones only, at least one.
    """
    if not pieces:
        raise Broken("A board was cut into nothing usable; its value has nowhere to go.")
    if policy is OffcutPolicy.VOLUME:
        return apportion(value, [piece.volume_mm3 for piece in pieces], currency)
    if policy is OffcutPolicy.RELATIVE_VALUE:
        if not any(piece.worth for piece in pieces):
            return share_value(value, pieces, OffcutPolicy.VOLUME, currency)
        return apportion(value, [piece.worth for piece in pieces], currency)
    return _by_product(value, pieces, currency)


def _by_product(value: Decimal, pieces: Sequence[CutPiece], currency: str) -> list[Decimal]:
    worths = [rounded(piece.worth, currency) if piece.by_product else Decimal(0) for piece in pieces]
    mains = [piece.volume_mm3 if not piece.by_product else 0 for piece in pieces]
    deducted = sum(worths, Decimal(0))
    if deducted > value or not any(mains):
        # By-products cannot stand for more than the board did, and something must carry all of it.
        return apportion(value, worths, currency)
    rest = apportion(value - deducted, mains, currency)
    return [worth + share for worth, share in zip(worths, rest, strict=True)]
