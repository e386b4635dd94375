"""The plan document: the answer, and the settings it was made under, in full."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from stockyard.geometry.area import clip
from stockyard.geometry.footprint import footprint, length_along_x
from stockyard.geometry.frames import stave_point
from stockyard.selection.interchange.settings import settings_document
from stockyard.timber import (
    BoardCut,
    Defect,
    MadePanel,
    Plan,
    Rejection,
    Section,
    Stave,
    Stock,
    Strip,
    Treatment,
    Window,
)

FORMAT = "stockyard.plan/1"


def plan_document(plan: Plan, stock: Stock | None = None) -> dict[str, Any]:
    """The document of a plan, ready for JSON, its amounts rounded to a millionth.

    stock: the boards it was made from; with it each treatment also says what the defect is, how much of it
    there is, and where it lies in the board's frame and in the panel's.
    """
    defects = {} if stock is None else {board.id: board.defects for board in stock.boards}
    parts = plan.cost_parts
    return {
        "format": FORMAT,
        "job": plan.job.id,
        "currency": plan.currency,
        "status": str(plan.status),
        "cost": _amount(plan.cost),
        "bound": _amount(plan.bound),
        "gap": round(plan.gap, 9),
        "seconds": round(plan.seconds, 3),
        "cost_parts": {
            "timber": _amount(parts.timber),
            "handling": _amount(parts.handling),
            "offcuts": _amount(parts.offcuts),
            "treatments": _amount(parts.treatments),
            "appearance": _amount(parts.appearance),
            "match": _amount(parts.match),
            "rings": _amount(parts.rings),
        },
        "panels": [_panel(made, defects) for made in plan.panels],
        "boards": [_board(cut) for cut in plan.boards],
        "rejected": [_rejection(rejection) for rejection in plan.rejected],
        **settings_document(plan.job),
    }


def _panel(made: MadePanel, defects: dict[str, tuple[Defect, ...]]) -> dict[str, Any]:
    if not made.made:
        return {"id": made.id, "made": False, "why": made.why, "staves": []}
    staves, below_mm = [], 0
    for stave in made.staves:
        staves.append(_stave(stave, below_mm, defects.get(stave.board, ())))
        below_mm += stave.finished.width_mm
    return {"id": made.id, "made": True, "staves": staves}


def _stave(stave: Stave, below_mm: int, defects: tuple[Defect, ...]) -> dict[str, Any]:
    known = {defect.id: defect for defect in defects}
    return {
        "board": stave.board,
        "show": str(stave.show),
        "turned": stave.turned,
        "finished": _window(stave.finished),
        "rough": _window(stave.rough),
        "treat": [
            _treatment(treatment) | dict(_whereabouts(known[treatment.defect], stave, below_mm))
            if treatment.defect in known
            else _treatment(treatment)
            for treatment in stave.treat
        ],
        "accept": list(stave.accept),
    }


def _treatment(treatment: Treatment) -> dict[str, Any]:
    return {"defect": treatment.defect, "method": treatment.method, "cost": _amount(treatment.cost)}


def _whereabouts(defect: Defect, stave: Stave, below_mm: int) -> Iterator[tuple[str, Any]]:
    """What a defect in a stave is, how much of it, and the boxes around it in both frames. [mm, mm2]

    In the panel's frame only what lies inside the stave; below_mm: the width of the staves before it.
    """
    boxes = footprint(defect.outline)
    inside = [part for box in boxes if (part := clip(box, stave.finished))]
    yield "kind", str(defect.kind)
    yield "face", str(defect.face)
    yield "quantity", {"length": length_along_x(boxes), "area": sum(box.area_mm2 for box in boxes)}
    yield "in_board", _window(_around(boxes))
    if inside:
        around = _around(inside)
        corners = [
            stave_point(corner, stave.finished, stave.show, stave.turned)
            for corner in ((around.x0, around.y0), (around.x1, around.y1))
        ]
        (left, right), (low, high) = (sorted(axis) for axis in zip(*corners, strict=True))
        yield "in_panel", {"x0": left, "y0": low + below_mm, "x1": right, "y1": high + below_mm}


def _around(boxes: list[Window] | tuple[Window, ...]) -> Window:
    return Window(
        min(box.x0 for box in boxes),
        min(box.y0 for box in boxes),
        max(box.x1 for box in boxes),
        max(box.y1 for box in boxes),
    )


def _board(cut: BoardCut) -> dict[str, Any]:
    return {
        "id": cut.id,
        "sections": [_section(section) for section in cut.sections],
        "offcuts": [_window(offcut.window) | {"value": _amount(offcut.value)} for offcut in cut.offcuts],
    }


def _section(section: Section) -> dict[str, Any]:
    return {"x0": section.x0, "x1": section.x1, "strips": [_strip(strip) for strip in section.strips]}


def _strip(strip: Strip) -> dict[str, Any]:
    stave = {} if strip.panel is None else {"panel": strip.panel, "stave": strip.stave}
    return {"use": str(strip.use), **stave, "y0": strip.y0, "y1": strip.y1}


def _rejection(rejection: Rejection) -> dict[str, Any]:
    return {
        "id": rejection.id,
        "reasons": [
            {"why": reason.why, "panel": reason.panel, "detail": reason.detail}
            for reason in rejection.reasons
        ],
    }


def _window(window: Window) -> dict[str, int]:
    return {"x0": window.x0, "y0": window.y0, "x1": window.x1, "y1": window.y1}


def _amount(amount: Decimal) -> float:
    return float(round(amount, 6)) + 0.0  # and no -0.0
