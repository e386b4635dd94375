"""What neighbours in a panel cost each other, and the cheapest order of a panel's staves."""

from collections.abc import Sequence
from functools import cache

from stockyard.measures.colour import colour_difference
from stockyard.selection.instance import Instance, Timber
from stockyard.timber import Face, Rings


def joint_cost(instance: Instance, first: tuple[Timber, Face], second: tuple[Timber, Face]) -> float:
    """The price of a joint between two boards showing these faces, whichever comes first.

    A board whose faces are alike to its neighbours may be given as showing both.
    """
    costs, job = instance.job.costs, instance.job
    price = 0.0
    ours, theirs = first[0].board.colour(first[1]), second[0].board.colour(second[1])
    if costs.match > 0 and ours is not None and theirs is not None:
        price += float(costs.match) * colour_difference(ours, theirs)
    if breaks_rings(job.rings, first, second):
        price += float(costs.ring_break)
    return price


def breaks_rings(rings: Rings, first: tuple[Timber, Face], second: tuple[Timber, Face]) -> bool:
    """Does a joint break the ring rule, or can it not be known to keep it?"""
    if rings is Rings.ANY:
        return False
    hearts = first[0].board.heart_face, second[0].board.heart_face
    if None in hearts:
        return True
    alike = (hearts[0] is first[1]) == (hearts[1] is second[1])
    return alike is not (rings is Rings.SAME)


def best_order(costs: Sequence[Sequence[float]], ends: Sequence[int]) -> tuple[float, tuple[int, ...]]:
    """The cheapest row of all staves that begins and ends with the two `ends`.

    costs: of a joint between any two staves. ends: the two that must stand outermost; a lone stave is its
    own row. Exact, by dynamic programming over sets: meant for the dozen staves of a panel, not hundreds.
    """
    count = len(costs)
    if count == 1:
        return 0.0, (0,)
    first, last = ends
    middle = tuple(i for i in range(count) if i not in (first, last))

    @cache
    def onward(at: int, left: tuple[int, ...]) -> tuple[float, tuple[int, ...]]:
        if not left:
            return costs[at][last], (last,)
        options = []
        for number, nxt in enumerate(left):
            price, row = onward(nxt, left[:number] + left[number + 1 :])
            options.append((costs[at][nxt] + price, (nxt, *row)))
        return min(options)

    price, row = onward(first, middle)
    return price, (first, *row)
