"""Pages from templates: the words of texts/, figures as the person likes them, addresses of static files."""

from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal
from functools import cache
from hashlib import sha256
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from jinja2 import Environment, PackageLoader, StrictUndefined, pass_context
from jinja2.runtime import Context
from markupsafe import Markup

from stockyard.web.said import word_left
from stockyard.web.texts import counted, text

if TYPE_CHECKING:
    from stockyard.web.visit import Visit


def render(template: str, visit: "Visit", context: Mapping[str, Any]) -> str:
    """The template filled in. It sees `visit`, `said`, `screens` and what the context holds."""
    from stockyard.web.screens import every_screen

    said = word_left(visit.request)
    return environment().get_template(template).render(
        visit=visit, ways=visit.ways, said=said, screens=every_screen(), **context
    )  # fmt: skip


@cache
def environment() -> Environment:
    """Templates that escape everything, and stop at a name nobody gave instead of showing nothing."""
    made = Environment(
        loader=PackageLoader("stockyard.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals.update(t=text, tn=counted, static=static_url)
    made.filters.update(
        length=_length, money=money, day=day, moment=moment, pct=pct, cubic_m=cubic_m, lineal_m=lineal_m,
        words=words, length_of=len, twice=twice, first_and_count=first_and_count,
    )  # fmt: skip
    return made


@cache
def static_version() -> str:
    """Names the content of everything in static/, so that browsers may keep it for ever."""
    every = sha256()
    for file in sorted(files("stockyard.web").joinpath("static").iterdir(), key=lambda each: each.name):
        every.update(file.name.encode() + file.read_bytes())
    return every.hexdigest()[:12]


def static_url(name: str) -> str:
    """The address of a file in static/."""
    return f"/static/{static_version()}/{name}"


def drawing(svg: str) -> Markup:
    """A drawing of ours, to stand in a page as it is."""
    return Markup(svg)


@pass_context
def _length(context: Context, mm: float | None) -> str:
    """A length as the person likes it; nothing where it is not known."""
    return "" if mm is None else str(context["ways"].length(mm))


def words(value: object) -> str:
    """A word of ours as people say it: bark inclusion."""
    return str(value).replace("_", " ")


def twice(value: str) -> tuple[str, str]:
    """A choice that is called what it is."""
    return value, value


def first_and_count(item: tuple[str, int]) -> tuple[str, str]:
    """A choice with how many there are of it."""
    value, count = item
    return value, f"{value} ({count:,})"


def money(amount: Decimal) -> str:
    """An amount as a person reads it, without its currency."""
    return f"{amount:,}"


def day(when: date | datetime) -> str:
    """A day as it cannot be misread: 24 Nov 2026."""
    return f"{when.day} {when:%b %Y}"


def moment(when: datetime) -> str:
    """A moment where the workshop is: 24 Nov 2026, 14:05."""
    here = when.astimezone()
    return f"{day(here)}, {here:%H:%M}"


def pct(value: float | None) -> str:
    """A moisture content: 11.2 %; a dash where it was never read."""
    return "–" if value is None else f"{value:.1f} %"


def cubic_m(mm3: float | Decimal) -> str:
    """A volume in cubic metres to the litre: 0.013 m³."""
    return f"{float(mm3) / 1e9:,.3f} m³"


def lineal_m(mm: float) -> str:
    """A run of timber in metres: 12.4 m."""
    return f"{mm / 1000:,.1f} m"
