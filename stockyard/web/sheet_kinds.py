"""Sheets by name: what is asked of each, and the drawing that comes of it."""

import re
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from fastapi.responses import Response

from stockyard.drawings.drawing import Drawing
from stockyard.drawings.label import stock_named
from stockyard.errors import BadInput, Fault, NotFound
from stockyard.measures.date_text import parse_date
from stockyard.services.draw_bench import draw_bench
from stockyard.services.draw_delivery import draw_delivery
from stockyard.services.draw_labels import draw_labels
from stockyard.services.draw_materials import draw_materials
from stockyard.services.draw_sheets import draw_boards, draw_plan

if TYPE_CHECKING:
    from stockyard.settings import OpenWork

Asked = Mapping[str, str]

_MOST_BOARDS = 200


def draw_sheet(open_work: "OpenWork", kind: str, asked: Asked, address: str = "") -> Drawing:
    """The sheet of a kind. asked: what is asked of it, as typed. address: for the codes of labels.

    Raises NotFound for no such kind, BadInput for what it cannot be drawn of.
    """
    if kind not in SHEETS:
        raise NotFound("sheet", kind, tuple(SHEETS))
    return SHEETS[kind](open_work, asked, address)


def as_answer(drawn: Drawing) -> Response:
    """The sheet as a PDF that a browser shows."""
    name = re.sub(r"[^\w.-]+", "-", drawn.name, flags=re.ASCII).strip("-") or "sheet"
    shown = {"Content-Disposition": f'inline; filename="{name}.pdf"'}
    return Response(drawn.as_pdf(), media_type="application/pdf", headers=shown)


def _boards(open_work: "OpenWork", asked: Asked, _: str) -> Drawing:
    return draw_boards(open_work, _numbers(asked, required=True))


def _plan(open_work: "OpenWork", asked: Asked, _: str) -> Drawing:
    return draw_plan(open_work, _whole(asked, "plan"))


def _panels(open_work: "OpenWork", asked: Asked, _: str) -> Drawing:
    panel = asked.get("panel", "")
    return draw_plan(open_work, _whole(asked, "plan"), panels=[panel] if panel else None, cuts=False)


def _cuts(open_work: "OpenWork", asked: Asked, _: str) -> Drawing:
    return draw_plan(open_work, _whole(asked, "plan"), panels=())


def _bench(open_work: "OpenWork", asked: Asked, _: str) -> Drawing:
    start = asked.get("start", "").strip()
    day = parse_date(start, where="start") if start else None
    return draw_bench(open_work, _whole(asked, "plan"), start=day)


def _labels(open_work: "OpenWork", asked: Asked, address: str) -> Drawing:
    single = bool(asked.get("single"))
    return draw_labels(
        open_work,
        _numbers(asked),
        docket=asked.get("docket", "").strip() or None,
        supplier=asked.get("supplier", "").strip() or None,
        place=asked.get("place", "").strip() or None,
        stock=stock_named(asked.get("size", "").strip() or "70x37", single),
        skip=_whole(asked, "skip", 0),
        copies=_whole(asked, "copies", 1),
        outlined=bool(asked.get("outline")),
        address=address,
    )


def _delivery(open_work: "OpenWork", asked: Asked, _: str) -> Drawing:
    docket = asked.get("docket", "").strip()
    if not docket:
        raise BadInput("No delivery is meant.", [Fault("docket", "a docket's number", "nothing")])
    return draw_delivery(open_work, docket, asked.get("supplier", "").strip() or None)


def _materials(open_work: "OpenWork", asked: Asked, _: str) -> Drawing:
    return draw_materials(open_work, asked.get("job", "").strip())


SHEETS: Mapping[str, Callable[["OpenWork", Asked, str], Drawing]] = {
    "bench": _bench,
    "plan": _plan,
    "cuts": _cuts,
    "panels": _panels,
    "boards": _boards,
    "labels": _labels,
    "delivery": _delivery,
    "materials": _materials,
}


def _numbers(asked: Asked, *, required: bool = False) -> list[str]:
    numbers = list(dict.fromkeys(re.split(r"[,;\s]+", asked.get("boards", "").strip())))
    numbers = [number for number in numbers if number]
    if required and not numbers:
        raise BadInput("No board is meant.", [Fault("boards", "numbers of boards", "nothing")])
    if len(numbers) > _MOST_BOARDS:
        raise BadInput(
            "So many boards are not drawn at once.",
            [Fault("boards", f"at most {_MOST_BOARDS}", f"{len(numbers)}")],
        )
    return numbers


def _whole(asked: Asked, name: str, usual: int | None = None) -> int:
    typed = asked.get(name, "").strip()
    if not typed and usual is not None:
        return usual
    if not (typed.isascii() and typed.isdecimal() and len(typed) < 10):
        raise BadInput("The sheet cannot be drawn.", [Fault(name, "a whole number", typed or "nothing")])
    return int(typed)
