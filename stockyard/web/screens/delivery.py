"""Delivery: a tally looked at, mended and booked, or its boards entered one after the other."""

from typing import Any

from fastapi.responses import Response

from stockyard.errors import AlreadyBooked, BadInput
from stockyard.measures.price import PriceUnit
from stockyard.services.check_delivery import check_delivery, list_deliveries
from stockyard.services.delivery_order import order_from
from stockyard.services.keep_species import list_species
from stockyard.services.receive_delivery import receive_delivery
from stockyard.tally import Role, ShareBy
from stockyard.web.docket_words import Typed, elsewhere, rows_of, typed_in, words_in
from stockyard.web.forms import Filled, Form
from stockyard.web.hand_lines import HEADER, NAME, UNITS, as_tally, line_in, lines_in, totals_of
from stockyard.web.screen import Screen
from stockyard.web.texts import counted, text
from stockyard.web.visit import Here, Visit

screen = Screen("delivery", "/delivery")

TALLY_MB = 45.0
_BESIDE_FROM = 1_500
"""A tally of more pieces is booked beside the request."""

_RECENT = 8


@screen.page("/delivery")
def delivery(visit: Here) -> Response:
    """Where a delivery begins."""
    return visit.page("delivery.html", **_choices(visit), words={}, faults=(), recent=_recent(visit))


@screen.action("/delivery/check", at_most_mb=TALLY_MB)
def check(visit: Here, form: Form) -> Response:
    """How a tally is read. Writes nothing."""
    try:
        return _checked(visit, typed_in(form))
    except BadInput as refused:
        return _begun(visit, form, refused)


@screen.action("/delivery/book", at_most_mb=TALLY_MB)
def book(visit: Here, form: Form) -> Response:
    """Book the tally with what was mended in it; where something is wrong it is shown again."""
    try:
        typed = typed_in(form)
    except BadInput as refused:
        return _begun(visit, form, refused)
    try:
        order = order_from(typed.words)
        looked = receive_delivery(visit.open_work, typed.content, typed.name, order, only_look=True)
        if len(looked.pieces) > _BESIDE_FROM:
            wanted = {"name": typed.name, "order": dict(typed.words)}
            errand = visit.ask_for("import", wanted, {"tally": typed.content})
            return visit.see_other(f"/errand/{errand.id}")
        receipt = receive_delivery(visit.open_work, typed.content, typed.name, order)
    except (BadInput, AlreadyBooked):
        return _checked(visit, typed, status=422)
    said = counted("delivery.booked", len(receipt.pieces), docket=receipt.docket)
    return visit.see_other(visit.url("/rack", {"docket": receipt.docket}), said=said)


@screen.page("/delivery/by-hand")
def by_hand(visit: Here) -> Response:
    """Boards entered one after the other."""
    return _hand_page(visit, "", {})


@screen.action("/delivery/by-hand")
def enter(visit: Here, form: Form) -> Response:
    """Add a line or take one off, without a script. Writes nothing."""
    lines = lines_in(form.text("text", strip=False))
    typed = {name: form.text(name) for name in ("species", "price", "price_unit", "note")}
    typed |= {name: form.text(name) for name in ("length", "width", "thickness", "pieces")}
    off = form.text("off")
    if off:
        kept = [line for place, line in enumerate(lines) if str(place) != off]
        return _hand_page(visit, as_tally(kept), typed)
    try:
        lines.append(line_in(form))
    except BadInput as refused:
        return _hand_page(visit, as_tally(lines), typed, refused)
    return _hand_page(visit, as_tally(lines), typed)


def _hand_page(visit: Visit, tally: str, typed: dict[str, str], refused: BadInput | None = None) -> Response:
    lines = lines_in(tally)
    return visit.page(
        "delivery_by_hand.html",
        status=422 if refused else 200,
        tally=tally,
        name=NAME,
        header=",".join(HEADER),
        lines=lines,
        totals=totals_of(lines),
        typed=typed,
        wrong={} if refused is None else {fault.where: fault for fault in refused.faults},
        species=_species(visit),
        price_units=[unit.value for unit in UNITS],
        currency=_currency(visit),
    )


def _checked(visit: Visit, typed: Typed, status: int = 200) -> Response:
    try:
        found = check_delivery(visit.open_work, typed.content, typed.name, order_from(typed.words))
    except BadInput as refused:
        words = dict(typed.words)
        plain = {name: said for name, said in words.items() if name not in ("columns", "new_species")}
        return visit.page(
            "delivery.html", status=422, **_choices(visit), words=plain, faults=refused.faults,
            recent=_recent(visit),
        )  # fmt: skip
    rows, others = rows_of(found)
    return visit.page(
        "delivery_check.html",
        status=status,
        **_choices(visit),
        typed=typed,
        words=typed.words,
        check=found,
        rows=rows,
        others=others,
        faults=elsewhere(found, rows),
        chosen=typed.words["columns"],
        run_mm=sum(piece.length_mm for piece in found.receipt.pieces) if found.receipt else 0,
    )


def _begun(visit: Visit, form: Filled, refused: BadInput) -> Response:
    shown = _choices(visit) | {"trouble": refused.message, "recent": _recent(visit)}
    return visit.page("delivery.html", status=422, **shown, words=words_in(form), faults=refused.faults)


def _choices(visit: Visit) -> dict[str, Any]:
    return {
        "roles": [role.value for role in Role],
        "price_units": [unit.value for unit in PriceUnit],
        "shares": [share.value for share in ShareBy],
        "units": ("mm", "cm", "m", "in", "ft"),
        "species": _species(visit),
        "suppliers": sorted({each.supplier for each in list_deliveries(visit.open_work)}),
        "trouble": text("delivery.not_read"),
    }


def _recent(visit: Visit) -> Any:
    return list_deliveries(visit.open_work)[:_RECENT]


def _species(visit: Visit) -> list[str]:
    return sorted(each.name for each in list_species(visit.open_work))


def _currency(visit: Visit) -> str:
    with visit.open_work(reading=True) as work:
        return str(work.workshop.currency)
