"""The compiled part of surveying a board: where across it and along it staves may lie."""

import numba
import numpy as np

from stockyard.selection.ripping import Floats, Ints

NOTHING = -1e300

# A cell as the kernels see it: the stave's kind, ranges of its rough low and high edge across the board, its
# least and greatest rough width, what of it is not finished width, and which mode and role it is for.
KIND, LOW, LOW_LAST, HIGH_FIRST, HIGH, LEAST, MOST, MARGIN, MODE, ROLE = range(10)
COLUMNS = 10

# A role: kind, what lies between rough and finished edges, whether each is outer, finished widths.
R_KIND, R_DOWN, R_UP, R_LOW_OUTER, R_HIGH_OUTER, R_LEAST, R_MOST = range(7)


@numba.njit(cache=True)
def cells_along(
    boxes: Ints,
    flaw_of: Ints,
    weak: Ints,
    hard: Ints,
    prices: Floats,
    roles: Ints,
    modes: Ints,
    first: int,
    last: int,
    length: int,
    end_trim: int,
    end_clear: int,
    glue_clear: int,
    width: int,
    apart: bool,
) -> tuple[Ints, Ints, Ints, Floats]:
    """The cells of one length of stave by its rough start, in stretches along which they stay the same.

    boxes: rows x0, y0, x1, y1; flaw_of: by box. weak: by flaw. hard, prices: by mode and flaw. first, last:
    rough starts. apart: keep what each mode allows, even where another makes it needless. Returns the first
    start of each stretch, where its cells begin in the rows (one more at the end), the rows, and their
    costs.
    """
    count = boxes.shape[0]
    marks = np.empty(4 * count + 1, np.int64)
    marks[0] = first
    used = 1
    for b in range(count):
        marks[used] = boxes[b, 2] - end_trim
        marks[used + 1] = boxes[b, 0] - length + 1 - end_trim
        used += 2
        if weak[flaw_of[b]] and end_clear > 0:
            marks[used] = boxes[b, 0] - end_clear + 1 - end_trim
            marks[used + 1] = boxes[b, 2] - length + end_clear - end_trim
            used += 2
    marks = np.sort(marks[:used])
    starts = np.empty(used, np.int64)
    begins = np.empty(used + 1, np.int64)
    begins[0] = 0
    stretches = 0
    rows = np.empty((256, COLUMNS), np.int64)
    costs = np.empty(256, np.float64)
    filled = 0
    met = np.empty(count, np.int64)
    at_end = np.empty(count, np.int64)
    lows = np.empty(count + 1, np.int64)
    highs = np.empty(count + 1, np.int64)
    seen = np.full(weak.shape[0], -1, np.int64)
    stamp = 0
    for n in range(used):
        start = marks[n]
        if start < first or start > last or (n > 0 and start == marks[n - 1]):
            continue
        x0 = start + end_trim
        x1 = x0 + length
        many = 0
        for b in range(count):
            if boxes[b, 0] < x1 and boxes[b, 2] > x0:
                met[many] = b
                at_end[many] = (
                    weak[flaw_of[b]]
                    and end_clear > 0
                    and (boxes[b, 0] < x0 + end_clear or boxes[b, 2] > x1 - end_clear)
                )
                many += 1
        begun = filled
        for r in range(roles.shape[0]):
            down, up = roles[r, R_DOWN], roles[r, R_UP]
            least, most = roles[r, R_LEAST], roles[r, R_MOST]
            floor, ceiling = down, width - up
            mine = filled
            lows[0], highs[0] = floor, ceiling
            low_count, high_count = 1, 1
            for m in range(many):
                if boxes[met[m], 3] > floor:
                    lows[low_count] = boxes[met[m], 3]
                    low_count += 1
                if boxes[met[m], 1] < ceiling:
                    highs[high_count] = boxes[met[m], 1]
                    high_count += 1
            for i in range(low_count):
                low = lows[i]
                for j in range(high_count):
                    high = highs[j]
                    if high - low < least:
                        continue
                    for k in range(modes.shape[0]):
                        mode = modes[k]
                        low_last, high_first, cost, lawful = high - least, low + least, 0.0, True
                        stamp += 1
                        for m in range(many):
                            b = met[m]
                            if boxes[b, 1] >= high or boxes[b, 3] <= low:
                                continue
                            flaw = flaw_of[b]
                            if hard[mode, flaw] or at_end[m]:
                                lawful = False
                                break
                            if seen[flaw] != stamp:
                                seen[flaw] = stamp
                                cost += prices[mode, flaw]
                            if weak[flaw] and glue_clear > 0:
                                if not roles[r, R_LOW_OUTER]:
                                    low_last = min(low_last, boxes[b, 1] - glue_clear)
                                if not roles[r, R_HIGH_OUTER]:
                                    high_first = max(high_first, boxes[b, 3] + glue_clear)
                        if not lawful or low > low_last or high_first > high or high_first - low_last > most:
                            continue
                        needless = False
                        for o in range(mine, filled):
                            if (
                                not (apart and rows[o, MODE] != mode)
                                and rows[o, LOW] <= low - down
                                and rows[o, LOW_LAST] >= low_last - down
                                and rows[o, HIGH_FIRST] <= high_first + up
                                and rows[o, HIGH] >= high + up
                                and costs[o] <= cost
                            ):
                                needless = True
                                break
                        if needless:
                            continue
                        kept = mine
                        for o in range(mine, filled):
                            if not (
                                not (apart and rows[o, MODE] != mode)
                                and low - down <= rows[o, LOW]
                                and low_last - down >= rows[o, LOW_LAST]
                                and high_first + up <= rows[o, HIGH_FIRST]
                                and high + up >= rows[o, HIGH]
                                and cost <= costs[o]
                            ):
                                if kept != o:
                                    rows[kept] = rows[o]
                                    costs[kept] = costs[o]
                                kept += 1
                        filled = kept
                        if filled == rows.shape[0]:
                            more_rows = np.empty((2 * filled, COLUMNS), np.int64)
                            more_costs = np.empty(2 * filled, np.float64)
                            more_rows[:filled] = rows
                            more_costs[:filled] = costs
                            rows, costs = more_rows, more_costs
                        rows[filled, KIND] = roles[r, R_KIND]
                        rows[filled, LOW] = low - down
                        rows[filled, LOW_LAST] = low_last - down
                        rows[filled, HIGH_FIRST] = high_first + up
                        rows[filled, HIGH] = high + up
                        rows[filled, LEAST] = least + down + up
                        rows[filled, MOST] = most + down + up
                        rows[filled, MARGIN] = down + up
                        rows[filled, MODE] = mode
                        rows[filled, ROLE] = r
                        costs[filled] = cost
                        filled += 1
        same = stretches > 0 and filled - begun == begins[stretches] - begins[stretches - 1]
        if same:
            before = begins[stretches - 1]
            for o in range(filled - begun):
                if costs[begun + o] != costs[before + o]:
                    same = False
                    break
                for c in range(COLUMNS):
                    if rows[begun + o, c] != rows[before + o, c]:
                        same = False
                        break
                if not same:
                    break
        if same:
            filled = begun
            continue
        starts[stretches] = start
        stretches += 1
        begins[stretches] = filled
    return (
        starts[:stretches].copy(),
        begins[: stretches + 1].copy(),
        rows[:filled].copy(),
        costs[:filled].copy(),
    )


@numba.njit(cache=True)
def gathered(
    starts: Ints, begins: Ints, rows: Ints, costs: Floats, offset: int, low: int, high: int, apart: bool
) -> Ints:
    """Numbers of the rows of all stretches that meet the starts low..high, less those made needless.

    offset: what to add to the numbers.
    """
    found = np.empty(rows.shape[0], np.int64)
    many = 0
    for s in range(starts.shape[0]):
        until = starts[s + 1] - 1 if s + 1 < starts.shape[0] else high
        if until < low or starts[s] > high:
            continue
        for o in range(begins[s], begins[s + 1]):
            needless = False
            for f in range(many):
                if _no_worse(rows, costs, found[f], o, apart):
                    needless = True
                    break
            if needless:
                continue
            kept = 0
            for f in range(many):
                if not _no_worse(rows, costs, o, found[f], apart):
                    found[kept] = found[f]
                    kept += 1
            found[kept] = o
            many = kept + 1
    return found[:many] + offset


@numba.njit(cache=True)
def _no_worse(rows: Ints, costs: Floats, one: int, other: int, apart: bool) -> bool:
    return (
        not (apart and rows[one, MODE] != rows[other, MODE])
        and rows[one, KIND] == rows[other, KIND]
        and rows[one, LOW] <= rows[other, LOW]
        and rows[one, LOW_LAST] >= rows[other, LOW_LAST]
        and rows[one, HIGH_FIRST] <= rows[other, HIGH_FIRST]
        and rows[one, HIGH] >= rows[other, HIGH]
        and rows[one, LEAST] == rows[other, LEAST]
        and rows[one, MOST] == rows[other, MOST]
        and costs[one] <= costs[other]
    )
