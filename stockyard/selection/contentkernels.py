"""The compiled part of telling which staves, together in one section, can be part of a cutting that pays."""

import numba
import numpy as np

from stockyard.selection.pricingkernels import CREDITED, LONGEST, STAGGERED
from stockyard.selection.ripping import Floats, Ints
from stockyard.selection.surveykernels import (
    HIGH,
    HIGH_FIRST,
    KIND,
    LEAST,
    LOW,
    LOW_LAST,
    MARGIN,
    MOST,
    NOTHING,
)


@numba.njit(cache=True)
def content_worths(
    span: Ints,
    members: Ints,
    rows: Ints,
    costs: Floats,
    lengths: Ints,
    line_from: Ints,
    line_stave: Floats,
    line_mm: Floats,
    onward: Ints,
    sizes: Ints,
    width: int,
    kerf: int,
    offcut_width: int,
    credit: Floats,
) -> Floats:
    """By content, the most that just these staves are worth in a section, with the credit for its strips.

    onward: by content and price line, the content with one more stave of that line, -1 for none; contents
    with fewer staves stand first, content 0 is nothing. sizes: how many staves each has. The rest as for
    `stack`.
    """
    credited = span[CREDITED] > 0
    count = onward.shape[0]
    worths = np.full(count, NOTHING)
    ended = np.full((count, 2, width + 1), NOTHING)
    below = np.empty((2, width + 1))
    queue = np.empty(width + 1, np.int64)
    for c in range(count):
        for state in range(2):
            kept, apart = NOTHING, NOTHING
            for y in range(width + 1):
                if c == 0:
                    below[state, y] = 0.0 if state == 0 else NOTHING
                    if state == 0 and credited and y - kerf >= offcut_width:
                        below[0, y] = max(0.0, credit[y - kerf])
                    continue
                value = ended[c, state, y]
                if state == 1 and value > NOTHING / 2:
                    if credited and width - y - kerf >= offcut_width:
                        value += max(0.0, credit[width] - credit[y + kerf])
                    worths[c] = max(worths[c], value)
                at = y - kerf
                if at >= 0 and ended[c, state, at] > kept:
                    kept = ended[c, state, at]
                at = y - 2 * kerf - offcut_width
                if credited and at >= 0 and ended[c, state, at] > NOTHING / 2:
                    apart = max(apart, ended[c, state, at] - credit[at + kerf])
                below[state, y] = kept
                if apart > NOTHING / 2:
                    below[state, y] = max(kept, apart + credit[y - kerf])
        for m in range(members.shape[0]):
            row = members[m]
            kind = rows[row, KIND]
            full = lengths[kind] == span[LONGEST]
            low0, low1 = rows[row, LOW], rows[row, LOW_LAST]
            least, most, margin = rows[row, LEAST], rows[row, MOST], rows[row, MARGIN]
            for line in range(line_from[kind], line_from[kind + 1]):
                to = onward[c, line]
                if to < 0:
                    continue
                per_mm = line_mm[line]
                extra = line_stave[line] - costs[row] - per_mm * margin
                for state in range(2):
                    if c == 0 and state == 1:
                        continue
                    after = 1 if (full or state == 1) else 0
                    if span[STAGGERED]:
                        after = 1 if sizes[to] >= 2 else 0
                    head, tail, low = 0, 0, low0
                    for y in range(
                        max(rows[row, HIGH_FIRST], low0 + least), min(rows[row, HIGH], low1 + most) + 1
                    ):
                        while low <= low1 and low <= y - least:
                            value = below[state, low] - per_mm * low
                            while (
                                tail > head
                                and below[state, queue[tail - 1]] - per_mm * queue[tail - 1] <= value
                            ):
                                tail -= 1
                            queue[tail] = low
                            tail += 1
                            low += 1
                        while tail > head and queue[head] < y - most:
                            head += 1
                        if tail > head and below[state, queue[head]] > NOTHING / 2:
                            value = below[state, queue[head]] + per_mm * (y - queue[head]) + extra
                            if value > ended[to, after, y]:
                                ended[to, after, y] = value
    return worths


@numba.njit(cache=True)
def begun_costs(ended: Floats, kerf: int, offcut_length: int, credit: Floats) -> tuple[Floats, Ints]:
    """By x, the least cost of what lies before a section that starts there, and where that ends.

    ended: by x, the least cost of what ends there, infinite where nothing can. credit: as for `onward`.
    """
    length = ended.shape[0] - 1
    begun = np.full(length + 1, np.inf)
    came = np.full(length + 1, -1)
    kept, kept_at, apart, apart_at = np.inf, -1, np.inf, -1
    for x in range(length + 1):
        back = x - kerf
        if back >= 0 and ended[back] < kept:
            kept, kept_at = ended[back], back
        begun[x], came[x] = kept, kept_at
        back = x - 2 * kerf - offcut_length
        if back >= 0 and ended[back] + credit[back + kerf] < apart:
            apart, apart_at = ended[back] + credit[back + kerf], back
        if apart_at >= 0 and apart - credit[x - kerf] < begun[x]:
            begun[x], came[x] = apart - credit[x - kerf], apart_at
    return begun, came


@numba.njit(cache=True)
def extended(begun: Floats, extra: Floats, step: int, to_come: Floats, limit: float, ended: Floats) -> bool:
    """Add a section of `step` mm to what is begun, and let `ended` know of it; was anything within the limit?

    extra: by start, what the section costs, infinite where it cannot stand. to_come: by end, what may still
    be gained. limit: on cost less what may still be gained.
    """
    length = begun.shape[0] - 1
    any_ = False
    for x in range(length + 1 - step):
        cost = begun[x] + extra[x]
        if cost - to_come[x + step] <= limit:
            any_ = True
            if cost < ended[x + step]:
                ended[x + step] = cost
    return any_


@numba.njit(cache=True)
def thinned(ended: Floats, better: Floats, more: float) -> bool:
    """Take out of `ended` each place at which `better` costs no more, dearer by `more`; is any place left?"""
    left = False
    for x in range(ended.shape[0]):
        if ended[x] < np.inf:
            if better[x] + more <= ended[x]:
                ended[x] = np.inf
            else:
                left = True
    return left
