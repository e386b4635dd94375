"""Names of species as people write them, matched with those the yard knows."""

import re
import unicodedata
from collections.abc import Iterable
from difflib import SequenceMatcher

NEAR = 0.72
"""Likeness from which a name is worth offering."""

_NO_NAME = frozenset(
    "kd ad kiln dried air green rough sawn dar dressed select std standard prime grade aus aust australian "
    "american timber hardwood board boards nsw qld vic tas wa sa fas rs s2s s4s feature natural".split()
)


def plain_name(text: str) -> str:
    """A name in lower case letters and single spaces, without accents and punctuation."""
    bare = "".join(sign for sign in unicodedata.normalize("NFKD", text) if not unicodedata.combining(sign))
    return " ".join(re.findall(r"[^\W\d_]+", bare.casefold()))


def same_name(text: str, known: Iterable[str]) -> str | None:
    """The one known name that `text` is, whatever its capitals, hyphens and word order; None when none is.

    Nothing is guessed: "gum spotted" is "spotted gum", "spoted gum" is not.
    """
    wanted = sorted(plain_name(text).split())
    found = [name for name in known if sorted(plain_name(name).split()) == wanted]
    return found[0] if len(found) == 1 and wanted else None


def near_names(text: str, known: Iterable[str], most: int = 3) -> tuple[str, ...]:
    """Known names that `text` may have been meant for, likeliest first; for offering, never for booking.

    most: how many at most, >= 1. Words that are no part of a name, such as "KD", are passed over.
    """
    wanted = plain_name(text)[:80]
    bare = " ".join(word for word in wanted.split() if word not in _NO_NAME) or wanted
    scored = sorted(
        ((_likeness(bare, plain_name(name)), name) for name in known), key=lambda x: (-x[0], x[1])
    )
    return tuple(name for score, name in scored[:most] if score >= NEAR)


def _likeness(text: str, name: str) -> float:
    """0 to 1: of the whole, and of its words in any order; a name held in whole counts as near."""
    if not text or not name:
        return 0.0
    ordered = " ".join(sorted(text.split())), " ".join(sorted(name.split()))
    score = max(
        SequenceMatcher(None, text, name, autojunk=False).ratio(),
        SequenceMatcher(None, *ordered, autojunk=False).ratio(),
    )
    words, named = set(text.split()), set(name.split())
    return max(score, 0.9) if named <= words or words <= named else score
