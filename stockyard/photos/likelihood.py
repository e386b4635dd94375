"""How likely each look is, at a point and of a region: sums of bent lines, one for each thing measured.

The likelihood of a look is a logistic of a sum; every measured value adds its own piecewise straight
function, so what speaks for a crack and by how much can be read off `looks.json` one value at a time.
The figures there were fitted to marked photographs (attribution inside the file) and to rendered boards.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from stockyard.photos.evidence import NAMES, Evidence, Field, Mask
from stockyard.photos.regions import FEATURES, LOOKS, PointLooks, Region

_ROWS_AT_ONCE = 4_096  # what a processor's cache holds
# A point that is neither darker than the wood around it nor on a line is clear wood, and costs nothing more.
_WORTH_A_LOOK = (("dark_8", 3.0), ("dark_30", 6.0), ("fine_line", 2.5), ("wide_line", 6.0))


@dataclass(frozen=True, slots=True)
class Scale:
    """One set of fitted sums. usual, spread: (n,) of each value. bends: (k, n) where its line bends.

    weights: (1 + n (k + 1), looks), the constant first, then every value's slope, then its changes of slope.
    limit: no value counts for more than this many spreads from its bend.
    """

    usual: Field
    spread: Field
    bends: Field
    weights: Field
    limit: float

    def likelihoods(self, values: Field) -> Field:
        """(rows, n) measured values as (rows, looks), each row adding up to 1."""
        parts = [
            np.ones((len(values), 1), np.float32),
            np.clip((values - self.usual) / self.spread, -self.limit, self.limit),
        ]
        parts += [np.minimum(np.maximum(values - bend, 0) / self.spread, self.limit) for bend in self.bends]
        sums = np.concatenate(parts, axis=1, dtype=np.float32) @ self.weights
        sums -= sums.max(axis=1, keepdims=True)
        np.exp(sums, out=sums)
        return np.asarray(sums / sums.sum(axis=1, keepdims=True))


@cache
def _looks_file() -> dict[str, Any]:
    kept: dict[str, Any] = json.loads(files("stockyard.photos").joinpath("looks.json").read_text("utf-8"))
    return kept


def scale_of(kept: dict[str, Any], which: str) -> Scale:
    """The "points" or "regions" of a looks file. Raises ValueError where it was fitted to other values."""
    part = kept[which]
    names = NAMES if which == "points" else FEATURES
    if tuple(part["values"]) != tuple(names) or tuple(kept["looks"]) != LOOKS:
        raise ValueError(f"looks.json was fitted to other {which} than are measured")
    usual, spread, bends, weights = (
        np.array(part[name], np.float32) for name in ("usual", "spread", "bends", "weights")
    )
    return Scale(usual, spread, bends, weights, float(part["limit"]))


@cache
def _fitted(which: str) -> Scale:
    return scale_of(_looks_file(), which)


def fitted_as() -> str:
    """The name and date of the figures in use, kept with every result."""
    return str(_looks_file()["name"])


def point_likelihoods(evidence: Evidence, mask: Mask, fitted: Scale | None = None) -> PointLooks:
    """What each point of the board looks like that is worth a look. fitted: other sums than the usual."""
    worth = np.zeros(mask.shape, bool)
    for name, least in _WORTH_A_LOOK:
        worth |= evidence.whole(name) > least
    worth &= mask > 0
    rows, columns = np.nonzero(worth)
    fitted = fitted or _fitted("points")
    likely = np.empty((len(rows), len(LOOKS)), np.float32)
    for start in range(0, len(rows), _ROWS_AT_ONCE):
        some = slice(start, start + _ROWS_AT_ONCE)
        likely[some] = fitted.likelihoods(evidence.at(rows[some], columns[some]))
    place = np.full(mask.shape, -1, np.int32)
    place[rows, columns] = np.arange(len(rows), dtype=np.int32)
    return PointLooks(likely, rows, columns, place)


def region_likelihoods(regions: Sequence[Region]) -> Field:
    """(regions, looks): what each region looks like as a whole."""
    if not regions:
        return np.zeros((0, len(LOOKS)), np.float32)
    return _fitted("regions").likelihoods(np.array([region.features for region in regions], np.float32))
