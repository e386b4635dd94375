"""Reports of what stands on a day: the stock list, its age, its moisture."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Decimal

from stockyard.moisture.lot_class import lot_class
from stockyard.reports.facts import StandingPiece
from stockyard.reports.report import Column, Report, Unit, cubic_metres, framed

AGES = ((90, "to 90 days"), (180, "91 to 180 days"), (365, "181 to 365 days"), (730, "1 to 2 years"))
"""Upper bounds of the age classes in days, a working choice."""

OLDEST = "over 2 years"


def stock_report(pieces: Iterable[StandingPiece], as_of: date, currency: str) -> Report:
    """Every piece on hand, by number."""
    columns = (
        Column("board", "board"),
        Column("kind", "kind", brief=False),
        Column("species", "species"),
        Column("length_mm", "length, mm", Unit.MM),
        Column("width_mm", "width, mm", Unit.MM),
        Column("thickness_mm", "thick, mm", Unit.MM),
        Column("place", "place", brief=False),
        Column("status", "status", brief=False),
        Column("supplier", "supplier", brief=False),
        Column("docket", "docket", brief=False),
        Column("arrived", "arrived", Unit.DAY, brief=False),
        Column("moisture_pct", "MC, %", Unit.PERCENT),
        Column("gross_m3", "gross m3", Unit.M3, total=True, brief=False),
        Column("worth", "worth", Unit.MONEY, total=True),
    )
    rows = [
        (
            piece.number,
            piece.kind,
            piece.species,
            piece.length_mm,
            piece.width_mm,
            piece.thickness_mm,
            piece.place,
            piece.status,
            piece.supplier,
            piece.docket,
            piece.arrived,
            piece.moisture_pct,
            cubic_metres(piece.volume_mm3),
            piece.worth,
        )
        for piece in sorted(pieces, key=lambda piece: piece.number)
    ]
    return Report(
        "stock", "Stock on hand", f"on the evening of {as_of}", currency, columns, framed(columns, rows)
    )


def age_report(pieces: Iterable[StandingPiece], as_of: date, currency: str) -> Report:
    """How long the timber on hand has been in the yard, by species and class of age."""
    columns = (
        Column("species", "species"),
        Column("age", "in the yard"),
        Column("pieces", "pieces", Unit.COUNT, total=True),
        Column("gross_m3", "gross m3", Unit.M3, total=True),
        Column("worth", "worth", Unit.MONEY, total=True),
        Column("oldest", "oldest", Unit.DAY),
    )
    grouped: dict[tuple[str, int], list[StandingPiece]] = defaultdict(list)
    for piece in pieces:
        grouped[piece.species, _age_class((as_of - piece.arrived).days)].append(piece)
    names = [*(name for _, name in AGES), OLDEST]
    rows = [
        (
            species,
            names[age],
            len(some),
            cubic_metres(sum(piece.volume_mm3 for piece in some)),
            _worth(some),
            min(piece.arrived for piece in some),
        )
        for (species, age), some in sorted(grouped.items())
    ]
    notes = ("Offcuts are as old as the delivery their board came with.",)
    return Report(
        "age", "Age of stock", f"on the evening of {as_of}", currency, columns, framed(columns, rows), notes
    )


def moisture_report(pieces: Iterable[StandingPiece], as_of: date, currency: str) -> Report:
    """Moisture of the timber on hand by docket and species, as last read by then."""
    columns = (
        Column("docket", "docket"),
        Column("supplier", "supplier"),
        Column("species", "species"),
        Column("pieces", "pieces", Unit.COUNT, total=True),
        Column("unread", "unread", Unit.COUNT, total=True),
        Column("lowest_pct", "low, %", Unit.PERCENT),
        Column("mean_pct", "mean, %", Unit.PERCENT),
        Column("highest_pct", "high, %", Unit.PERCENT),
        Column("lot_class", "EN 14298 class", brief=False),
        Column("first_read", "oldest reading", Unit.DAY, brief=False),
        Column("last_read", "newest reading", Unit.DAY, brief=False),
    )
    grouped: dict[tuple[str, str, str], list[StandingPiece]] = defaultdict(list)
    for piece in pieces:
        grouped[piece.docket, piece.supplier, piece.species].append(piece)
    rows = []
    for (docket, supplier, species), some in sorted(grouped.items()):
        read = [piece.moisture_pct for piece in some if piece.moisture_pct is not None]
        days = [piece.moisture_on for piece in some if piece.moisture_on is not None]
        figures = (min(read), round(sum(read) / len(read), 2), max(read)) if read else (None, None, None)
        span = (min(days), max(days)) if days else (None, None)
        rows.append(
            (docket, supplier, species, len(some), len(some) - len(read), *figures, lot_class(read), *span)
        )
    notes = (
        "The newest corrected reading of each piece; offcuts repeat their board's. The lot class, in files,"
        " is an aid by the limits of EN 14298 and not a certificate.",
    )
    return Report(
        "moisture",
        "Moisture by docket",
        f"on the evening of {as_of}",
        currency,
        columns,
        framed(columns, rows),
        notes,
    )


def _age_class(days: int) -> int:
    return next((index for index, (most, _) in enumerate(AGES) if days <= most), len(AGES))


def _worth(pieces: Sequence[StandingPiece]) -> Decimal:
    return sum((piece.worth for piece in pieces), Decimal(0))
