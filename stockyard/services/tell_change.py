"""Tell a change of a board in a few words, for whoever asks what became of it."""

from typing import Any

from stockyard.timber.piece import PieceChange


def told(change: PieceChange) -> str:
    """What changed, from what to what: "width 180 -> 176", "defect 2 mapped (crack)"."""
    name = change.fact.removesuffix("_mm").removesuffix("_pct").replace("_", " ")
    if change.old is None and isinstance(change.new, dict):
        return f"{name} mapped ({_plain(change.new)})"
    if change.new is None and isinstance(change.old, dict):
        return f"{name} taken off the map"
    if isinstance(change.new, dict):
        return f"{name} edited"
    return f"{name} {_plain(change.old)} -> {_plain(change.new)}"


def _plain(value: Any) -> str:
    if value is None:
        return "unknown"
    if isinstance(value, dict):
        return str(value.get("kind", "")).replace("_", " ")
    return f"{value:g}" if isinstance(value, float) else str(value)
