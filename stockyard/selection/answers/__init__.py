"""What a maker asks beside "which boards": why not this one, what else, what to buy, what if it goes wrong.

    why not       obstacles  every reason that keeps a board out of a panel, each tested by lifting it
                  nearmiss   the least change that lets it in
                  conflict   which demands on an unmade panel cannot be met together, and the least that helps
    what else     choices    other good plans, and what each costs more
                  again      the plan around a spoiled stave or board, changing as little as possible
                  suits      what using each board would add to the best plan
    what to buy   likely     boards like those bought before
                  buying     the cheapest purchase that makes the job likely enough
    what if       survival   how likely a plan survives lost staves, and which spare to put aside

Everything here is answered by searching again with something changed, never by a score.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from stockyard.selection.answers.again import plan_again
    from stockyard.selection.answers.buying import purchase_of
    from stockyard.selection.answers.choices import choices_of
    from stockyard.selection.answers.conflict import conflict_of
    from stockyard.selection.answers.suits import suits_of
    from stockyard.selection.answers.survival import survival_of

__all__ = ["choices_of", "conflict_of", "plan_again", "purchase_of", "suits_of", "survival_of"]

_HOMES = {
    "choices_of": "choices",
    "conflict_of": "conflict",
    "plan_again": "again",
    "purchase_of": "buying",
    "suits_of": "suits",
    "survival_of": "survival",
}


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
    globals()[name] = value
    return value
