"""Where the result of each kind of errand is looked at, and an errand as scripts see it."""

from typing import Any
from urllib.parse import quote

from stockyard.timber.errand import Errand


def what_came_of(errand: Errand) -> str:
    """The page that shows what came of an errand; "" while there is none."""
    result = errand.result or {}
    if errand.kind == "select" and "plan" in result:
        return f"/plan/{result['plan']}"
    if errand.kind in ("choices", "suits") and result:
        return f"/{errand.kind}/{errand.id}"
    if errand.kind == "again" and "plan" in result:
        return f"/plan/{result['plan']}?errand={errand.id}"
    if errand.kind == "photo" and result.get("kept") is False:
        return f"/photograph/{quote(str(result['of']), safe='')}?face={result['face']}&errand={errand.id}"
    if errand.kind == "import" and "docket" in result:
        return f"/rack?docket={quote(str(result['docket']), safe='')}"
    if "board" in result:
        return f"/board/{quote(str(result['board']), safe='')}"
    return ""


def errand_json(errand: Errand) -> dict[str, Any]:
    """An errand as scripts see it."""
    return {
        "id": errand.id,
        "kind": errand.kind,
        "wanted": dict(errand.wanted),
        "state": errand.state.value,
        "stop": errand.stop.value or None,
        "progress": errand.progress,
        "result": errand.result,
        "complaint": errand.complaint,
        "asked": None if errand.at is None else errand.at.isoformat(),
        "by": errand.who,
        "ended": None if errand.ended is None else errand.ended.isoformat(),
        "page": what_came_of(errand) or None,
    }
