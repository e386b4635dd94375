"""The workshop's habits at the bench: what it says of its own stands, the rest is the trade's default.

A document names only what differs, section by section (ready, treatment, joints, glue, work, hours, rates):

    {"format": "stockyard.habits/1", "glue": {"clamp_n": 2500}, "hours": {"begins": "07:30"}}

Its keys are the names of the habits in those rooms, with their units.
"""

from dataclasses import MISSING, dataclass, field, fields
from datetime import date, time
from decimal import Decimal
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from stockyard.moisture.readiness import ReadyRule
from stockyard.prep.bench import PrepHabits, WorkHabits
from stockyard.prep.gluing import GlueHabits
from stockyard.prep.joints import JointHabits
from stockyard.prep.quote import Rates
from stockyard.prep.schedule import WorkingHours
from stockyard.prep.treatment import TreatmentHabits
from stockyard.selection.interchange.fields import Fields
from stockyard.selection.interchange.text import load

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork

KEY = "bench_habits"
"""The workshop setting that holds them, as they were handed in."""

FORMAT = "stockyard.habits/1"
_SECTIONS: dict[str, Any] = {
    "ready": ReadyRule,
    "treatment": TreatmentHabits,
    "joints": JointHabits,
    "glue": GlueHabits,
    "work": WorkHabits,
    "hours": WorkingHours,
    "rates": Rates,
}
_MOST = 1_000_000.0
_AT_LEAST_SOMETHING = {"pitch_mm", "clamp_n", "pressure_mpa", "cover_m2", "open_minutes", "spread_g_m2"}


@dataclass(frozen=True, slots=True)
class Habits:
    """All that a workshop may set. own: the names of those it set itself, such as "glue.pressure_mpa"."""

    ready: ReadyRule = field(default_factory=ReadyRule)
    prep: PrepHabits = field(default_factory=PrepHabits)
    rates: Rates = field(default_factory=Rates)
    own: tuple[str, ...] = ()


def set_habits(open_work: "OpenWork", content: bytes) -> Habits:
    """Make a document's figures the workshop's from now on; what it leaves out goes back to the default.

    content: stockyard.habits/1. Raises BadInput with every fault and its place in the document.
    """
    document = load(content, "The habits")
    habits = _read(document)
    with open_work() as work:
        work.workshop.set(KEY, _jsonable(document))
        work.commit()
    return habits


def show_habits(open_work: "OpenWork") -> Habits:
    """The habits that stand."""
    with open_work(reading=True) as work:
        return habits_of(work)


def habits_of(work: "UnitOfWork") -> Habits:
    """The habits that stand: the workshop's own over the defaults."""
    kept = work.workshop.get(KEY)
    return Habits() if kept is None else _read(kept)


def document_of(habits: Habits) -> dict[str, Any]:
    """The stockyard.habits/1 document that states all of them."""
    prep = habits.prep
    parts: dict[str, Any] = {
        "ready": habits.ready,
        "treatment": prep.treatment,
        "joints": prep.joints,
        "glue": prep.glue,
        "work": prep.work,
        "hours": prep.hours,
        "rates": habits.rates,
    }
    return {
        "format": FORMAT,
        **{
            name: {each.name: _plain(getattr(part, each.name)) for each in fields(part)}
            for name, part in parts.items()
        },
    }


def _read(document: Any) -> Habits:
    given = Fields()
    table = given.table(document, "", ("format",), tuple(_SECTIONS))
    if table.get("format") not in (FORMAT, None):
        given.wrong("format", FORMAT, table.get("format"))
    values: dict[str, dict[str, Any]] = {}
    own = []
    for name, kind in _SECTIONS.items():
        known = {each.name: each for each in fields(kind)}
        section = given.table(table.get(name) or {}, name, (), tuple(known))
        values[name] = {
            key: _value(given, f"{name}.{key}", key, raw, _default(known[key]))
            for key, raw in section.items()
            if key in known and raw is not None
        }
        own += [f"{name}.{key}" for key in values[name]]
    given.finish("The workshop's habits")
    made = {name: kind(**values[name]) for name, kind in _SECTIONS.items()}
    return Habits(
        ready=made["ready"],
        prep=PrepHabits(made["treatment"], made["joints"], made["glue"], made["work"], made["hours"]),
        rates=made["rates"],
        own=tuple(own),
    )


def _default(each: Any) -> Any:
    return each.default if each.default is not MISSING else each.default_factory()


def _value(given: Fields, where: str, key: str, raw: Any, default: Any) -> Any:
    """A figure as its default is: a word, an amount, a time, days, a list of numbers, or a number."""
    if isinstance(default, StrEnum):
        return given.choice(raw, where, type(default))
    if isinstance(default, Decimal):
        return given.money(raw, where)
    if isinstance(default, time):
        return _time(given, where, raw, default)
    if key == "weekdays":
        days = enumerate(given.items(raw, where, least=1))
        return frozenset(given.whole(day, f"{where}[{n}]", 0, 6) for n, day in days)
    if key == "closed":
        return frozenset(_day(given, f"{where}[{n}]", day) for n, day in enumerate(given.items(raw, where)))
    if key == "mix":
        parts = given.items(raw, where, least=2)
        if len(parts) != 2:
            given.wrong(where, "two parts, resin and hardener", raw)
            return default
        return tuple(given.number(part, where, 0, 100, above=True) for part in parts)
    if isinstance(default, tuple):
        return tuple(
            given.whole(each, f"{where}[{n}]", 1, 5000) for n, each in enumerate(given.items(raw, where))
        )
    if isinstance(default, int):
        return given.whole(raw, where, 0, 365 if key == "newest_days" else 50)
    high = 1.0 if key == "overfill" else 100.0 if key.endswith("_pct") else _MOST
    return float(given.number(raw, where, 0, high, above=key in _AT_LEAST_SOMETHING))


def _time(given: Fields, where: str, raw: Any, default: time) -> time:
    try:
        return time.fromisoformat(raw)
    except (TypeError, ValueError):
        given.wrong(where, "a time of day such as 08:00", raw)
        return default


def _day(given: Fields, where: str, raw: Any) -> date:
    try:
        return date.fromisoformat(raw)
    except (TypeError, ValueError):
        given.wrong(where, "a day such as 2026-12-25", raw)
        return date.min


def _plain(value: Any) -> Any:
    """A habit as the document words it."""
    if isinstance(value, StrEnum):
        return value.value
    if isinstance(value, Decimal):
        return float(value)
    if isinstance(value, time):
        return f"{value:%H:%M}"
    if isinstance(value, frozenset):
        return sorted(each.isoformat() if isinstance(each, date) else each for each in value)
    return list(value) if isinstance(value, tuple) else value


def _jsonable(value: Any) -> Any:
    """The document as JSON can hold it; fractions were read as Decimal."""
    if isinstance(value, dict):
        return {key: _jsonable(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_jsonable(item) for item in value]
    return float(value) if isinstance(value, Decimal) else value


def own_or_default(habits: Habits, section: str) -> str:
    """Whose figures a section's are, for whoever reads the answer."""
    own = [name for name in habits.own if name.startswith(f"{section}.")]
    if not own:
        return "the trade's defaults"
    return f"the workshop's own {', '.join(name.partition('.')[2] for name in own)}, else defaults"


def ready_rule(habits: Habits, job_rule: Any) -> ReadyRule:
    """The workshop's rule for readiness, narrowed by what a job allows."""
    if job_rule is None:
        return habits.ready
    return ReadyRule(
        min_pct=job_rule.min_pct,
        max_pct=job_rule.max_pct,
        within_pct=habits.ready.within_pct,
        spread_pct=job_rule.spread_pct,
        newest_days=habits.ready.newest_days,
    )
