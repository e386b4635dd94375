"""A job as a form holds it: every field is named by its place in the stockyard.job/1 document.

So a fault that names its place stands beside the field it is about, whoever finds it.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from stockyard.errors import BadInput, Fault
from stockyard.measures.number import parse_number
from stockyard.timber import DefectKind, Job
from stockyard.web.forms import Filled
from stockyard.web.texts import text
from stockyard.web.ways import Ways

ALLOWANCES = (
    "end_trim", "edge_joint", "side_trim", "face_planing", "board_end_loss", "kerf", "glue_clear",
    "end_clear",
)  # fmt: skip
COSTS = ("handling", "recovery", "match", "ring_break")
MOISTURE = ("min", "max", "spread")
FIGURES = ("max_length", "max_area", "per_item", "per_mm", "penalty")
SIZES = ("length", "width", "thickness", "stave_width.min", "stave_width.max")
KINDS = tuple(kind.value for kind in DefectKind)

_PANEL = re.compile(r"^panels\[(\d{1,3})\]\.")
_RULE = re.compile(r"^rule\[(\d{1,3})\]\.kind$")
_MOST_ROWS = 60


@dataclass(frozen=True, slots=True)
class JobForm:
    """What a form shows. panels, rules: rows of texts by field, some empty ones at the end.

    values: of the settings, by place. version: of the job that is changed, 0 for a new one.
    """

    name: str
    version: int
    panels: Sequence[Mapping[str, str]]
    rules: Sequence[Mapping[str, str]]
    values: Mapping[str, str]


def empty_form(name: str = "", version: int = 0) -> JobForm:
    """A form for a new job."""
    return JobForm(name, version, [_bare_panel()], [_bare_rule() for _ in range(3)], {})


def form_of(document: Mapping[str, Any], version: int, ways: Ways) -> JobForm:
    """A form that holds a kept document."""
    panels = [
        {
            "id": str(panel["id"]),
            **{size: ways.length(_deep(panel, size)) for size in SIZES},
            "species": ", ".join(panel["species"]),
            "staves.min": f"{panel['staves']['min']:g}",
            "staves.max": f"{panel['staves']['max']:g}",
            "show": str(panel.get("show") or "one"),
            "priority": f"{panel.get('priority') or 1:g}",
        }
        for panel in document["panels"]
    ]
    rules = [
        {
            "face": face,
            "kind": kind,
            "do": str(rule["do"]),
            **{figure: _figure(rule.get(figure)) for figure in FIGURES},
        }
        for face, said in (document.get("rules") or {}).items()
        for kind, rule in (said or {}).items()
        if rule is not None
    ]
    values: dict[str, str] = {}
    for group in ("allowances", "moisture", "costs"):
        for key, value in (document.get(group) or {}).items():
            if isinstance(value, Mapping):
                values |= {f"{group}.{key}.{name}": _figure(each) for name, each in value.items()}
            elif value is not None:
                values[f"{group}.{key}"] = value if isinstance(value, str) else _figure(value)
    values["rings"] = str(document.get("rings") or "")
    values["no_rules"] = ",".join(
        face for face, said in (document.get("rules") or {}).items() if said is not None and not said
    )
    return JobForm(str(document["id"]), version, panels, [*rules, _bare_rule(), _bare_rule()], values)


def document_in(form: Filled) -> dict[str, Any]:
    """The document that a form states; what could not be read stands in it as typed, for its reader to name.

    Raises BadInput for a rule of the same kind and face twice, which no document can hold.
    """
    document: dict[str, Any] = {"format": "stockyard.job/1", "id": form.text("id")}
    document["panels"] = [
        panel for n in _rows(form, _PANEL) if (panel := _panel_in(form, f"panels[{n}]")) is not None
    ]
    rules = _rules_in(form)
    if rules:
        document["rules"] = rules
    allowances = {key: _number(form, f"allowances.{key}") for key in ALLOWANCES}
    offcut = {key: _number(form, f"allowances.offcut.{key}") for key in ("length", "width")}
    allowances["offcut"] = _said(offcut) or None
    moisture = {key: _number(form, f"moisture.{key}") for key in MOISTURE}
    moisture["unread"] = form.text("moisture.unread") or None
    groups = {
        "allowances": allowances,
        "moisture": moisture,
        "costs": {key: _number(form, f"costs.{key}") for key in COSTS},
    }
    document |= {name: said for name, group in groups.items() if (said := _said(group))}
    if form.text("rings"):
        document["rings"] = form.text("rings")
    form.check("The job was not kept.")
    return document


def typed_form(form: Filled, more_panels: int = 0, more_rules: int = 0) -> JobForm:
    """The form as it was filled in, its empty rows closed up, with so many empty ones more."""
    panels = [
        {name: form.text(f"panels[{n}].{name}") for name in _bare_panel()}
        for n in _rows(form, _PANEL)
        if _says(form, f"panels[{n}]", _bare_panel())
    ]
    rules = [
        {name: form.text(f"rule[{n}].{name}") for name in _bare_rule()}
        for n in _rows(form, _RULE)
        if form.text(f"rule[{n}].kind")
    ]
    places = (
        *(f"allowances.{key}" for key in ALLOWANCES), "allowances.offcut.length", "allowances.offcut.width",
        *(f"moisture.{key}" for key in (*MOISTURE, "unread")), *(f"costs.{key}" for key in COSTS), "rings",
        "no_rules",
    )  # fmt: skip
    version = form.text("version")
    return JobForm(
        form.text("id"),
        int(version) if version.isdecimal() else 0,
        [*panels, *(_bare_panel() for _ in range(max(more_panels, not panels)))],
        [*rules, *(_bare_rule() for _ in range(2 + more_rules))],
        {place: form.text(place) for place in places},
    )


def wrong_in(form: JobForm, faults: Sequence[Fault]) -> tuple[dict[str, str], list[Fault]]:
    """The faults by the field they stand at, and those that stand at none."""
    rows = {(rule["face"], rule["kind"]): n for n, rule in enumerate(form.rules)}
    fields = {f"panels[{n}].{name}" for n, panel in enumerate(form.panels) for name in panel}
    fields |= {f"rule[{n}].{name}" for n, rule in enumerate(form.rules) for name in rule}
    fields |= {"id", *form.values}
    at: dict[str, str] = {}
    others = []
    for fault in faults:
        where = re.sub(r"\.species\[\d+\]$", ".species", fault.where)
        where = re.sub(r"\.(staves|stave_width)$", r".\1.min", where)
        rule = re.match(r"^rules\.(show|back)\.(\w+)(?:\.(\w+))?$", where)
        if rule and (rule[1], rule[2]) in rows:
            where = f"rule[{rows[rule[1], rule[2]]}].{rule[3] or 'do'}"
        if where in fields and where not in at:
            found = f", {text('base.found', found=fault.found)}" if fault.found else ""
            at[where] = text("base.fault", expected=fault.expected) + found
        else:
            others.append(fault)
    return at, others


def usual_values(job: Job) -> dict[str, str]:
    """The workshop's settings, by place: what a field that is left empty comes to."""
    found = {f"allowances.{key}": _figure(getattr(job.allowances, f"{key}_mm")) for key in ALLOWANCES}
    for key in ("length", "width"):
        found[f"allowances.offcut.{key}"] = _figure(getattr(job.allowances, f"offcut_{key}_mm"))
    found |= {f"moisture.{key}": _figure(getattr(job.moisture, f"{key}_pct")) for key in MOISTURE}
    found["moisture.unread"] = job.moisture.unread.value
    found |= {f"costs.{key}": _figure(float(getattr(job.costs, key))) for key in COSTS}
    return found | {"rings": job.rings.value}


def _panel_in(form: Filled, where: str) -> dict[str, Any] | None:
    if not _says(form, where, _bare_panel()):
        return None
    sizes = {size: _length(form, f"{where}.{size}") for size in SIZES}
    species = [name.strip() for name in form.text(f"{where}.species").split(",") if name.strip()]
    return {
        "id": form.text(f"{where}.id") or None,
        **{size: sizes[size] for size in SIZES[:3]},
        "species": species or None,
        "staves": {"min": _number(form, f"{where}.staves.min"), "max": _number(form, f"{where}.staves.max")},
        "stave_width": {"min": sizes["stave_width.min"], "max": sizes["stave_width.max"]},
        "show": form.text(f"{where}.show") or None,
        "priority": _number(form, f"{where}.priority"),
    }


def _rules_in(form: Filled) -> dict[str, Any]:
    rules: dict[str, Any] = {
        face: {} for face in form.text("no_rules").split(",") if face in ("show", "back")
    }
    for n in _rows(form, _RULE):
        kind, face = form.text(f"rule[{n}].kind"), form.text(f"rule[{n}].face") or "show"
        if not kind:
            continue
        if kind in rules.setdefault(face, {}):
            form.faults.append(Fault(f"rules.{face}.{kind}", "each kind once on a face", "the kind again"))
        figures = {figure: _number(form, f"rule[{n}].{figure}") for figure in FIGURES}
        rules[face][kind] = {"do": form.text(f"rule[{n}].do") or None, **_said(figures)}
    return rules


def _rows(form: Filled, pattern: re.Pattern[str]) -> list[int]:
    found = {int(match[1]) for name in form.fields if (match := pattern.match(name))}
    return sorted(found)[:_MOST_ROWS]


def _says(form: Filled, where: str, names: Mapping[str, str]) -> bool:
    """Was anything typed in a row beside what stands in it to begin with?"""
    return any(form.text(f"{where}.{name}") not in ("", usual) for name, usual in names.items())


def _number(form: Filled, name: str) -> Any:
    typed = form.text(name)
    if not typed:
        return None
    try:
        return _plain(float(parse_number(typed, where=name)))
    except BadInput:
        return typed


def _length(form: Filled, name: str) -> Any:
    typed = form.text(name)
    if not typed:
        return None
    try:
        return _plain(form.ways.read_mm(typed, name))
    except BadInput:
        return typed


def _plain(value: float) -> float | int:
    return int(value) if value.is_integer() else round(value, 3)


def _said(group: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in group.items() if value is not None}


def _figure(value: Any) -> str:
    return "" if value is None else f"{float(value):.10g}"


def _deep(panel: Mapping[str, Any], path: str) -> float:
    value: Any = panel
    for key in path.split("."):
        value = value[key]
    return float(value)


def _bare_panel() -> dict[str, str]:
    return dict.fromkeys(("id", *SIZES, "species"), "") | {
        "staves.min": "2", "staves.max": "5", "show": "one", "priority": "1",
    }  # fmt: skip


def _bare_rule() -> dict[str, str]:
    return {"face": "show", "kind": "", "do": "avoid", **dict.fromkeys(FIGURES, "")}
