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
    and width base[k] + m leads from index w to lift[c, k, w] + m * step[c, k], m at most spare[c, k, w].
    table: by content, touch (0..3) and width index. trace: empty, or by high edge, content, touch and width
    index room for 6 numbers from which `traced` reads the best rows back.
    """
    contents, room = table.shape[0], table.shape[2]
    best = np.full((contents, 4, room, width + 1), np.inf)
    opened = np.full((4, room, width + 1), np.inf)  # least cost below a stave whose rough low edge is here
    opened_at = np.full((4, room, width + 1), -1)
    queue = np.zeros(width + 1, np.int64)
    alive = np.zeros(4, np.bool_)
    tracing = trace.shape[0] > 0
    for c in range(contents):
        for t in range(4):
            alive[t] = False
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
                    alive[t] = alive[t] or close < np.inf
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
                if not alive[t]:
                    continue
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
