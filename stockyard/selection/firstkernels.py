"""Compiled loop of the first plan: which boards' first sections make a panel at least cost."""

import numpy as np
from numba import njit
from numpy.typing import NDArray

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@njit(cache=True)
def chosen_widths(
    firsts: Ints, staves: Ints, mosts: Ints, prices: Floats, musts: NDArray[np.bool_], most: int, width: int
) -> tuple[Floats, Ints, Ints]:
    """Least cost by number of staves that could together reach the width, with the way back.

    firsts: where each board's choices begin in `staves`, `mosts` [mm] and `prices`, and where the last ends;
    at most one choice of each board, one at least where it must be used. Returns costs [staves]; and by
    board, staves and width reached so far: the choice taken (-1: none) and the width reached before it.
    """
    boards = len(firsts) - 1
    costs = np.full((most + 1, width + 1), np.inf)
    costs[0, 0] = 0.0
    taken = np.full((boards, most + 1, width + 1), -1, dtype=np.int64)
    came = np.zeros((boards, most + 1, width + 1), dtype=np.int64)
    for board in range(boards):
        after = np.full((most + 1, width + 1), np.inf)
        if not musts[board]:
            after[:, :] = costs
        for choice in range(firsts[board], firsts[board + 1]):
            for count in range(staves[choice], most + 1):
                for before in range(width + 1):
                    price = costs[count - staves[choice], before] + prices[choice]
                    reached = min(width, before + mosts[choice])
                    if price < after[count, reached]:
                        after[count, reached] = price
                        taken[board, count, reached] = choice
                        came[board, count, reached] = before
        costs = after
    return costs[:, width].copy(), taken, came
