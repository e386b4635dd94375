"""What is on hand, how much and what worth, grouped the way the question was asked."""

from collections.abc import Iterable, Sequence
from dataclasses import asdict
from decimal import Decimal

import pandas as pd

from stockyard.ledger.holding import Holding
from stockyard.measures.money import minor_digits
from stockyard.measures.rounding import adding_up

GROUPS = (
    "species",
    "thickness",
    "section",
    "place",
    "status",
    "kind",
    "supplier",
    "docket",
    "age",
    "moisture",
)
"""What holdings can be grouped by."""

MM3_PER_BOARD_FOOT = Decimal("2359737.216")
"""144 cubic inches of 25.4 mm exactly."""

TOTAL = "total"


def holdings_table(holdings: Iterable[Holding], by: Sequence[str], currency: str) -> pd.DataFrame:
    """Pieces, volumes, lineal metres and worth of each group, and a last row that is their sum.

    by: names from GROUPS, outermost first; none gives the total alone.
    Columns: the groups, then pieces, gross_m3, clear_m3, lineal_m, board_feet, worth (Decimal, rounded so
    that every column adds up to its total as printed).
    """
    rows = [_measures(holding) for holding in holdings]
    figures = ["pieces", "gross_m3", "clear_m3", "lineal_m", "board_feet", "worth"]
    frame = pd.DataFrame(rows, columns=[*GROUPS, *figures]).astype(dict.fromkeys(figures, object))
    grouped = (
        frame.groupby(list(by), sort=True)[figures].sum().reset_index()
        if by and len(frame)
        else frame[[*by, *figures]].head(0)
    )
    totals: dict[str, object] = {"pieces": len(frame)}
    digits = {"gross_m3": 4, "clear_m3": 4, "lineal_m": 2, "board_feet": 2, "worth": minor_digits(currency)}
    for name, places in digits.items():
        grouped[name] = pd.Series(adding_up(list(grouped[name]), places), dtype=object)
        totals[name] = adding_up([sum(frame[name], Decimal(0))], places)[0]
    last = pd.DataFrame([{**{name: TOTAL if name == (by or [""])[0] else "" for name in by}, **totals}])
    return pd.concat([grouped, last.astype(dict.fromkeys(figures, object))], ignore_index=True)


def _measures(holding: Holding) -> dict[str, object]:
    told = asdict(holding)
    return {
        "species": told["species"],
        "thickness": holding.thickness_mm,
        "section": f"{holding.width_mm:g} x {holding.thickness_mm:g}",
        **{name: told[name] for name in ("place", "status", "kind", "supplier", "docket", "age", "moisture")},
        "pieces": 1,
        "gross_m3": holding.gross_mm3.scaleb(-9),
        "clear_m3": holding.clear_mm3.scaleb(-9),
        "lineal_m": Decimal(str(holding.length_mm)).scaleb(-3),
        "board_feet": holding.gross_mm3 / MM3_PER_BOARD_FOOT,
        "worth": holding.worth,
    }
