"""Stock and worth: what there is and what it stands for on any day, and reports of it."""

from datetime import date
from typing import Annotated, Any, Literal

from fastapi import Path, Query
from fastapi.responses import Response

from stockyard.measures.plain import plain
from stockyard.services.climate_log import list_places, show_climate
from stockyard.services.make_report import OF_A_DAY, OF_DAYS, make_report
from stockyard.services.reorder import list_reorder_points
from stockyard.services.stock_worth import stock_worth, worth_lines
from stockyard.services.supplies import list_supplies
from stockyard.web.api.routes import Api
from stockyard.web.etags import answer_with_tag
from stockyard.web.visit import Here

api = Api("stock")

Group = Literal["species", "thickness", "place", "status", "docket"]
Day = Annotated[date | None, Query(description="The evening of that day; now when left out.")]


@api.get("/api/stock")
def stock(
    visit: Here,
    by: Annotated[list[Group], Query(max_length=5)] = [],  # noqa: B006
    as_of: Day = None,
) -> Response:
    """What everything on hand stands for, and each group of it."""
    whole = stock_worth(visit.open_work, as_of)
    groups = tuple(dict.fromkeys(by))
    lines = worth_lines(visit.open_work, groups, as_of) if groups else ()
    told: dict[str, Any] = {
        "as_of": plain(whole.as_of),
        "currency": whole.currency,
        "pieces": whole.pieces,
        "gross_m3": whole.volume_mm3 / 1e9,
        "timber": plain(whole.timber),
        "supplies": plain(whole.supplies),
        "accounts": {account.value: plain(amount) for account, amount in whole.accounts},
        "groups": [
            dict(zip(groups, plain(line.key), strict=True))
            | {
                "pieces": line.pieces,
                "gross_m3": plain(line.gross_m3),
                "worth": plain(line.worth),
            }
            for line in lines
        ],
    }
    return answer_with_tag(visit.request, told)


@api.get("/api/reports")
def reports(visit: Here) -> Response:
    """Which reports there are, of a day and of a run of days."""
    return answer_with_tag(visit.request, {"of_a_day": list(OF_A_DAY), "of_days": list(OF_DAYS)})


@api.get("/api/reports/{name}")
def report(
    visit: Here,
    name: Annotated[str, Path(max_length=40)],
    as_of: Day = None,
    since: Annotated[date | None, Query(description="From that day on.")] = None,
    until: Annotated[date | None, Query(description="Up to that day.")] = None,
) -> Response:
    """A report: its columns, rows and foot."""
    made = make_report(visit.open_work, name, as_of=as_of, since=since, until=until)
    names = [column.name for column in made.columns]
    told = {
        "report": made.name,
        "title": made.title,
        "span": made.span,
        "currency": made.currency,
        "columns": [
            {"name": each.name, "title": each.title, "unit": each.unit.value} for each in made.columns
        ],
        "rows": [dict(zip(names, plain(row), strict=True)) for row in made.rows],
        "total": plain(made.foot),
        "notes": list(made.notes),
    }
    return answer_with_tag(visit.request, told)


@api.get("/api/supplies")
def supplies(visit: Here, as_of: Day = None) -> Response:
    """Every consumable and how much of it there is."""
    found = [
        {
            "name": each.supply.name,
            "kind": each.supply.kind.value,
            "unit": each.supply.unit.value,
            "quantity": plain(each.shelf.quantity),
            "worth": plain(each.shelf.value),
            "currency": each.currency,
        }
        for each in list_supplies(visit.open_work, as_of)
    ]
    return answer_with_tag(visit.request, {"supplies": found})


@api.get("/api/reorder")
def reorder(visit: Here) -> Response:
    """How much of each timber and consumable should be there at least, and what is low."""
    found = [
        {
            "what": each.what,
            "thickness": each.thickness_mm,
            "at": plain(each.at),
            "there": plain(each.there),
            "unit": each.unit,
            "low": each.low,
        }
        for each in list_reorder_points(visit.open_work)
    ]
    return answer_with_tag(visit.request, {"points": found})


@api.get("/api/climate")
def places(visit: Here) -> Response:
    """Every place whose air is logged."""
    found = [{"place": each.name, "zone": each.zone} for each in list_places(visit.open_work)]
    return answer_with_tag(visit.request, {"places": found})


@api.get("/api/climate/{place}")
def climate(visit: Here, place: Annotated[str, Path(max_length=200)]) -> Response:
    """The air of a place month by month, and where it takes wood."""
    found = show_climate(visit.open_work, place)
    told = {
        "place": found.place.name,
        "zone": found.place.zone,
        "readings": found.readings,
        "first": plain(found.first),
        "last": plain(found.last),
        "months": plain(found.months),
        "gaps": plain(found.gaps),
        "emc": plain(found.span),
        "no_emc": found.no_span or None,
    }
    return answer_with_tag(visit.request, told)
