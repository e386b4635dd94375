import random
from functools import cache
from itertools import product

import pytest

from stockyard.grading.cuttings import LeastSize, largest_cuttings

SIZES = (
    (LeastSize(3, 2), LeastSize(4, 1)),
    (LeastSize(2, 2),),
    (LeastSize(5, 2), LeastSize(3, 3)),
    (LeastSize(1, 1),),
    (LeastSize(4, 2), LeastSize(2, 3)),
)


def by_every_cut(length, width, defects, least, most):
    """The greatest yield, by trying every whole-unit cut of every piece; shares nothing with the search."""
    spoiled = {(x, y) for a, b, c, d in defects for x, y in product(range(a, c), range(b, d))}

    @cache
    def best(x0, y0, x1, y1, count):
        if count == 0 or not any(x1 - x0 >= s.length and y1 - y0 >= s.width for s in least):
            return 0
        if not any(x0 <= x < x1 and y0 <= y < y1 for x, y in spoiled):
            return (x1 - x0) * (y1 - y0)
        across = [((x0, y0, x, y1), (x, y0, x1, y1)) for x in range(x0 + 1, x1)]
        along = [((x0, y0, x1, y), (x0, y, x1, y1)) for y in range(y0 + 1, y1)]
        return max(
            (
                best(*one, share) + best(*other, count - share)
                for one, other in across + along
                for share in range(count + 1)
            ),
            default=0,
        )

    return best(0, 0, length, width, most)


def by_every_rectangle(length, width, defects, least, most):
    """The greatest yield of clear rectangles apart from each other, however they may be cut."""
    clear = [
        (x0, y0, x1, y1)
        for x0, y0 in product(range(length), range(width))
        for x1, y1 in product(range(x0 + 1, length + 1), range(y0 + 1, width + 1))
        if any(x1 - x0 >= s.length and y1 - y0 >= s.width for s in least)
        and not any(a < x1 and c > x0 and b < y1 and d > y0 for a, b, c, d in defects)
    ]

    def more(start, chosen, area, left):
        best = area
        for n in range(start, len(clear) if left else 0):
            r = clear[n]
            if all(r[0] >= q[2] or q[0] >= r[2] or r[1] >= q[3] or q[1] >= r[3] for q in chosen):
                best = max(best, more(n + 1, [*chosen, r], area + (r[2] - r[0]) * (r[3] - r[1]), left - 1))
        return best

    return more(0, [], 0, most)


def a_small_board(seed):
    draw = random.Random(seed)
    length, width = draw.randint(4, 12), draw.randint(2, 6)
    defects = []
    for _ in range(draw.randint(0, 5)):
        x, y = draw.randrange(length), draw.randrange(width)
        defects.append((x, y, min(length, x + draw.randint(1, 3)), min(width, y + draw.randint(1, 2))))
    return length, width, defects, draw.choice(SIZES), draw.randint(1, 5)


@pytest.mark.parametrize("seed", range(0, 240, 40))
def test_no_arrangement_of_cuts_yields_more(seed):
    for one in range(seed, seed + 40):
        length, width, defects, least, most = a_small_board(one)
        found = largest_cuttings((0, 0, length, width), defects, least, most)

        assert found.area == by_every_cut(length, width, defects, least, most), one
        assert found.proved


@pytest.mark.parametrize("seed", range(1000, 1120, 40))
def test_two_cuttings_could_not_lie_better_anywhere(seed):
    for one in range(seed, seed + 40):
        length, width, defects, least, _ = a_small_board(one)
        if length * width > 40:
            continue
        found = largest_cuttings((0, 0, length, width), defects, least, 2)

        assert found.area == by_every_rectangle(length, width, defects, least, 2), one


@pytest.mark.parametrize("seed", range(2000, 2050, 25))
def test_as_many_cuttings_as_one_likes(seed):
    for one in range(seed, seed + 25):
        length, width, defects, least, _ = a_small_board(one)
        if length * width > 30:
            continue
        found = largest_cuttings((0, 0, length, width), defects, least, None)

        assert found.area == by_every_cut(length, width, defects, least, length * width), one
        assert found.proved


@pytest.mark.parametrize("seed", range(3000, 3080, 40))
def test_asked_whether_enough_can_be_had_it_knows(seed):
    for one in range(seed, seed + 40):
        length, width, defects, least, most = a_small_board(one)
        truth = by_every_cut(length, width, defects, least, most)
        for enough in {1, max(1, truth), truth + 1, length * width}:
            found = largest_cuttings((0, 0, length, width), defects, least, most, enough=enough)

            assert (found.area >= enough) == (truth >= enough)
            assert found.area >= enough or found.at_most < enough


@pytest.mark.parametrize("seed", range(4000, 4060, 20))
def test_the_cuttings_given_are_lawful_and_add_up(seed):
    for one in range(seed, seed + 20):
        length, width, defects, least, most = a_small_board(one)
        found = largest_cuttings((0, 0, length, width), defects, least, most)

        assert len(found.boxes) <= most
        assert sum((c - a) * (d - b) for a, b, c, d in found.boxes) == found.area
        for n, (a, b, c, d) in enumerate(found.boxes):
            assert 0 <= a < c <= length
            assert 0 <= b < d <= width
            assert any(c - a >= s.length and d - b >= s.width for s in least)
            others = [*defects, *found.boxes[n + 1 :]]
            assert not any(a < r and c > p and b < s and d > q for p, q, r, s in others)


def test_a_cut_may_have_to_fall_away_from_every_edge():
    # 12 x 4 with a flaw over 9..11 x 3..4, cuttings of 4 x 3 or more. Full width to the flaw is 9 x 4 = 36
    # and leaves an end too short; giving up one, 8 x 4, lets the end have its 4 x 3: 44 in all.
    found = largest_cuttings((0, 0, 12, 4), [(9, 3, 11, 4)], [LeastSize(4, 3)], 2)

    assert sorted(found.boxes) == [(0, 0, 8, 4), (8, 0, 12, 3)]
    assert found.area == 44


def test_a_search_cut_short_says_so_and_still_bounds_the_yield():
    draw = random.Random(5)
    defects = []
    for _ in range(14):
        x, y = draw.randrange(0, 1500), draw.randrange(0, 90)
        defects.append((x, y, x + draw.randint(5, 60), y + draw.randint(2, 20)))
    board, least = (0, 0, 1560, 110), [LeastSize(200, 30)]
    short = largest_cuttings(board, defects, least, 5, limit=50)
    long = largest_cuttings(board, defects, least, 5, limit=800)

    assert not short.proved
    assert short.area <= long.area <= short.at_most
    assert long.at_most <= short.at_most


def test_no_cutting_fits_a_small_board():
    assert largest_cuttings((0, 0, 3, 3), [], [LeastSize(4, 1)], 3).area == 0
    assert largest_cuttings((0, 0, 3, 3), [], [LeastSize(1, 1)], 0).area == 0
