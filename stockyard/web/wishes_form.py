"""What a form asks of a selection: boards to keep, to leave out and to favour, and how long to search."""

import re
from typing import Any

from stockyard.services.errand_kinds import LONGEST_SELECTION
from stockyard.web.forms import Filled


def wishes_in(form: Filled) -> dict[str, Any]:
    """pin, forbid and prefer as an errand's `wanted` holds them; ticked boxes and typed numbers alike."""
    found = {
        name: [*form.texts(name), *_typed(form.text(f"{name}_more"))] for name in ("pin", "forbid", "prefer")
    }
    return {name: list(dict.fromkeys(said)) for name, said in found.items() if said}


def seconds_in(form: Filled, usual: float = 30.0) -> float:
    """How long to search. [s] Raises BadInput."""
    seconds = form.number("seconds")
    form.check("Nothing was asked for.")
    return usual if seconds is None else min(max(seconds, 1.0), LONGEST_SELECTION)


def _typed(text: str) -> list[str]:
    return [word for word in re.split(r"[,;\s]+", text) if word]
