"""The compiled part of pricing a board: the most it could earn at given prices, cut in the best way.

A *span* is a set of sections: of one class (its longest stave, and how much longer than that it is), starting
anywhere in a range, in which the same cells may lie. Spans of a class follow one another.
"""

import numba
import numpy as np

from stockyard.selection.ripping import Floats, Ints
from stockyard.selection.surveykernels import (
    COLUMNS,
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

# A span: the range of its starts, how much of the board it takes, its longest stave, whether it is longer
# than that, the length its strips are credited for (0 for none), what surely lies within it along the board.
FIRST, LAST, STEP, LONGEST, STAGGERED, CREDITED, SURE_FROM, SURE_TO = range(8)

# What the best stack at each layer, state and rough high edge came from.
T_ROW, T_LINE, T_LOW, T_STATE, T_END = range(5)

assert COLUMNS == 10


@numba.njit(cache=True)
def strip_credit(span: Ints, blots: Ints, rate: float, width: int, credit: Floats) -> None:
    """Write what the strip from y = 0 up to each y is credited with at most."""
    credit[0] = 0.0
    if span[CREDITED] == 0:
        credit[: width + 1] = 0.0
        return
    per_mm = rate * span[CREDITED]
    for y in range(width):
        credit[y + 1] = per_mm
    for b in range(blots.shape[0]):
        over = min(blots[b, 2], span[SURE_TO]) - max(blots[b, 0], span[SURE_FROM])
        if over > 0:
            for y in range(blots[b, 1], blots[b, 3]):
                credit[y + 1] -= rate * over
    for y in range(width):
        credit[y + 1] += credit[y]


@numba.njit(cache=True)
def stack(
    span: Ints,
    members: Ints,
    rows: Ints,
    costs: Floats,
    lengths: Ints,
    line_from: Ints,
    line_stave: Floats,
    line_mm: Floats,
    width: int,
    kerf: int,
    offcut_width: int,
    layers: int,
    credit: Floats,
    ended: Floats,
    below: Floats,
    trace: Ints,
    queue: Ints,
) -> tuple[float, int, int]:
    """The most that staves stacked across a section are worth, with the credit for its strips.

    members: numbers of the rows that may lie in it. lengths: by kind, of its staves. line_from: by kind,
    where its prices begin, each for a stave and for a mm of finished width. credit: by `strip_credit`.
    ended, below, trace: room for layers + 1, 2 states and width + 1 places. State 1 means that the section
    is as long as it has to be: it holds a stave of its length, or where it is longer than any, two staves.
    Returns the worth, the layer and the rough high edge of the topmost stave.
    """
    credited = span[CREDITED] > 0
    best, best_layer, best_y = NOTHING, 0, 0
    for y in range(width + 1):
        below[0, 0, y] = 0.0
        below[0, 1, y] = NOTHING
        if credited and y - kerf >= offcut_width:
            below[0, 0, y] = max(0.0, credit[y - kerf])
    for d in range(1, layers + 1):
        for y in range(width + 1):
            ended[d, 0, y] = NOTHING
            ended[d, 1, y] = NOTHING
        reached = False
        for m in range(members.shape[0]):
            row = members[m]
            kind = rows[row, KIND]
            full = lengths[kind] == span[LONGEST]
            low0, low1 = rows[row, LOW], rows[row, LOW_LAST]
            least, most, margin = rows[row, LEAST], rows[row, MOST], rows[row, MARGIN]
            for state in range(2):
                if d == 1 and state == 1:
                    continue
                enough = d >= 2 if span[STAGGERED] else full or state == 1
                after = 1 if enough else 0
                for line in range(line_from[kind], line_from[kind + 1]):
                    per_mm = line_mm[line]
                    extra = line_stave[line] - costs[row] - per_mm * margin
                    head, tail, low = 0, 0, low0
                    first = max(rows[row, HIGH_FIRST], low0 + least)
                    for y in range(first, min(rows[row, HIGH], low1 + most) + 1):
                        while low <= low1 and low <= y - least:
                            value = below[d - 1, state, low] - per_mm * low
                            while tail > head:
                                back = queue[tail - 1]
                                if below[d - 1, state, back] - per_mm * back > value:
                                    break
                                tail -= 1
                            queue[tail] = low
                            tail += 1
                            low += 1
                        while tail > head and queue[head] < y - most:
                            head += 1
                        if tail == head:
                            continue
                        found = queue[head]
                        under = below[d - 1, state, found]
                        if under <= NOTHING / 2:
                            continue
                        value = under + per_mm * (y - found) + extra
                        if value > ended[d, after, y]:
                            ended[d, after, y] = value
                            trace[d, after, y, T_ROW] = row
                            trace[d, after, y, T_LINE] = line
                            trace[d, after, y, T_LOW] = found
                            trace[d, after, y, T_STATE] = state
                            reached = True
        if not reached:
            break
        for state in range(2):
            kept, kept_at, apart, apart_at = NOTHING, -1, NOTHING, -1
            for y in range(width + 1):
                value = ended[d, state, y]
                if state == 1 and value > NOTHING / 2:
                    if credited and width - y - kerf >= offcut_width:
                        value += max(0.0, credit[width] - credit[y + kerf])
                    if value > best:
                        best, best_layer, best_y = value, d, y
                at = y - kerf
                if at >= 0 and ended[d, state, at] > kept:
                    kept, kept_at = ended[d, state, at], at
                at = y - 2 * kerf - offcut_width
                if credited and at >= 0 and ended[d, state, at] > NOTHING / 2:
                    value = ended[d, state, at] - credit[at + kerf]
                    if value > apart:
                        apart, apart_at = value, at
                below[d, state, y] = kept
                trace[d, state, y, T_END] = kept_at
                if apart > NOTHING / 2 and apart + credit[y - kerf] > kept:
                    below[d, state, y] = apart + credit[y - kerf]
                    trace[d, state, y, T_END] = apart_at
    return best, best_layer, best_y


@numba.njit(cache=True)
def price_spans(
    spans: Ints,
    member_from: Ints,
    members: Ints,
    rows: Ints,
    costs: Floats,
    lengths: Ints,
    line_from: Ints,
    line_stave: Floats,
    line_mm: Floats,
    blots: Ints,
    rate: float,
    width: int,
    kerf: int,
    offcut_width: int,
    layers: int,
    even: bool,
) -> Floats:
    """The most that a section of each span is worth. even: only of those as long as their longest stave."""
    values = np.full(spans.shape[0], NOTHING)
    credit = np.zeros(width + 1)
    ended = np.empty((layers + 1, 2, width + 1))
    below = np.empty((layers + 1, 2, width + 1))
    trace = np.empty((layers + 1, 2, width + 1, 5), np.int64)
    queue = np.empty(width + 1, np.int64)
    for s in range(spans.shape[0]):
        mine = members[member_from[s] : member_from[s + 1]]
        if mine.shape[0] == 0 or (even and spans[s, STAGGERED]):
            continue
        strip_credit(spans[s], blots, rate, width, credit)
        values[s], _, _ = stack(
            spans[s], mine, rows, costs, lengths, line_from, line_stave, line_mm, width, kerf, offcut_width,
            layers, credit, ended, below, trace, queue,
        )  # fmt: skip
    return values


@numba.njit(cache=True)
def onward(
    spans: Ints,
    classes: Ints,
    values: Floats,
    length: int,
    kerf: int,
    offcut_length: int,
    credit: Floats,
    begun: Floats,
    ended: Floats,
    came: Ints,
) -> tuple[float, int]:
    """The most that sections along a board are worth, with the credit for what lies between and beside them.

    classes: where each class's spans begin, one more at the end. credit: by x, of the board up to there;
    all 0 where nothing is credited. Writes, by x, the worth of all before a section that starts there
    (`begun`) and of all up to one that ends there (`ended`); `came`: the span and start that ended there,
    and the end before a start, -1 for none. Returns the worth and the last section's end; NOTHING where
    nothing is cut.
    """
    many = classes.shape[0] - 1
    at = classes[:-1].copy()
    for x in range(length + 1):
        ended[x] = NOTHING
    kept, kept_at, apart, apart_at = NOTHING, -1, NOTHING, -1
    for x in range(length + 1):
        best, from_ = 0.0, -1
        if x - kerf >= offcut_length:
            best = credit[x - kerf]
        back = x - kerf
        if back >= 0 and ended[back] > kept:
            kept, kept_at = ended[back], back
        if kept > best:
            best, from_ = kept, kept_at
        back = x - 2 * kerf - offcut_length
        if back >= 0 and ended[back] > NOTHING / 2 and ended[back] - credit[back + kerf] > apart:
            apart, apart_at = ended[back] - credit[back + kerf], back
        if apart > NOTHING / 2 and apart + credit[x - kerf] > best:
            best, from_ = apart + credit[x - kerf], apart_at
        begun[x] = best
        came[x, 2] = from_
        for c in range(many):
            s = at[c]
            while s < classes[c + 1] and spans[s, LAST] < x:
                s += 1
            at[c] = s
            if s < classes[c + 1] and spans[s, FIRST] <= x and values[s] > NOTHING / 2:
                end = x + spans[s, STEP]
                if end <= length and best + values[s] > ended[end]:
                    ended[end] = best + values[s]
                    came[end, 0] = s
                    came[end, 1] = x
    most, where = NOTHING, -1
    for x in range(length + 1):
        if ended[x] > NOTHING / 2:
            value = ended[x]
            if length - x - kerf >= offcut_length:
                value += credit[length] - credit[x + kerf]
            if value > most:
                most, where = value, x
    return most, where


@numba.njit(cache=True)
def backward(
    spans: Ints,
    classes: Ints,
    values: Floats,
    length: int,
    kerf: int,
    offcut_length: int,
    credit: Floats,
) -> tuple[Floats, Floats]:
    """By x, the most to come after a section that ends there, and from one that starts there on."""
    many = classes.shape[0] - 1
    at = classes[1:].copy() - 1
    after = np.full(length + 1, 0.0)
    starts = np.full(length + 1, NOTHING)  # worth of a section that starts here and all after it
    kept, apart = NOTHING, NOTHING
    for x in range(length, -1, -1):
        # A section that starts here.
        for c in range(many):
            s = at[c]
            while s >= classes[c] and spans[s, FIRST] > x:
                s -= 1
            at[c] = s
            if s >= classes[c] and spans[s, LAST] >= x and values[s] > NOTHING / 2:
                end = x + spans[s, STEP]
                if end <= length and values[s] + after[end] > starts[x]:
                    starts[x] = values[s] + after[end]
        # What may follow a section that ends here.
        best = 0.0
        if length - x - kerf >= offcut_length:
            best = credit[length] - credit[x + kerf]
        next_ = x + kerf
        if next_ <= length and starts[next_] > kept:
            kept = starts[next_]
        if kept > best:
            best = kept
        next_ = x + 2 * kerf + offcut_length
        if next_ <= length and starts[next_] > NOTHING / 2 and starts[next_] + credit[next_ - kerf] > apart:
            apart = starts[next_] + credit[next_ - kerf]
        if apart > NOTHING / 2 and apart - credit[x + kerf] > best:
            best = apart - credit[x + kerf]
        after[x] = best
    return after, starts


@numba.njit(cache=True)
def stave_rows(
    spans: Ints,
    member_from: Ints,
    members: Ints,
    rows: Ints,
    costs: Floats,
    lengths: Ints,
    line_from: Ints,
    line_stave: Floats,
    line_mm: Floats,
    blots: Ints,
    rate: float,
    width: int,
    kerf: int,
    offcut_width: int,
    layers: int,
    came: Ints,
    where: int,
) -> tuple[Ints, Ints]:
    """The sections and staves of the way of cutting that ends at `where`, traced back from its far end.

    Sections: span, start. Staves: which section, row, price line, rough low and high edge.
    """
    sections = np.empty((came.shape[0], 2), np.int64)
    staves = np.empty((came.shape[0], 5), np.int64)
    credit = np.zeros(width + 1)
    ended = np.empty((layers + 1, 2, width + 1))
    below = np.empty((layers + 1, 2, width + 1))
    trace = np.empty((layers + 1, 2, width + 1, 5), np.int64)
    queue = np.empty(width + 1, np.int64)
    many, cut = 0, 0
    end = where
    while end >= 0:
        s, x = came[end, 0], came[end, 1]
        mine = members[member_from[s] : member_from[s + 1]]
        strip_credit(spans[s], blots, rate, width, credit)
        _, layer, y = stack(
            spans[s], mine, rows, costs, lengths, line_from, line_stave, line_mm, width, kerf, offcut_width,
            layers, credit, ended, below, trace, queue,
        )  # fmt: skip
        state = 1
        while layer > 0:
            low = trace[layer, state, y, T_LOW]
            staves[many, 0] = cut
            staves[many, 1] = trace[layer, state, y, T_ROW]
            staves[many, 2] = trace[layer, state, y, T_LINE]
            staves[many, 3] = low
            staves[many, 4] = y
            many += 1
            state = trace[layer, state, y, T_STATE]
            layer -= 1
            if layer > 0:
                y = trace[layer, state, low, T_END]
        sections[cut, 0] = s
        sections[cut, 1] = x
        cut += 1
        end = came[x, 2]
    return sections[:cut].copy(), staves[:many].copy()
