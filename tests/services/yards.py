"""Yards with something in them."""

from datetime import date
from decimal import Decimal

from stockyard.records import Yard
from stockyard.services.receive_delivery import Order, Receipt, receive_delivery


def receive(
    yard: Yard, *rows: str, docket: str = "1", day: date = date(2026, 2, 2), place: str = "rack 1"
) -> Receipt:
    """Receive boards given as "species,length,width,thickness,price", all in mm and AUD, without tax."""
    sheet = "Species,Length (mm),Width (mm),Thickness (mm),Price each\n" + "\n".join(rows) + "\n"
    order = Order(supplier="Riverbend Mill", docket=docket, received_on=day, tax=None, place=place)
    return receive_delivery(yard.open_work, sheet.encode(), "tally.csv", order)


SPOTTED_GUM = "spotted gum,2400,180,32,48.00"
FORTY_EIGHT = Decimal("48.00")
