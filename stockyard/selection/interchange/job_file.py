"""The job document: the panels wanted, and whatever settings are not the workshop's usual ones."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from stockyard.selection.interchange.fields import Fields, given
from stockyard.selection.interchange.settings import (
    read_allowances,
    read_costs,
    read_moisture,
    read_rules,
    settings_document,
)
from stockyard.selection.interchange.text import Source, load
from stockyard.timber import Job, Panel, Rings, Show

FORMAT = "stockyard.job/1"
NAME = "The job file"

_REQUIRED = ("format", "id", "panels")
_OPTIONAL = ("allowances", "moisture", "costs", "rings", "rules")
_PANEL_REQUIRED = ("id", "length", "width", "thickness", "species", "staves", "stave_width")
_PANEL_OPTIONAL = ("show", "priority")
_MOST_STAVES = 1000


def read_job(source: Source, defaults: Job | None = None) -> Job:
    """The job a document of format stockyard.job/1 describes.

    source: JSON text (str, or bytes in UTF-8), or the document already parsed. defaults: a job whose settings
    stand in for each figure left out (its panels do not matter); the trade's usual ones when None. Of the
    rules, a face's are taken over whole where the document has none for that face.
    Raises BadInput with every fault and its place, such as "panels[0].stave_width".
    """
    usual = defaults or Job(id="", panels=())
    fields = Fields()
    raw = fields.table(load(source, NAME), "", _REQUIRED, _OPTIONAL)
    if given(raw, "format") and raw["format"] != FORMAT:
        fields.wrong("format", FORMAT, raw["format"])
    panels = raw.get("panels")
    job = replace(
        read_settings(raw, fields, usual),
        id=fields.text(raw.get("id"), "id"),
        panels=tuple(
            _panel(panel, f"panels[{n}]", fields)
            for n, panel in enumerate(fields.items(panels, "panels", least=1))
        ),
    )
    fields.once([panel.id for panel in job.panels], lambda n: f"panels[{n}].id")
    fields.finish(NAME)
    return job


def read_settings(raw: Mapping[str, Any], fields: Fields, usual: Job) -> Job:
    """`usual` with the settings that the document states instead."""
    return replace(
        usual,
        allowances=read_allowances(raw.get("allowances"), fields, usual.allowances),
        moisture=read_moisture(raw.get("moisture"), fields, usual.moisture),
        costs=read_costs(raw.get("costs"), fields, usual.costs),
        rings=fields.choice(raw["rings"], "rings", Rings) if given(raw, "rings") else usual.rings,
        rules=read_rules(raw.get("rules"), fields, usual.rules),
    )


def job_document(job: Job) -> dict[str, Any]:
    """The document of a job with its settings in full, ready for JSON."""
    return {
        "format": FORMAT,
        "id": job.id,
        **settings_document(job),
        "panels": [
            {
                "id": panel.id,
                "length": panel.length_mm,
                "width": panel.width_mm,
                "thickness": panel.thickness_mm,
                "species": list(panel.species),
                "staves": {"min": panel.staves_min, "max": panel.staves_max},
                "stave_width": {"min": panel.stave_width_min_mm, "max": panel.stave_width_max_mm},
                "show": str(panel.show),
                "priority": panel.priority,
            }
            for panel in job.panels
        ],
    }


def _panel(raw: Any, where: str, fields: Fields) -> Panel:
    raw = fields.table(raw, where, _PANEL_REQUIRED, _PANEL_OPTIONAL)
    species = tuple(
        fields.text("" if name is None else name, f"{where}.species[{n}]")
        for n, name in enumerate(fields.items(raw.get("species"), f"{where}.species", least=1))
    )
    fields.once(list(species), lambda n: f"{where}.species[{n}]")
    staves = _range(raw, "staves", where, fields)
    place, faults_before = f"{where}.staves", len(fields.faults)
    fewest = fields.whole(staves.get("min"), f"{place}.min", 1, _MOST_STAVES)
    most = fields.whole(staves.get("max"), f"{place}.max", 1, _MOST_STAVES)
    if given(staves, "min") and given(staves, "max"):
        fields.order(fewest, most, place, faults_before)
    widths = _range(raw, "stave_width", where, fields)
    place, faults_before = f"{where}.stave_width", len(fields.faults)
    least = fields.length(widths.get("min"), f"{place}.min", above=True)
    greatest = fields.length(widths.get("max"), f"{place}.max", above=True)
    if given(widths, "min") and given(widths, "max"):
        fields.order(least, greatest, place, faults_before)
    return Panel(
        id=fields.text(raw.get("id"), f"{where}.id"),
        length_mm=fields.length(raw.get("length"), f"{where}.length", above=True),
        width_mm=fields.length(raw.get("width"), f"{where}.width", above=True),
        thickness_mm=fields.length(raw.get("thickness"), f"{where}.thickness", high=2_000, above=True),
        species=species,
        staves_min=fewest,
        staves_max=most,
        stave_width_min_mm=least,
        stave_width_max_mm=greatest,
        show=fields.choice(raw["show"], f"{where}.show", Show) if given(raw, "show") else Show.ONE,
        priority=fields.whole(raw["priority"], f"{where}.priority", 1, 1_000_000)
        if given(raw, "priority")
        else 1,
    )


def _range(raw: Mapping[str, Any], key: str, where: str, fields: Fields) -> Mapping[str, Any]:
    if not given(raw, key):
        return {}
    return fields.table(raw[key], f"{where}.{key}", ("min", "max"))
