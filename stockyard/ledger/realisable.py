"""Lower of cost and net realisable value: what a piece may stand for, and never more than it cost."""

from decimal import Decimal


def carried(cost: Decimal, realisable: Decimal) -> Decimal:
    """What something stands for in the books: what it cost, or what it would sell for, net, if that is less.

    cost: what it would stand for had it never been written down. Both money, >= 0.
    Source: AASB 102 Inventories (= IAS 2), paragraphs 9 and 33.
    """
    return min(cost, realisable)
