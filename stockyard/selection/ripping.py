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
    prices: Floats,
    onward: Ints,
    sizes: Ints,
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
    section and bit 2 where it ends with it. costs: of each cell. prices: for each mm of width, by kind.
    onward: by content and kind, the content with one more stave of that kind, -1 for none; content 0 is
    nothing. sizes: by content, how many width indices it has. A stave of kind k and width base[k] + m leads
    from index w of content c to index lift[c, k, w] + m * step[c, k], m being spare[c, k, w] at most.
    table: by content, touch (0..3) and width index. trace: empty, or by high edge, content, touch and width
    index room for 6 numbers from which `traced` reads the best rows back.
    """
    contents, room = table.shape[0], table.shape[2]
    best = np.full((width + 1, contents, 4, room), np.inf)
    close = np.full((contents, 4, room), np.inf)  # rows that may be followed at this y, a kerf away
    apart = np.full((contents, 4, room), np.inf)  # rows that leave an offcut below this y, its credit to come
    close_at = np.full((contents, 4, room), -1)
    apart_at = np.full((contents, 4, room), -1)
    tracing = trace.shape[0] > 0
    close[0, 0, 0] = 0.0
    for y0 in range(width + 1):
        y = y0 - kerf
        if y >= 0:
            for c in range(1, contents):
                for t in range(4):
                    for w in range(sizes[c]):
                        if best[y, c, t, w] < close[c, t, w]:
                            close[c, t, w] = best[y, c, t, w]
                            close_at[c, t, w] = y
        y = y0 - 2 * kerf - least
        if y >= 0:
            for c in range(1, contents):
                for t in range(4):
                    for w in range(sizes[c]):
                        owed = best[y, c, t, w] + credit[y + kerf]
                        if owed < apart[c, t, w]:
                            apart[c, t, w] = owed
                            apart_at[c, t, w] = y
        if y0 - kerf >= least:
            apart[0, 0, 0] = 0.0
        back = credit[y0 - kerf] if y0 >= kerf else 0.0
        for n in range(cells.shape[0]):
            k = cells[n, KIND]
            low = y0 + cells[n, LOW_ALLOWANCE]
            if low < cells[n, LOW] or low > cells[n, LOW_LAST]:
                continue
            first = max(cells[n, HIGH_FIRST], low + cells[n, LEAST])
            last = min(cells[n, HIGH], low + cells[n, MOST], width - cells[n, HIGH_ALLOWANCE])
            if first > last:
                continue
            for c in range(contents):
                after = onward[c, k]
                if after < 0:
                    continue
                for t in range(4):
                    touch = t | cells[n, TOUCH]
                    for w in range(sizes[c]):
                        value, at = close[c, t, w], close_at[c, t, w]
                        if apart[c, t, w] - back < value:
                            value, at = apart[c, t, w] - back, apart_at[c, t, w]
                        if value == np.inf:
                            continue
                        value += costs[n]
                        for high in range(first, min(last, low + base[k] + spare[c, k, w]) + 1):
                            total = value - prices[k] * (high - low)
                            top = high + cells[n, HIGH_ALLOWANCE]
                            v = lift[c, k, w] + (high - low - base[k]) * step[c, k]
                            if total < best[top, after, touch, v]:
                                best[top, after, touch, v] = total
                                if tracing:
                                    trace[top, after, touch, v, 0] = n
                                    trace[top, after, touch, v, 1] = low
                                    trace[top, after, touch, v, 2] = at
                                    trace[top, after, touch, v, 3] = c
                                    trace[top, after, touch, v, 4] = t
                                    trace[top, after, touch, v, 5] = w
    for y in range(width + 1):
        back = credit[width] - credit[y + kerf] if width - y - kerf >= least else 0.0
        for c in range(1, contents):
            for t in range(4):
                for w in range(sizes[c]):
                    total = best[y, c, t, w] - back
                    if total < table[c, t, w]:
                        table[c, t, w] = total
                        if tracing:
                            trace[width + 1, c, t, w, 0] = y


def traced(trace: Ints, content: int, touch: int, index: int) -> list[tuple[int, int, int]]:
    """The row that a traced run found best, from low y up: cell's number, finished low edge, rough high edge."""
    row: list[tuple[int, int, int]] = []
    top = int(trace[-1, content, touch, index, 0])
    while content:
        cell, low, before, c, t, w = (int(n) for n in trace[top, content, touch, index])
        row.append((cell, low, top))
        top, content, touch, index = before, c, t, w
    return row[::-1]
