"""receive: a supplier's tally becomes boards on the rack."""

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeVar

import typer

from stockyard.cli.app import app
from stockyard.cli.read import amount_of, day_of
from stockyard.cli.session import bytes_of, session_of
from stockyard.cli.show import say, say_json, size, table

if TYPE_CHECKING:
    from stockyard.services.receive_delivery import Order, Receipt

_SHOWN_WHOLE = 60

Word = TypeVar("Word", bound=StrEnum)


@app.command(
    short_help="Book a delivery at its landed cost, all or none.",
    epilog="Example: stockyard receive tally.csv --supplier Riverbend --docket 4471 --freight 180 --check",
)
def receive(
    context: typer.Context,
    tally: Annotated[Path, typer.Argument(help="The supplier's tally, .csv or .xlsx.")],
    supplier: Annotated[str, typer.Option(help="Who sent it.")],
    docket: Annotated[str, typer.Option(help="The docket's number.")],
    date: Annotated[str | None, typer.Option(help="When it came; today if not said.")] = None,
    check: Annotated[
        bool, typer.Option("--check", help="Show what would be booked and write nothing.")
    ] = False,
    freight: Annotated[str | None, typer.Option(metavar="AMOUNT", help="Freight, without tax.")] = None,
    charge: Annotated[
        list[str] | None,
        typer.Option(metavar="NAME=AMOUNT", help="Another charge, without tax; may be repeated."),
    ] = None,
    share_by: Annotated[
        str, typer.Option(help="Share freight and charges out by volume, mass or value.")
    ] = "volume",
    tax: Annotated[str, typer.Option(metavar="PERCENT", help="Tax on the docket; 0 for none.")] = "10",
    tax_lost: Annotated[
        bool, typer.Option("--tax-lost", help="The tax is not recovered, so it is part of the cost.")
    ] = False,
    with_tax: Annotated[
        bool | None, typer.Option("--with-tax/--without-tax", help="Whether the tally's prices hold tax.")
    ] = None,
    total: Annotated[
        str | None, typer.Option(metavar="AMOUNT", help="What the docket comes to, tax included; checked.")
    ] = None,
    price: Annotated[
        str | None, typer.Option(help="One price for every row, where the tally has none.")
    ] = None,
    price_unit: Annotated[
        str | None, typer.Option(help='What a price buys: piece, "lineal metre", m3, "board foot" ...')
    ] = None,
    lot: Annotated[
        str | None, typer.Option(metavar="AMOUNT", help="One sum for everything, shared by volume.")
    ] = None,
    species: Annotated[
        str | None, typer.Option(help="Of every row, where the tally has no such column.")
    ] = None,
    new_species: Annotated[
        list[str] | None, typer.Option(metavar="NAME", help="Take a species the yard does not know.")
    ] = None,
    unit: Annotated[
        str | None, typer.Option(help="Of sizes the tally gives none for: mm, cm, m, in or ft.")
    ] = None,
    gross: Annotated[
        bool, typer.Option("--gross", help="The footage was measured green, before drying narrowed it.")
    ] = False,
    sheet: Annotated[str | None, typer.Option(help="Which sheet of a workbook.")] = None,
    place: Annotated[str, typer.Option(help="Where the boards go.")] = "",
    provenance: Annotated[
        list[str] | None,
        typer.Option(metavar="FIELD=TEXT", help="place, source, claim, certificate ...; may be repeated."),
    ] = None,
) -> None:
    """Book a delivery: every board numbered, at its landed cost, all or none."""
    from stockyard.services.receive_delivery import receive_delivery

    session = session_of(context)
    order = _order(
        supplier=supplier,
        docket=docket,
        date=date,
        charges=[*([f"freight={freight}"] if freight is not None else []), *(charge or [])],
        share_by=share_by,
        tax=tax,
        tax_lost=tax_lost,
        with_tax=with_tax,
        total=total,
        price=price,
        price_unit=price_unit,
        lot=lot,
        species=species,
        new_species=new_species or [],
        unit=unit,
        gross=gross,
        sheet=sheet,
        place=place,
        provenance=provenance or [],
    )
    receipt = receive_delivery(session.open_work(), bytes_of(tally), tally.name, order, only_look=check)
    if session.as_json:
        say_json(receipt)
    else:
        _print_receipt(receipt)


def _order(
    *,
    supplier: str,
    docket: str,
    date: str | None,
    charges: list[str],
    share_by: str,
    tax: str,
    tax_lost: bool,
    with_tax: bool | None,
    total: str | None,
    price: str | None,
    price_unit: str | None,
    lot: str | None,
    species: str | None,
    new_species: list[str],
    unit: str | None,
    gross: bool,
    sheet: str | None,
    place: str,
    provenance: list[str],
) -> "Order":
    from stockyard.measures.length import LengthUnit
    from stockyard.measures.price import PriceUnit
    from stockyard.services.receive_delivery import Order
    from stockyard.tally import Charge, Measure, ShareBy, TallyOptions, Tax

    shared = _word(ShareBy, share_by, "--share-by")
    rate = amount_of(tax, "--tax")
    return Order(
        supplier=supplier.strip(),
        docket=docket.strip(),
        received_on=day_of(date, "--date"),
        charges=tuple(
            Charge(name, amount_of(amount, f"--charge {name}"), shared)
            for name, amount in (_pair(text, "--charge") for text in charges)
        ),
        tax=Tax(rate_pct=rate, recoverable=not tax_lost) if rate else None,
        docket_total=None if total is None else amount_of(total, "--total"),
        place=place.strip(),
        provenance=dict(_pair(text, "--provenance") for text in provenance),
        new_species=tuple(new_species),
        options=TallyOptions(
            unit=None if unit is None else _word(LengthUnit, unit, "--unit"),
            sheet=sheet,
            species=species,
            price=None if price is None else amount_of(price, "--price"),
            price_unit=None if price_unit is None else _word(PriceUnit, price_unit, "--price-unit"),
            lot_total=None if lot is None else amount_of(lot, "--lot"),
            tax_included=with_tax,
            measure=Measure.GROSS if gross else Measure.NET,
        ),
    )


def _pair(text: str, option: str) -> tuple[str, str]:
    name, equals, value = text.partition("=")
    if not equals or not name.strip() or not value.strip():
        raise typer.BadParameter(f"{text!r} is not NAME=VALUE", param_hint=option)
    return name.strip(), value.strip()


def _word(words: type[Word], text: str, option: str) -> Word:
    """The word of an enumeration that `text` spells, hyphens and case aside."""
    plainly = text.strip().casefold().replace("-", " ")
    for word in words:
        if word.value.casefold() == plainly:
            return word
    known = ", ".join(word.value for word in words)
    raise typer.BadParameter(f"{text!r} is none of {known}", param_hint=option)


def _print_receipt(receipt: "Receipt") -> None:
    what = "Booked" if receipt.booked else "Would book (nothing was written)"
    say(f"{what}: docket {receipt.docket} of {receipt.supplier}, {receipt.received_on}")
    table(
        ("column", "header", "taken for", "unit"),
        ((column.column, column.header, column.role.value, column.unit) for column in receipt.columns),
        title="How the tally was read",
    )
    for skipped in receipt.skipped:
        say(f"  row {skipped.row} left out: {skipped.why}")
    for paper in receipt.papers:
        say(f"  papers: {paper}")
    for warning in receipt.warnings:
        say(f"  look at {warning}")
    shown = receipt.pieces[:_SHOWN_WHOLE]
    table(
        ("board", "species", ">size, mm", "place", ">row", ">price", ">charges", ">landed"),
        (
            (
                piece.number,
                piece.species,
                size(piece.length_mm, piece.width_mm, piece.thickness_mm),
                piece.place,
                piece.row,
                piece.purchase,
                piece.charges,
                piece.landed,
            )
            for piece in shown
        ),
    )
    if len(receipt.pieces) > len(shown):
        say(f"  ... and {len(receipt.pieces) - len(shown)} more")
    say(
        f"{len(receipt.pieces)} boards, {receipt.volume_mm3 / 1e9:.4f} m3: timber {receipt.purchase:,}"
        f" + charges {receipt.charges:,} = {receipt.landed:,} {receipt.currency} into stock"
    )
    say(f"Sold by {receipt.measure.value} footage; the sizes booked are net, as the boards lie on the rack.")
    if receipt.recoverable_tax:
        say(f"Tax of {receipt.recoverable_tax:,} is recoverable and stays out of stock.")
