"""Stock and worth: how much there is and what it stands for, by kind and over time, on any day, to print."""

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from fastapi.responses import Response
from starlette.datastructures import QueryParams

from stockyard.errors import BadInput, Fault
from stockyard.measures.date_text import parse_date
from stockyard.services.draw_chart import draw_chart
from stockyard.services.make_report import OF_A_DAY, OF_DAYS, make_report
from stockyard.services.reorder import list_reorder_points
from stockyard.services.stock_worth import GROUPS, stock_worth, worth_lines
from stockyard.services.supplies import list_supplies
from stockyard.web.report_words import cell, shares
from stockyard.web.screen import Screen
from stockyard.web.visit import Here

if TYPE_CHECKING:
    from stockyard.reports.report import Report

screen = Screen("stock", "/stock")

WITH_CHART = ("worth", "age", "moisture", "recovery", "offcuts", "defects")
"""Reports that are drawn too."""

_BY = ("species,thickness", "species", "thickness", "place", "docket", "status")
_MOST_ROWS = 400


@screen.page("/stock")
def stock(visit: Here) -> Response:
    """What there is and what it is worth, grouped as asked, by the end of a day."""
    asked = visit.request.query_params
    by = asked.get("by", "") if asked.get("by", "") in _BY else _BY[0]
    as_of = _days(asked, "as_of")["as_of"]
    names = tuple(name for name in by.split(",") if name in GROUPS)
    lines = worth_lines(visit.open_work, names, as_of)
    dearest = max((line.worth for line in lines), default=Decimal(0))
    return visit.page(
        "stock.html",
        worth=stock_worth(visit.open_work, as_of),
        lines=lines[:_MOST_ROWS],
        hidden=max(0, len(lines) - _MOST_ROWS),
        bars=shares([line.worth for line in lines[:_MOST_ROWS]], dearest),
        names=names,
        by=by,
        groupings=_BY,
        as_of=as_of,
        supplies=list_supplies(visit.open_work, as_of),
        low=[point for point in list_reorder_points(visit.open_work) if point.low],
        reports=(*OF_A_DAY, *OF_DAYS),
    )


@screen.page("/stock/report/{name}")
def report(visit: Here, name: str) -> Response:
    """A report as a table, with its chart where it has one."""
    asked = visit.request.query_params
    days = _days(asked, *(("as_of",) if name in OF_A_DAY else ("since", "until")))
    made = make_report(visit.open_work, name, **days)
    query = {key: day.isoformat() for key, day in days.items() if day is not None}
    return visit.page(
        "stock_report.html",
        report=made,
        rows=[_cells(visit, made, row) for row in made.rows[:_MOST_ROWS]],
        hidden=max(0, len(made.rows) - _MOST_ROWS),
        foot=_cells(visit, made, tuple(made.foot.get(column.name) for column in made.columns)),
        of_a_day=name in OF_A_DAY,
        days=days,
        reports=(*OF_A_DAY, *OF_DAYS),
        chart=visit.url(f"/stock/chart/{name}.svg", query) if name in WITH_CHART and made.rows else "",
        file=visit.url(f"/stock/file/{name}.csv", query),
    )


@screen.page("/stock/chart/{name}.{form}")
def chart(visit: Here, name: str, form: str) -> Response:
    """A report's chart, to be shown or printed. form: svg or png."""
    days = _days(visit.request.query_params, *(("as_of",) if name in OF_A_DAY else ("since", "until")))
    drawn = draw_chart(visit.open_work, name, form, **days)
    return Response(drawn, media_type={"svg": "image/svg+xml", "png": "image/png"}[form])


@screen.page("/stock/file/{name}.csv")
def file(visit: Here, name: str) -> Response:
    """A report's rows as a file for a spreadsheet."""
    from stockyard.reports.files import csv_of

    days = _days(visit.request.query_params, *(("as_of",) if name in OF_A_DAY else ("since", "until")))
    made = make_report(visit.open_work, name, **days)
    held = {"Content-Disposition": f'attachment; filename="{made.name}.csv"'}
    return Response(csv_of(made), media_type="text/csv; charset=utf-8", headers=held)


def _cells(visit: Here, made: "Report", row: tuple[object, ...]) -> list[tuple[str, bool]]:
    """Each cell as it is shown, and whether it stands to the right."""
    return [
        (cell(column.unit.value, value, visit.ways), column.unit.value not in ("text", "day"))
        for column, value in zip(made.columns, row, strict=True)
    ]


def _days(asked: QueryParams, *names: str) -> dict[str, Any]:
    """The days of an address; an empty one is none. Raises BadInput."""
    found: dict[str, date | None] = {}
    faults: list[Fault] = []
    for name in names:
        try:
            found[name] = parse_date(asked[name], where=name) if asked.get(name, "").strip() else None
        except BadInput as refused:
            faults += refused.faults or (Fault(name, "a day", asked[name][:40]),)
    if faults:
        raise BadInput("There is no such day.", faults)
    return found
