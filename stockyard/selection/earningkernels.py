"""The compiled part of bounding what a board could earn at given prices."""

import numba
import numpy as np

from stockyard.selection.ripping import Floats, Ints

NOTHING = -1e300

# A row of cells: which kind, then the ranges of the rough low and high edge across the board, and of the
# finished width.
KIND, LOW, LOW_LAST, HIGH_FIRST, HIGH, LEAST, MOST = range(7)


@numba.njit(cache=True)
def section_earnings(
    cells: Ints,
    costs: Floats,
    count: int,
    margins: Ints,
    per_stave: Floats,
    per_mm: Floats,
    width: int,
    kerf: int,
    offcut_width: int,
    strip_rate: float,
) -> float:
    """The most that staves stacked across a section are worth, with what their strips give back.

    cells: rows of the columns above, the first `count` of them; costs: what each costs. margins: by kind,
    what a stave loses of its rough width. strip_rate: credit for a mm of width of a strip left over, 0 for
    none. At least one stave stands in it; NOTHING when none can.
    """
    ended = np.full(width + 1, NOTHING)  # by exact rough high edge of the last stave
    before = np.full(width + 1, NOTHING)  # by rough low edge of the next: the best below it
    kept, kept_credit = NOTHING, NOTHING
    for y in range(width + 1):
        # A stave that ends at y.
        for c in range(count):
            if y < cells[c, HIGH_FIRST] or y > cells[c, HIGH]:
                continue
            k = cells[c, KIND]
            margin, price = margins[k], per_mm[k]
            first = max(cells[c, LOW], y - margin - cells[c, MOST])
            final = min(cells[c, LOW_LAST], y - margin - cells[c, LEAST])
            value = NOTHING
            for low in range(first, final + 1):
                here = before[low] + price * (y - margin - low)
                if here > value:
                    value = here
            if value > NOTHING:
                value += per_stave[k] - costs[c]
                if value > ended[y]:
                    ended[y] = value
        # What may lie below a stave whose rough low edge is y.
        best = 0.0
        if strip_rate > 0.0 and y - kerf >= offcut_width:
            best = strip_rate * (y - kerf)
        if y - kerf >= 0 and ended[y - kerf] > kept:
            kept = ended[y - kerf]
        if kept > best:
            best = kept
        last = y - 2 * kerf - offcut_width
        if strip_rate > 0.0 and last >= 0:
            if ended[last] > NOTHING and ended[last] - strip_rate * (last + kerf) > kept_credit:
                kept_credit = ended[last] - strip_rate * (last + kerf)
            if kept_credit > NOTHING and kept_credit + strip_rate * (y - kerf) > best:
                best = kept_credit + strip_rate * (y - kerf)
        before[y] = best
    most = NOTHING
    for y in range(width + 1):
        if ended[y] > NOTHING:
            value = ended[y]
            if strip_rate > 0.0 and width - y - kerf >= offcut_width:
                value += strip_rate * (width - y - kerf)
            if value > most:
                most = value
    return most


@numba.njit(cache=True)
def board_earnings(
    starts: Ints,
    ends: Ints,
    steps: Ints,
    values: Floats,
    length: int,
    kerf: int,
    offcut_length: int,
    credit: Floats,
) -> float:
    """The most that sections along a board are worth, with what the gaps between them give back.

    Each row says that a section starting anywhere in starts..ends takes at least `steps` mm and is worth
    `values`, rows in any order. credit: by x, of all the board up to there. At least one section is cut;
    NOTHING when none can.
    """
    ended = np.full(length + 1, NOTHING)  # by exact end of the last section
    order = np.argsort(starts)
    kept, kept_credit = NOTHING, NOTHING
    for x in range(length + 1):
        best = 0.0
        if x - kerf >= offcut_length:
            best = credit[x - kerf]
        if x - kerf >= 0 and ended[x - kerf] > kept:
            kept = ended[x - kerf]
        if kept > best:
            best = kept
        last = x - 2 * kerf - offcut_length
        if last >= 0:
            if ended[last] > NOTHING and ended[last] - credit[min(length, last + kerf)] > kept_credit:
                kept_credit = ended[last] - credit[min(length, last + kerf)]
            if kept_credit > NOTHING and kept_credit + credit[x - kerf] > best:
                best = kept_credit + credit[x - kerf]
        for n in range(len(order)):
            row = order[n]
            if starts[row] > x:
                break
            if x <= ends[row] and x + steps[row] <= length:
                value = best + values[row]
                if value > ended[x + steps[row]]:
                    ended[x + steps[row]] = value
    most = NOTHING
    for x in range(length + 1):
        if ended[x] > NOTHING:
            value = ended[x]
            if length - x - kerf >= offcut_length:
                value += credit[length] - credit[x + kerf]
            if value > most:
                most = value
    return most
