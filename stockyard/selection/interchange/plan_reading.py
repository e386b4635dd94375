"""A plan document read back, against the job it answers."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any, TypeVar

from stockyard.selection.interchange.fields import MOST_MM, MOST_MONEY, Fields, given
from stockyard.selection.interchange.job_file import read_settings
from stockyard.selection.interchange.plan_file import FORMAT
from stockyard.selection.interchange.text import Source, load
from stockyard.timber import (
    BoardCut,
    CostParts,
    Face,
    Job,
    MadePanel,
    Offcut,
    Plan,
    Reason,
    Rejection,
    Section,
    Status,
    Stave,
    Strip,
    StripUse,
    Treatment,
    Window,
)

NAME = "The plan file"

_REQUIRED = (
    "format",
    "job",
    "currency",
    "status",
    "cost",
    "bound",
    "gap",
    "seconds",
    "cost_parts",
    "panels",
    "boards",
    "rejected",
    "allowances",
    "rules",
    "moisture",
    "costs",
    "rings",
)
_PARTS = ("timber", "handling", "offcuts", "treatments", "appearance", "match", "rings")
_SIDES = ("x0", "y0", "x1", "y1")
_WHEREABOUTS = ("kind", "face", "quantity", "in_board", "in_panel")
_FARTHEST_MM = int(MOST_MM)

Part = TypeVar("Part")


def read_plan(source: Source, job: Job) -> Plan:
    """The plan a document of format stockyard.plan/1 describes, as an answer to `job`.

    The document's own settings stand in the plan's job; the panels asked for are `job`'s. Where a treated
    defect lies is not read: the board says that.
    Raises BadInput with every fault and its place, a reference to another job or to no panel of it included.
    """
    fields = Fields()
    raw = fields.table(load(source, NAME), "", _REQUIRED)
    if given(raw, "format") and raw["format"] != FORMAT:
        fields.wrong("format", FORMAT, raw["format"])
    if given(raw, "job") and raw["job"] != job.id:
        fields.wrong("job", f"{job.id}, the job it answers", raw["job"])
    panels = _each(fields, raw.get("panels"), "panels", _panel)
    known = {panel.id for panel in job.panels}
    for number, made in enumerate(panels):
        if made.id and made.id not in known:
            fields.wrong(f"panels[{number}].id", "a panel of the job", made.id)
    fields.once([made.id for made in panels], lambda n: f"panels[{n}].id")
    parts = fields.table(raw.get("cost_parts") or {}, "cost_parts", _PARTS)
    plan = Plan(
        job=read_settings(raw, fields, job),
        currency=fields.text(raw.get("currency"), "currency"),
        status=fields.choice(raw.get("status"), "status", Status),
        cost_parts=CostParts(
            **{part: _signed(fields, parts.get(part), f"cost_parts.{part}") for part in _PARTS}
        ),
        bound=_signed(fields, raw.get("bound"), "bound"),
        seconds=float(fields.number(raw.get("seconds"), "seconds", 0, 1e9)),
        panels=panels,
        boards=_each(fields, raw.get("boards"), "boards", _board),
        rejected=_each(fields, raw.get("rejected"), "rejected", _rejection),
    )
    cost = _signed(fields, raw.get("cost"), "cost")
    fields.number(raw.get("gap"), "gap", 0, 1e12)
    fields.finish(NAME)
    if abs(cost - plan.cost) > Decimal("0.00001"):
        fields.wrong("cost", f"{plan.cost}, the sum of its parts", raw.get("cost"))
        fields.finish(NAME)
    return plan


def _each(fields: Fields, raw: Any, where: str, read: Callable[[Fields, Any, str], Part]) -> tuple[Part, ...]:
    return tuple(
        read(fields, item, f"{where}[{number}]") for number, item in enumerate(fields.items(raw, where))
    )


def _panel(fields: Fields, raw: Any, where: str) -> MadePanel:
    raw = fields.table(raw, where, ("id", "made"), ("staves", "why"))
    made = MadePanel(
        id=fields.text(raw.get("id"), f"{where}.id"),
        staves=_each(fields, raw.get("staves") or [], f"{where}.staves", _stave),
        why=fields.text(raw["why"], f"{where}.why") if given(raw, "why") else "",
    )
    if _flag(fields, raw.get("made"), f"{where}.made") is not made.made:
        expected = "true, as it has staves" if made.made else "false, as it has no staves"
        fields.wrong(f"{where}.made", expected, raw.get("made"))
    return made


def _stave(fields: Fields, raw: Any, where: str) -> Stave:
    raw = fields.table(raw, where, ("board", "show", "turned", "finished", "rough", "treat", "accept"))
    return Stave(
        board=fields.text(raw.get("board"), f"{where}.board"),
        show=fields.choice(raw.get("show"), f"{where}.show", Face, (Face.A, Face.B)),
        turned=_flag(fields, raw.get("turned"), f"{where}.turned"),
        finished=_window(fields, raw.get("finished"), f"{where}.finished"),
        rough=_window(fields, raw.get("rough"), f"{where}.rough"),
        treat=_each(fields, raw.get("treat"), f"{where}.treat", _treatment),
        accept=_each(fields, raw.get("accept"), f"{where}.accept", Fields.text),
    )


def _treatment(fields: Fields, raw: Any, where: str) -> Treatment:
    raw = fields.table(raw, where, ("defect", "method", "cost"), _WHEREABOUTS)
    return Treatment(
        defect=fields.text(raw.get("defect"), f"{where}.defect"),
        method=fields.text(raw.get("method"), f"{where}.method"),
        cost=fields.money(raw.get("cost"), f"{where}.cost"),
    )


def _board(fields: Fields, raw: Any, where: str) -> BoardCut:
    raw = fields.table(raw, where, ("id", "sections", "offcuts"))
    return BoardCut(
        id=fields.text(raw.get("id"), f"{where}.id"),
        sections=_each(fields, raw.get("sections"), f"{where}.sections", _section),
        offcuts=_each(fields, raw.get("offcuts"), f"{where}.offcuts", _offcut),
    )


def _section(fields: Fields, raw: Any, where: str) -> Section:
    raw = fields.table(raw, where, ("x0", "x1", "strips"))
    x0, x1 = _span(fields, raw.get("x0"), raw.get("x1"), where, "x")
    return Section(x0, x1, _each(fields, raw.get("strips"), f"{where}.strips", _strip))


def _strip(fields: Fields, raw: Any, where: str) -> Strip:
    raw = fields.table(raw, where, ("use", "y0", "y1"), ("panel", "stave"))
    y0, y1 = _span(fields, raw.get("y0"), raw.get("y1"), where, "y")
    return Strip(
        use=fields.choice(raw.get("use"), f"{where}.use", StripUse),
        y0=y0,
        y1=y1,
        panel=fields.text(raw["panel"], f"{where}.panel") if given(raw, "panel") else None,
        stave=fields.whole(raw["stave"], f"{where}.stave", 0, 1000) if given(raw, "stave") else None,
    )


def _offcut(fields: Fields, raw: Any, where: str) -> Offcut:
    raw = fields.table(raw, where, (*_SIDES, "value"))
    window = _window(fields, {side: raw.get(side) for side in _SIDES}, where)
    return Offcut(window, fields.money(raw.get("value"), f"{where}.value"))


def _rejection(fields: Fields, raw: Any, where: str) -> Rejection:
    raw = fields.table(raw, where, ("id", "reasons"))
    reasons = _each(fields, raw.get("reasons"), f"{where}.reasons", _reason)
    return Rejection(fields.text(raw.get("id"), f"{where}.id"), reasons)


def _reason(fields: Fields, raw: Any, where: str) -> Reason:
    raw = fields.table(raw, where, ("why", "detail"), ("panel",))
    return Reason(
        why=fields.text(raw.get("why"), f"{where}.why"),
        panel=fields.text(raw["panel"], f"{where}.panel") if given(raw, "panel") else None,
        detail=fields.text(raw.get("detail"), f"{where}.detail"),
    )


def _window(fields: Fields, raw: Any, where: str) -> Window:
    raw = fields.table(raw or {}, where, _SIDES)
    x0, x1 = _span(fields, raw.get("x0"), raw.get("x1"), where, "x")
    y0, y1 = _span(fields, raw.get("y0"), raw.get("y1"), where, "y")
    return Window(x0, y0, x1, y1)


def _span(fields: Fields, raw_low: Any, raw_high: Any, where: str, axis: str) -> tuple[int, int]:
    faults_before = len(fields.faults)
    low = fields.whole(raw_low, f"{where}.{axis}0", -_FARTHEST_MM, _FARTHEST_MM)
    high = fields.whole(raw_high, f"{where}.{axis}1", -_FARTHEST_MM, _FARTHEST_MM)
    read = raw_low is not None and raw_high is not None and len(fields.faults) == faults_before
    if read and low >= high:
        fields.wrong(where, f"{axis}0 below {axis}1", f"{low} and {high}")
    return low, high


def _signed(fields: Fields, raw: Any, where: str) -> Decimal:
    return fields.money(raw, where, low=-MOST_MONEY)


def _flag(fields: Fields, raw: Any, where: str) -> bool:
    if not isinstance(raw, bool) and raw is not None:
        fields.wrong(where, "true or false", raw)
    return raw is True
