"""Can a board give a stave? Asked of the brute force, and of jobs changed where a change says so."""

from dataclasses import replace

from stockyard.selection import read_job
from stockyard.selection.interchange import job_document
from stockyard.timber import Face
from tests.selection.brute_force import Bench, compositions, down, dry_enough, up


def gives_a_stave(board, job, panel, reserved=None):
    """By trying every whole-millimetre place, face, width and role."""
    if reserved is not None or board.species not in panel.species or not dry_enough(board, job):
        return False
    job = replace(job, panels=(panel,))
    bench = Bench(board, job)
    low, high = up(panel.stave_width_min_mm), down(panel.stave_width_max_mm)
    keys = set()
    for count in range(panel.staves_min, panel.staves_max + 1):
        for widths in compositions(up(panel.width_mm), count, low, high):
            for place, width in enumerate(widths):
                keys |= {(0, (place == 0) + (place == count - 1), face, width) for face in (Face.A, Face.B)}
    return any(bench.cost((key,)) < float("inf") for key in keys)


def changed(job, panel_id, changes):
    """The job, by its document, and its panel with these changes made at the places that they name."""
    document = job_document(job)
    for change in changes:
        first, _, rest = change.setting.partition(".")
        if first in ("board", "reserved"):
            continue
        if first == "panels":
            panel = next(each for each in document["panels"] if each["id"] == change.panel)
            key = rest.removeprefix(f"{change.panel}.")
            if key == "species":
                panel["species"].append(change.new)
            else:
                _put(panel, key, change.new)
        elif isinstance(change.new, dict):
            for key, value in change.new.items():
                stem = change.setting.rpartition(".")[0]
                old = _get(document, f"{stem}.{key}")
                _put(document, f"{stem}.{key}", max(old, value))
        else:
            _put(document, change.setting, change.new)
    read = read_job(document)
    return read, next(panel for panel in read.panels if panel.id == panel_id)


def changed_board(board, changes):
    """The board with the facts that the changes tell otherwise."""
    facts = {
        f"{c.setting.removeprefix('board.')}_mm": c.new for c in changes if c.setting.startswith("board.")
    }
    return replace(board, **facts)


def _get(document, path):
    for key in path.split("."):
        document = document[key]
    return document


def _put(document, path, value):
    *stem, last = path.split(".")
    for key in stem:
        document = document.setdefault(key, {})
    document[last] = value
