"""The cheapest ways of ripping one section, for every content and every width: a kernel compiled by numba.

The only module that loads numba. The first call on a machine compiles the kernel and keeps it beside the
package; later ones load that.
"""

import numba
import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

LOW, LOW_LAST, HIGH_FIRST, HIGH, KIND, LOW_ALLOWANCE, HIGH_ALLOWANCE, LEAST, MOST, TOUCH = range(10)


@numba.njit(cache=True)
def rip(
    width: int,
    kerf: int,
    least: int,
    credit: Floats,
    cells: Ints,
    costs: Floats,
    onward: Ints,
    sizes: Ints,
    counts: Ints,
    strides: Ints,
    lift: Ints,
    spare: Ints,
    step: Ints,
    base: Ints,
    table: Floats,
    trace: Ints,
) -> None:
    """Write to `table` the least cost of each content, touch and width index of a section.

    width: of the board. kerf: of a saw cut. least: width of an offcut. [whole mm]
    credit: what the strip from y = 0 up to each y would be credited with; all 0 where none is.
    cells: a row for each cell, its columns named above; TOUCH has bit 1 where the stave starts with the
    section and bit 2 where it ends with it. costs: of each cell.
    onward: by content and kind, the content with one more stave of that kind, -1 for none; contents with
    fewer staves stand first, content 0 is nothing. sizes: by content, how many width indices it has. Along
    the width that kind k adds to, content c has counts[c, k] indices, strides[c, k] apart; a stave of kind k
    and width base[k] + m leads from index w to lift[c, k, w] + m * step[c, k], m being spare[c, k, w] at most.
    table: by content, touch (0..3) and width index. trace: empty, or by high edge, content, touch and width
    index room for 6 numbers from which `traced` reads the best rows back.
    """
    contents, room = table.shape[0], table.shape[2]
    best = np.full((contents, 4, room, width + 1), np.inf)
    opened = np.full((4, room, width + 1), np.inf)  # least cost below a stave whose rough low edge is here
    opened_at = np.full((4, room, width + 1), -1)
    queue = np.zeros(width + 1, np.int64)
    tracing = trace.shape[0] > 0
    for c in range(contents):
        for t in range(4):
            for w in range(sizes[c]):
                close, apart, close_at, apart_at = np.inf, np.inf, -1, -1
                if c == 0 and t == 0:
                    close = 0.0
                for y in range(width + 1):
                    if c > 0 and y >= kerf and best[c, t, w, y - kerf] < close:
                        close, close_at = best[c, t, w, y - kerf], y - kerf
                    at = y - 2 * kerf - least
                    if c > 0 and at >= 0 and best[c, t, w, at] + credit[at + kerf] < apart:
                        apart, apart_at = best[c, t, w, at] + credit[at + kerf], at
                    if c == 0 and t == 0 and y - kerf >= least:
                        apart = 0.0
                    opened[t, w, y], opened_at[t, w, y] = close, close_at
                    if apart < np.inf and apart - credit[y - kerf] < close:
                        opened[t, w, y], opened_at[t, w, y] = apart - credit[y - kerf], apart_at
                    if c > 0:
                        total = best[c, t, w, y]
                        if width - y - kerf >= least:
                            total -= credit[width] - credit[y + kerf]
                        if total < table[c, t, w]:
                            table[c, t, w] = total
                            if tracing:
                                trace[width + 1, c, t, w, 0] = y
        for n in range(cells.shape[0]):
            k = cells[n, KIND]
            after = onward[c, k]
            if after < 0:
                continue
            down, up = cells[n, LOW_ALLOWANCE], cells[n, HIGH_ALLOWANCE]
            slim, wide = cells[n, LEAST], cells[n, MOST]
            low0, low1 = max(cells[n, LOW], down), min(cells[n, LOW_LAST], width)
            high0, high1 = cells[n, HIGH_FIRST], min(cells[n, HIGH], width - up)
            many, stride, jump = counts[c, k], strides[c, k], step[c, k]
            for t in range(4):
                if c == 0 and t > 0:
                    break
                touch = t | cells[n, TOUCH]
                for line in range(sizes[c]):
                    if (line // stride) % many != 0:
                        continue
                    most = spare[c, k, line]
                    if most < 0:
                        continue
                    # Along a diagonal the total width is the high edge less a constant, so that the best low
                    # edge for each high edge is the least of a window that slides with it.
                    for diagonal in range(low0 - low1, many):
                        first, last = max(low0, low0 - diagonal), min(low1, low0 - diagonal + many - 1)
                        head, tail, low = 0, 0, first
                        for high in range(max(high0, first + slim), min(high1, last + wide) + 1):
                            total_width = diagonal + high - low0 - base[k]
                            while low <= last and low <= high - slim:
                                w = line + (diagonal + low - low0) * stride
                                value = opened[t, w, low - down]
                                if value < np.inf:
                                    while tail > head:
                                        back = queue[tail - 1]
                                        other = line + (diagonal + back - low0) * stride
                                        if opened[t, other, back - down] <= value:
                                            break
                                        tail -= 1
                                    queue[tail] = low
                                    tail += 1
                                low += 1
                            while tail > head and queue[head] < high - wide:
                                head += 1
                            if tail == head or total_width < 0 or total_width > most:
                                continue
                            found = queue[head]
                            w = line + (diagonal + found - low0) * stride
                            total = opened[t, w, found - down] + costs[n]
                            v = lift[c, k, line] + total_width * jump
                            if total < best[after, touch, v, high + up]:
                                best[after, touch, v, high + up] = total
                                if tracing:
                                    trace[high + up, after, touch, v, 0] = n
                                    trace[high + up, after, touch, v, 1] = found
                                    trace[high + up, after, touch, v, 2] = opened_at[t, w, found - down]
                                    trace[high + up, after, touch, v, 3] = c
                                    trace[high + up, after, touch, v, 4] = t
                                    trace[high + up, after, touch, v, 5] = w


def traced(trace: Ints, content: int, touch: int, index: int) -> list[tuple[int, int, int]]:
    """The row that a traced run found best, from low y up: cell, finished low edge, rough high edge."""
    row: list[tuple[int, int, int]] = []
    top = int(trace[-1, content, touch, index, 0])
    while content:
        cell, low, before, c, t, w = (int(n) for n in trace[top, content, touch, index])
        row.append((cell, low, top))
        top, content, touch, index = before, c, t, w
    return row[::-1]


@numba.njit(cache=True)
def price_section(
    width: int,
    kerf: int,
    least: int,
    rate: float,
    cells: Ints,
    costs: Floats,
    prices: Floats,
    trace: Ints,
) -> float:
    """The least cost less worth of a section, whatever it contains; infinity where nothing fits.

    rate: credited for each mm of an offcut's width. costs: of each cell, less what a stave of its kind is
    worth. prices: what a mm of a stave's width is worth, by kind. Other arguments as for `rip`; TOUCH is 3
    for staves as long as the section, of which there must be one.
    trace: by high edge and touch (0, 1) room for the cell, its low edge, and the high edge and touch before.
    """
    count = cells.shape[0]
    best = np.full((width + 1, 2), np.inf)
    open_at = np.full((width + 1, 2), np.inf)  # least cost of all below a stave whose rough low edge is here
    open_from = np.full((width + 1, 2), -1)
    close, close_at = np.full(2, np.inf), np.full(2, -1)
    apart, apart_at = np.full(2, np.inf), np.full(2, -1)
    queue = np.zeros((count, 2, width + 1), np.int64)
    head = np.zeros((count, 2), np.int64)
    tail = np.zeros((count, 2), np.int64)
    close[0] = 0.0
    for y in range(width + 1):
        if y >= kerf:
            for t in range(2):
                if best[y - kerf, t] < close[t]:
                    close[t], close_at[t] = best[y - kerf, t], y - kerf
        if y - 2 * kerf - least >= 0:
            at = y - 2 * kerf - least
            for t in range(2):
                if best[at, t] + rate * (at + kerf) < apart[t]:
                    apart[t], apart_at[t] = best[at, t] + rate * (at + kerf), at
        if y - kerf >= least and apart[0] > 0.0:
            apart[0], apart_at[0] = 0.0, -1
        for t in range(2):
            open_at[y, t], open_from[y, t] = close[t], close_at[t]
            owed = apart[t] - rate * (y - kerf)
            if owed < open_at[y, t]:
                open_at[y, t], open_from[y, t] = owed, apart_at[t]
        for n in range(count):
            high = y - cells[n, HIGH_ALLOWANCE]
            price = prices[cells[n, KIND]]
            for t in range(2):
                # Low edges that may go with this high edge, the cheapest first: a sliding window.
                low = high - cells[n, LEAST]
                start = low - cells[n, LOW_ALLOWANCE]
                if cells[n, LOW] <= low <= cells[n, LOW_LAST] and start >= 0 and open_at[start, t] < np.inf:
                    value = open_at[start, t] + price * low
                    while tail[n, t] > head[n, t]:
                        back = queue[n, t, tail[n, t] - 1]
                        if open_at[back - cells[n, LOW_ALLOWANCE], t] + price * back < value:
                            break
                        tail[n, t] -= 1
                    queue[n, t, tail[n, t]] = low
                    tail[n, t] += 1
                while tail[n, t] > head[n, t] and queue[n, t, head[n, t]] < high - cells[n, MOST]:
                    head[n, t] += 1
                if cells[n, HIGH_FIRST] <= high <= cells[n, HIGH] and tail[n, t] > head[n, t]:
                    low = queue[n, t, head[n, t]]
                    start = low - cells[n, LOW_ALLOWANCE]
                    total = open_at[start, t] + costs[n] - price * (high - low)
                    touch = 1 if cells[n, TOUCH] == 3 else t
                    if total < best[y, touch]:
                        best[y, touch] = total
                        trace[y, touch, 0] = n
                        trace[y, touch, 1] = low
                        trace[y, touch, 2] = open_from[start, t]
                        trace[y, touch, 3] = t
    result = np.inf
    for y in range(width + 1):
        total = best[y, 1]
        if width - y - kerf >= least:
            total -= rate * (width - y - kerf)
        if total < result:
            result = total
            trace[width + 1, 0, 0] = y
    return result


@numba.njit(cache=True)
def price_sections(
    width: int,
    kerf: int,
    least: int,
    rates: Floats,
    firsts: Ints,
    cells: Ints,
    costs: Floats,
    prices: Floats,
    values: Floats,
) -> None:
    """`price_section` for many sections: section s has the cells from firsts[s] up to firsts[s + 1]."""
    trace = np.zeros((width + 2, 2, 4), np.int64)
    for s in range(len(rates)):
        a, b = firsts[s], firsts[s + 1]
        room = least if rates[s] > 0 else 2 * width
        values[s] = price_section(width, kerf, room, rates[s], cells[a:b], costs[a:b], prices, trace)


@numba.njit(cache=True)
def price_along(
    length: int,
    kerf: int,
    least: int,
    credit: Floats,
    starts: Ints,
    ends: Ints,
    values: Floats,
    began: Floats,
    before: Ints,
) -> float:
    """The least cost of sections one after another along a board, 0 or less for none.

    credit: what the board from x = 0 up to each x would be credited with. starts, ends, values: of each
    section, in order of starts. began: by section, least cost of all before it; before: the section before,
    -1 for none. The last section of the best row is written at the end of `before`.
    """
    done = np.full(length + 1, np.inf)  # by end of a section
    done_by = np.full(length + 1, -1)
    close, apart = 0.0, np.inf
    close_by, apart_by = -1, -1
    next_close, next_apart = 0, 0
    for s in range(len(starts)):
        x = starts[s]
        while next_close <= x - kerf:
            if done[next_close] < close:
                close, close_by = done[next_close], done_by[next_close]
            next_close += 1
        while next_apart <= x - 2 * kerf - least:
            if next_apart + kerf <= length and done[next_apart] + credit[next_apart + kerf] < apart:
                apart, apart_by = done[next_apart] + credit[next_apart + kerf], done_by[next_apart]
            next_apart += 1
        if x - kerf >= least and apart > 0.0:
            apart, apart_by = 0.0, -1
        began[s], before[s] = close, close_by
        if x >= kerf and apart - credit[x - kerf] < close:
            began[s], before[s] = apart - credit[x - kerf], apart_by
        if began[s] + values[s] < done[ends[s]]:
            done[ends[s]] = began[s] + values[s]
            done_by[ends[s]] = s
    best = np.inf
    before[len(starts)] = -1
    for x in range(length + 1):
        total = done[x]
        if length - x - kerf >= least:
            total -= credit[length] - credit[x + kerf]
        if total < best:
            best = total
            before[len(starts)] = done_by[x]
    return best


@numba.njit(cache=True)
def price_after(
    length: int,
    kerf: int,
    least: int,
    credit: Floats,
    starts: Ints,
    ends: Ints,
    values: Floats,
    after: Floats,
) -> None:
    """Write to `after` the least cost of all that follows each section; arguments as for `price_along`."""
    beyond = np.full(length + 2, np.inf)  # least cost from a section that starts here or later
    owed = np.full(length + 2, np.inf)  # the same, with an offcut before that section still to be credited
    at = length + 1
    for s in range(len(starts) - 1, -1, -1):
        while at > starts[s]:
            at -= 1
            beyond[at], owed[at] = beyond[at + 1], owed[at + 1]
        x = ends[s]
        best = 0.0
        if length - x - kerf >= least:
            best = credit[x + kerf] - credit[length]
        if x + kerf <= length and beyond[max(x + kerf, at)] < best:
            best = beyond[max(x + kerf, at)]
        if x + 2 * kerf + least <= length:
            total = owed[max(x + 2 * kerf + least, at)] + credit[x + kerf]
            if total < best:
                best = total
        after[s] = best
        begin = starts[s]
        if values[s] + best < beyond[begin]:
            beyond[begin] = values[s] + best
        if begin >= kerf and values[s] + best - credit[begin - kerf] < owed[begin]:
            owed[begin] = values[s] + best - credit[begin - kerf]
