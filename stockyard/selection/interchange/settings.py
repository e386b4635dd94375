"""The settings a job may state and a plan states in full: allowances, moisture, costs, rings and rules."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from stockyard.selection.interchange.fields import MOST_MM, Fields, given
from stockyard.timber import Allowances, Costs, DefectKind, Do, Job, MoistureRule, Rule, Rules, Unread

_ALLOWANCES = (
    "end_trim",
    "edge_joint",
    "side_trim",
    "face_planing",
    "board_end_loss",
    "kerf",
    "glue_clear",
    "end_clear",
)
_COSTS = ("handling", "recovery", "match", "ring_break")
_RULE = ("do", "per_item", "per_mm", "max_length", "max_area", "penalty")
_MOST_ALLOWANCE_MM = 10_000


def read_allowances(raw: Any, fields: Fields, usual: Allowances) -> Allowances:
    """The allowances stated, and the usual ones for the rest."""
    if raw is None:
        return usual
    raw = fields.table(raw, "allowances", (), (*_ALLOWANCES, "offcut"))
    offcut = raw.get("offcut")
    offcut = {} if offcut is None else fields.table(offcut, "allowances.offcut", (), ("length", "width"))

    def stated(source: Mapping[str, Any], key: str, where: str, otherwise: float, high: float) -> float:
        return fields.length(source[key], where, high=high) if given(source, key) else otherwise

    values = {
        f"{key}_mm": stated(raw, key, f"allowances.{key}", getattr(usual, f"{key}_mm"), _MOST_ALLOWANCE_MM)
        for key in _ALLOWANCES
    }
    return Allowances(
        **values,
        offcut_length_mm=stated(
            offcut, "length", "allowances.offcut.length", usual.offcut_length_mm, MOST_MM
        ),
        offcut_width_mm=stated(offcut, "width", "allowances.offcut.width", usual.offcut_width_mm, MOST_MM),
    )


def read_moisture(raw: Any, fields: Fields, usual: MoistureRule) -> MoistureRule:
    """The moisture limits stated, and the usual ones for the rest."""
    if raw is None:
        return usual
    raw = fields.table(raw, "moisture", (), ("min", "max", "spread", "unread"))
    faults_before = len(fields.faults)
    low, high, spread = (
        fields.number(raw[key], f"moisture.{key}", 0, 300, unit=" %") if given(raw, key) else otherwise
        for key, otherwise in (
            ("min", usual.min_pct),
            ("max", usual.max_pct),
            ("spread", usual.spread_pct),
        )
    )
    fields.order(low, high, "moisture", faults_before)
    unread = fields.choice(raw["unread"], "moisture.unread", Unread) if given(raw, "unread") else usual.unread
    return MoistureRule(low, high, spread, unread)


def read_costs(raw: Any, fields: Fields, usual: Costs) -> Costs:
    """The costs stated, and the usual ones for the rest."""
    if raw is None:
        return usual
    raw = fields.table(raw, "costs", (), _COSTS)
    handling, recovery, match, ring_break = (
        (
            fields.money(raw[key], f"costs.{key}", high=Decimal(1))
            if key == "recovery"
            else fields.money(raw[key], f"costs.{key}")
        )
        if given(raw, key)
        else getattr(usual, key)
        for key in _COSTS
    )
    return Costs(handling, recovery, match, ring_break)


def read_rules(raw: Any, fields: Fields, usual: Rules) -> Rules:
    """The rules stated for each face, and the usual ones for a face that has none stated."""
    if raw is None:
        return usual
    raw = fields.table(raw, "rules", (), ("show", "back"))
    show, back = (
        _face_rules(raw[face], f"rules.{face}", fields) if given(raw, face) else getattr(usual, face)
        for face in ("show", "back")
    )
    return Rules(show, back)


def settings_document(job: Job) -> dict[str, Any]:
    """The job's settings in full, ready for JSON."""
    allowances, moisture, costs = job.allowances, job.moisture, job.costs
    return {
        "allowances": {key: getattr(allowances, f"{key}_mm") for key in _ALLOWANCES}
        | {"offcut": {"length": allowances.offcut_length_mm, "width": allowances.offcut_width_mm}},
        "moisture": {
            "min": moisture.min_pct,
            "max": moisture.max_pct,
            "spread": moisture.spread_pct,
            "unread": str(moisture.unread),
        },
        "costs": {key: float(getattr(costs, key)) for key in _COSTS},
        "rings": str(job.rings),
        "rules": {
            face: {str(kind): _rule_document(rule) for kind, rule in sorted(rules.items())}
            for face, rules in (("show", job.rules.show), ("back", job.rules.back))
        },
    }


def _face_rules(raw: Any, where: str, fields: Fields) -> dict[DefectKind, Rule]:
    raw = fields.table(raw, where, (), tuple(DefectKind))
    kinds = {str(kind): kind for kind in DefectKind}
    return {
        kinds[key]: _rule(rule, f"{where}.{key}", fields)
        for key, rule in raw.items()
        if key in kinds and rule is not None
    }


def _rule(raw: Any, where: str, fields: Fields) -> Rule:
    raw = fields.table(raw, where, ("do",), _RULE[1:])

    def price(key: str) -> Decimal:
        return fields.money(raw[key], f"{where}.{key}") if given(raw, key) else Decimal(0)

    def limit(key: str, high: float) -> float | None:
        return fields.number(raw[key], f"{where}.{key}", 0, high) if given(raw, key) else None

    return Rule(
        do=fields.choice(raw.get("do"), f"{where}.do", Do),
        per_item=price("per_item"),
        per_mm=price("per_mm"),
        max_length_mm=limit("max_length", MOST_MM),
        max_area_mm2=limit("max_area", MOST_MM**2),
        penalty=price("penalty"),
    )


def _rule_document(rule: Rule) -> dict[str, Any]:
    """A rule with the figures that it has; those left out are 0 or do not bind."""
    figures = {
        "per_item": float(rule.per_item) or None,
        "per_mm": float(rule.per_mm) or None,
        "max_length": rule.max_length_mm,
        "max_area": rule.max_area_mm2,
        "penalty": float(rule.penalty) or None,
    }
    return {"do": str(rule.do)} | {key: value for key, value in figures.items() if value is not None}
