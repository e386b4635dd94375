"""Look at a delivery before it is booked: how each column was read, and everything that is wrong with it.

check_delivery(open_work, content, file_name, order) -> DeliveryCheck
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from stockyard.errors import AlreadyBooked, BadInput, Fault
from stockyard.services.receive_delivery import Order, Receipt, receive_delivery
from stockyard.tally import ColumnTaken, SkippedRow, read_tally
from stockyard.tally.mending import TallyCells, cells_of
from stockyard.timber.delivery import Delivery

if TYPE_CHECKING:
    from stockyard.records.connect import OpenWork


@dataclass(frozen=True, slots=True)
class DeliveryCheck:
    """How a tally was read. cells: None where it could not be read at all.

    faults: everything that keeps it from being booked; trouble: that in a sentence. receipt: what would be
    booked, None while there are faults. unknown: species of the sheet that the yard does not know.
    """

    cells: TallyCells | None
    columns: tuple[ColumnTaken, ...] = ()
    skipped: tuple[SkippedRow, ...] = ()
    warnings: tuple[Fault, ...] = ()
    faults: tuple[Fault, ...] = ()
    trouble: str = ""
    receipt: Receipt | None = None
    unknown: tuple[str, ...] = ()


def check_delivery(open_work: "OpenWork", content: bytes, file_name: str, order: Order) -> DeliveryCheck:
    """What booking would come to. Writes nothing and raises nothing that is wrong with what was given."""
    with open_work(reading=True) as work:
        known = work.species.table()
    try:
        cells = cells_of(content, file_name, order.options)
        tally = read_tally(content, file_name, order.options)
    except BadInput as refused:
        return DeliveryCheck(None, faults=refused.faults, trouble=refused.message)
    taken = {name.strip().casefold() for name in order.new_species}
    unknown = tuple(
        name
        for name in dict.fromkeys(line.species for line in tally.lines)
        if name and name not in known and name.casefold() not in taken
    )
    receipt, trouble, faults = None, "", tally.faults
    try:
        receipt = receive_delivery(open_work, content, file_name, order, only_look=True)
    except AlreadyBooked as refused:
        trouble, faults = refused.message, (*faults, Fault("docket", "one not yet booked", order.docket))
    except BadInput as refused:
        trouble, faults = refused.message, refused.faults
    return DeliveryCheck(
        cells, tally.columns, tally.skipped, tally.warnings, faults, trouble, receipt, unknown
    )


def list_deliveries(open_work: "OpenWork") -> Sequence[Delivery]:
    """Every delivery that stands, the newest first."""
    with open_work(reading=True) as work:
        return tuple(reversed(work.deliveries.all()))
