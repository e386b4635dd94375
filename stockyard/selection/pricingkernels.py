"""The least a board costs beyond what its staves are worth, at given prices: kernels compiled by numba.

Staves are told apart by panel only, and counted so that no board gives a panel more than it can take. A
*bundle* is the staves of one section by panel; a *tally* is those of a whole board, numbered mixed-radix.
"""

import numba
import numpy as np

from stockyard.selection.ripping import (
    HIGH,
    HIGH_ALLOWANCE,
    HIGH_FIRST,
    KIND,
    LEAST,
    LOW,
    LOW_ALLOWANCE,
    LOW_LAST,
    MOST,
    TOUCH,
    Floats,
    Ints,
)


@numba.njit(cache=True)
def price_section(
    width: int,
    kerf: int,
    least: int,
    rate: float,
    cells: Ints,
    costs: Floats,
    prices: Floats,
    panels: Ints,
    onward: Ints,
    values: Floats,
    trace: Ints,
) -> None:
    """Write to `values` the least cost less worth of a section by bundle; infinity where nothing fits.

    rate: credited for each mm of an offcut's width. costs: of each cell, less what a stave of its kind is
    worth. prices: what a mm of a stave's width is worth, by kind. panels: a kind's panel. onward: by bundle
    and panel, the bundle with one stave more, -1 for none. cells and other arguments as for `ripping.rip`;
    TOUCH is 3 for staves as long as the section, of which there must be one.
    trace: by bundle, touch (0, 1) and high edge room for a cell, its low edge, and the bundle, touch and high
    edge below it; the best high edge of each bundle is at the end.
    """
    count, bundles = cells.shape[0], onward.shape[0]
    best = np.full((bundles, 2, width + 1), np.inf)
    opened = np.full(width + 1, np.inf)  # least cost of all below a stave whose rough low edge is here
    opened_at = np.full(width + 1, -1)
    queue = np.zeros(width + 1, np.int64)
    tracing = trace.shape[0] > 0
    for b in range(bundles):
        for t in range(2):
            if b == 0 and t > 0:
                continue
            close, apart, close_at, apart_at = np.inf, np.inf, -1, -1
            if b == 0:
                close = 0.0
            any_open = False
            for y in range(width + 1):
                if b > 0 and y >= kerf and best[b, t, y - kerf] < close:
                    close, close_at = best[b, t, y - kerf], y - kerf
                at = y - 2 * kerf - least
                if b > 0 and at >= 0 and best[b, t, at] + rate * (at + kerf) < apart:
                    apart, apart_at = best[b, t, at] + rate * (at + kerf), at
                if b == 0 and y - kerf >= least:
                    apart = 0.0
                opened[y], opened_at[y] = close, close_at
                if apart < np.inf and apart - rate * (y - kerf) < close:
                    opened[y], opened_at[y] = apart - rate * (y - kerf), apart_at
                if opened[y] < np.inf:
                    any_open = True
                if b > 0 and t == 1:
                    total = best[b, 1, y]
                    if width - y - kerf >= least:
                        total -= rate * (width - y - kerf)
                    if total < values[b]:
                        values[b] = total
                        if tracing:
                            trace[b, 1, width + 1, 0] = y
            if not any_open:
                continue
            for n in range(count):
                k = cells[n, KIND]
                after = onward[b, panels[k]]
                if after < 0:
                    continue
                touch = 1 if cells[n, TOUCH] == 3 else t
                price = prices[k]
                down, up = cells[n, LOW_ALLOWANCE], cells[n, HIGH_ALLOWANCE]
                slim, wide = cells[n, LEAST], cells[n, MOST]
                low0, low1 = max(cells[n, LOW], down), min(cells[n, LOW_LAST], width)
                head, tail, low = 0, 0, low0
                for high in range(
                    max(cells[n, HIGH_FIRST], low0 + slim), min(cells[n, HIGH], width - up) + 1
                ):
                    while low <= low1 and low <= high - slim:
                        value = opened[low - down] + price * low
                        if value < np.inf:
                            while tail > head:
                                back = queue[tail - 1]
                                if opened[back - down] + price * back <= value:
                                    break
                                tail -= 1
                            queue[tail] = low
                            tail += 1
                        low += 1
                    while tail > head and queue[head] < high - wide:
                        head += 1
                    if tail == head:
                        continue
                    found = queue[head]
                    total = opened[found - down] + costs[n] - price * (high - found)
                    if total < best[after, touch, high + up]:
                        best[after, touch, high + up] = total
                        if tracing:
                            trace[after, touch, high + up, 0] = n
                            trace[after, touch, high + up, 1] = found
                            trace[after, touch, high + up, 2] = b
                            trace[after, touch, high + up, 3] = t
                            trace[after, touch, high + up, 4] = opened_at[found - down]


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
    panels: Ints,
    onward: Ints,
    values: Floats,
) -> None:
    """`price_section` for many sections: section s has the cells from firsts[s] up to firsts[s + 1]."""
    trace = np.zeros((0, 2, 1, 5), np.int64)
    for s in range(len(rates)):
        a, b = firsts[s], firsts[s + 1]
        room = least if rates[s] > 0 else 2 * width
        price_section(
            width, kerf, room, rates[s], cells[a:b], costs[a:b], prices, panels, onward, values[s], trace
        )


@numba.njit(cache=True)
def price_along(
    length: int,
    kerf: int,
    least: int,
    credit: Floats,
    starts: Ints,
    ends: Ints,
    which: Ints,
    values: Floats,
    plus: Ints,
    fits: Ints,
    began: Floats,
    by: Ints,
) -> float:
    """The least cost of sections one after another along a board, 0 or less for none.

    credit: what the board from x = 0 up to each x would be credited with. starts, ends: of each span, in
    order of starts; which: its row in `values`, the least cost of each bundle. plus: what a bundle adds to
    the number of a tally; fits: by tally and bundle, 1 where the panels can take both. began: by span and
    tally, least cost of all before it. by: empty, or by end and tally room for the span, its bundle and the
    end before it, and at the end for the best end and tally.
    """
    tallies, bundles = fits.shape
    tracing = by.shape[0] > 0
    done = np.full((length + 1, tallies), np.inf)
    close = np.full(tallies, np.inf)
    apart = np.full(tallies, np.inf)
    close_at = np.full(tallies, -1)
    apart_at = np.full(tallies, -1)
    close[0] = 0.0
    is_end = np.zeros(length + 1, np.int64)
    for s in range(len(starts)):
        is_end[ends[s]] = 1
    next_close, next_apart = 0, 0
    for s in range(len(starts)):
        x = starts[s]
        while next_close <= x - kerf:
            if is_end[next_close] == 1:
                for m in range(tallies):
                    if done[next_close, m] < close[m]:
                        close[m], close_at[m] = done[next_close, m], next_close
            next_close += 1
        while next_apart <= x - 2 * kerf - least:
            if is_end[next_apart] == 1:
                for m in range(tallies):
                    if done[next_apart, m] + credit[next_apart + kerf] < apart[m]:
                        apart[m], apart_at[m] = done[next_apart, m] + credit[next_apart + kerf], next_apart
            next_apart += 1
        if x - kerf >= least:
            apart[0] = 0.0
        back = credit[x - kerf] if x >= kerf else 0.0
        for m in range(tallies):
            value, at = close[m], close_at[m]
            if apart[m] - back < value:
                value, at = apart[m] - back, apart_at[m]
            began[s, m] = value
            if value == np.inf:
                continue
            for b in range(1, bundles):
                if fits[m, b] == 1:
                    total = value + values[which[s], b]
                    if total < done[ends[s], m + plus[b]]:
                        done[ends[s], m + plus[b]] = total
                        if tracing:
                            by[ends[s], m + plus[b], 0] = s
                            by[ends[s], m + plus[b], 1] = b
                            by[ends[s], m + plus[b], 2] = at
    best = np.inf
    for x in range(length + 1):
        if is_end[x] == 0:
            continue
        last = credit[length] - credit[x + kerf] if length - x - kerf >= least else 0.0
        for m in range(1, tallies):
            if done[x, m] - last < best:
                best = done[x, m] - last
                if tracing:
                    by[length + 1, 0, 0] = x
                    by[length + 1, 0, 1] = m
    return best


@numba.njit(cache=True)
def price_after(
    length: int,
    kerf: int,
    least: int,
    credit: Floats,
    starts: Ints,
    ends: Ints,
    which: Ints,
    values: Floats,
    plus: Ints,
    fits: Ints,
    onto: Floats,
) -> None:
    """Write to `onto`, by span and tally before it, the least cost of the span and all that follows it.

    Arguments as for `price_along`.
    """
    tallies, bundles = fits.shape
    beyond = np.full((length + 2, tallies), np.inf)  # from a section that starts here or later
    owed = np.full((length + 2, tallies), np.inf)  # the same, an offcut before it still to be credited
    at = length + 1
    for s in range(len(starts) - 1, -1, -1):
        begin, x = starts[s], ends[s]
        while at > begin:
            at -= 1
            beyond[at], owed[at] = beyond[at + 1], owed[at + 1]
        last = credit[x + kerf] - credit[length] if length - x - kerf >= least else 0.0
        back = credit[begin - kerf] if begin >= kerf else np.inf
        for m in range(tallies):
            for b in range(1, bundles):
                if fits[m, b] == 0:
                    continue
                after = m + plus[b]
                best = last
                if x + kerf <= length and beyond[x + kerf, after] < best:
                    best = beyond[x + kerf, after]
                if x + 2 * kerf + least <= length:
                    total = owed[x + 2 * kerf + least, after] + credit[x + kerf]
                    if total < best:
                        best = total
                if values[which[s], b] + best < onto[s, m]:
                    onto[s, m] = values[which[s], b] + best
            if onto[s, m] < beyond[begin, m]:
                beyond[begin, m] = onto[s, m]
            if onto[s, m] - back < owed[begin, m]:
                owed[begin, m] = onto[s, m] - back
