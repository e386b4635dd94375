"""Deliveries: a tally checked without booking it, booked, and the dockets that stand."""

import base64
from typing import Annotated, Any

from fastapi.responses import JSONResponse, Response
from pydantic import Field

from stockyard.errors import BadInput, Fault
from stockyard.measures.plain import plain
from stockyard.services.check_delivery import DeliveryCheck, check_delivery, list_deliveries
from stockyard.services.delivery_order import order_from
from stockyard.services.receive_delivery import Receipt, receive_delivery
from stockyard.web.api.routes import Api, Given
from stockyard.web.errand_words import errand_json
from stockyard.web.etags import answer_with_tag
from stockyard.web.visit import Here

api = Api("deliveries")

TALLY_MB = 45.0
"""A workbook of 32 MB, written as base64."""

Text = Annotated[str, Field(max_length=500)]


class Docket(Given):
    """A tally as `text`, or a file as `content` in base64, and what the docket says besides.

    charges: by name, without tax. columns: header -> what it holds, where it is not to be guessed. tax:
    percent, "0" for none. with_tax: do the tally's prices hold it, "yes" or "no".
    """

    name: Text = "tally.csv"
    text: str | None = Field(default=None, max_length=40_000_000)
    content: str | None = Field(default=None, max_length=45_000_000)
    supplier: Text = ""
    docket: Text = ""
    date: Text = ""
    place: Text = ""
    freight: Text = ""
    charges: dict[str, Text] = Field(default_factory=dict)
    share_by: Text = ""
    tax: Text = ""
    tax_lost: bool = False
    with_tax: Text = ""
    total: Text = ""
    species: Text = ""
    thickness: Text = ""
    price: Text = ""
    price_unit: Text = ""
    lot: Text = ""
    unit: Text = ""
    gross: bool = False
    sheet: Text = ""
    columns: dict[str, Text] = Field(default_factory=dict)
    new_species: list[Text] = Field(default_factory=list)
    provenance: dict[str, Text] = Field(default_factory=dict)

    def tally(self) -> bytes:
        """The tally's bytes. Raises BadInput."""
        if (self.text is None) == (self.content is None):
            raise BadInput("Nothing was booked.", [Fault("tally", "either text or content", "both or none")])
        if self.text is not None:
            return self.text.encode()
        try:
            return base64.b64decode(self.content or "", validate=True)
        except ValueError:
            raise BadInput("Nothing was booked.", [Fault("content", "base64")]) from None

    def words(self) -> dict[str, Any]:
        """What the docket says, as it is kept with an errand."""
        return self.model_dump(exclude={"name", "text", "content"}, exclude_defaults=True)


class Booking(Docket):
    """later: book it as an errand, for a long tally."""

    later: bool = False

    def words(self) -> dict[str, Any]:
        """What the docket says, as it is kept with an errand."""
        return self.model_dump(exclude={"name", "text", "content", "later"}, exclude_defaults=True)


@api.get("/api/deliveries")
def deliveries(visit: Here) -> Response:
    """Every delivery that stands, the newest first."""
    found = list_deliveries(visit.open_work)
    return answer_with_tag(visit.request, {"deliveries": [plain(each) for each in found]})


@api.post("/api/deliveries/check", at_most_mb=TALLY_MB)
def check(visit: Here, given: Docket) -> Response:
    """How a tally is read, everything wrong with it in its place, and what booking would come to."""
    found = check_delivery(visit.open_work, given.tally(), given.name, order_from(given.words()))
    return JSONResponse(check_json(found))


@api.post("/api/deliveries", status_code=201, at_most_mb=TALLY_MB)
def book(visit: Here, given: Booking) -> Response:
    """Book every board of a tally at its landed cost, all or none; as an errand where asked for later."""
    tally, order = given.tally(), order_from(given.words())
    if given.later:
        wanted = {"name": given.name, "order": given.words()}
        errand = visit.ask_for("import", wanted, {"tally": tally})
        return JSONResponse(errand_json(errand), 202, {"Location": f"/api/errands/{errand.id}"})
    return JSONResponse(receipt_json(receive_delivery(visit.open_work, tally, given.name, order)), 201)


def check_json(found: DeliveryCheck) -> dict[str, Any]:
    """How a tally was read."""
    return {
        "columns": [plain(each) for each in found.columns],
        "skipped": [plain(each) for each in found.skipped],
        "warnings": [plain(each) for each in found.warnings],
        "faults": [plain(each) for each in found.faults],
        "trouble": found.trouble or None,
        "unknown_species": list(found.unknown),
        "receipt": None if found.receipt is None else receipt_json(found.receipt),
    }


def receipt_json(receipt: Receipt) -> dict[str, Any]:
    """What was booked, or would be."""
    told = plain(receipt)
    for name in ("columns", "skipped", "warnings"):
        del told[name]
    return dict(told)
