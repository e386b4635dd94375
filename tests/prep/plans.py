"""A made plan to prepare: values with overrides."""

from decimal import Decimal
from typing import Any

from stockyard.timber import BoardCut, CostParts, Face, MadePanel, Plan, Status, Stave, Window
from tests.builders import a_job, a_panel


def a_stave(board: str = "SG-0001", **changes: Any) -> Stave:
    """A stave of 1200 x 130 mm, face A up, end 1 first."""
    values: dict[str, Any] = {
        "board": board,
        "show": Face.A,
        "turned": False,
        "finished": Window(35, 5, 1235, 135),
        "rough": Window(25, 0, 1245, 140),
    }
    return Stave(**(values | changes))


def a_plan(*staves: Stave, **changes: Any) -> Plan:
    """A plan of one panel, "top", of these staves."""
    staves = staves or (a_stave(), a_stave("SG-0002"), a_stave("SG-0003"))
    width = sum(stave.finished.width_mm for stave in staves)
    boards = tuple(BoardCut(board, (), ()) for board in dict.fromkeys(stave.board for stave in staves))
    values: dict[str, Any] = {
        "job": a_job(a_panel(width_mm=width)),
        "currency": "AUD",
        "status": Status.OPTIMAL,
        "cost_parts": CostParts(timber=Decimal("96.00"), handling=Decimal("8.00"), offcuts=Decimal("-12.50")),
        "bound": Decimal("91.50"),
        "seconds": 0.1,
        "panels": (MadePanel("top", staves),),
        "boards": boards,
        "rejected": (),
    }
    return Plan(**(values | changes))
