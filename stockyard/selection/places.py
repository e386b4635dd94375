"""Where along a board sections need to start and end: a finite set that no better plan lies outside of.

Fix which flaws every stave meets, which remnants are credited, and every edge across the board. What is left
are the section ends along the board. The cost is piecewise linear in them, and they are tied only to bounds
(a stave's stretch, the board's ends, the edges of what an offcut is not credited for) and, each to the next
in the row start, end, start, end ..., by differences (a stave's length, a kerf, a least offcut length). Such
a problem has a best solution in which each end hangs, by a chain of tight differences, on a tight bound; and
since the ties form a row, the chain runs to the right of its bound or to the left of it, never both ways.
So the ends needed are the bounds (*anchors*) and what is reached from them by steps to one side.
"""

from collections.abc import Iterable, Sequence

from stockyard.selection.cells import Fit
from stockyard.selection.instance import Instance, Timber


def section_places(
    instance: Instance, timber: Timber, fits: Sequence[Fit], *, lone: bool
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """All x at which a section of this board needs to start, and all at which one needs to end.

    lone: a section is a single stave, and so as long as one.
    """
    cuts = instance.cuts
    lengths = sorted({fit.rough_length for fit in fits})
    starts, ends = _anchors(instance, timber, fits)
    within, between = [*lengths], [cuts.kerf]
    if instance.credit_rate(timber) > 0:
        within += [] if lone else [cuts.offcut_length]
        between.append(2 * cuts.kerf + cuts.offcut_length)
    first, last = cuts.end_loss, timber.length - cuts.end_loss
    rightward = _reached(
        starts, ends, within, between, (first, last - lengths[0]), (first + lengths[0], last)
    )
    leftward = _reached(
        starts,
        ends,
        [-step for step in within],
        [-step for step in between],
        (first, last - lengths[0]),
        (first + lengths[0], last),
    )
    return tuple(sorted(rightward[0] | leftward[0])), tuple(sorted(rightward[1] | leftward[1]))


def _anchors(instance: Instance, timber: Timber, fits: Iterable[Fit]) -> tuple[set[int], set[int]]:
    cuts = instance.cuts
    starts: set[int] = set()
    ends: set[int] = set()
    for fit in fits:
        starts |= set(fit.anchors)
        ends |= {x + fit.rough_length for x in fit.anchors}
    if instance.credit_rate(timber) > 0:
        starts.add(cuts.kerf + cuts.offcut_length)
        ends.add(timber.length - cuts.kerf - cuts.offcut_length)
        for box in timber.blots:
            for x in (box[0], box[2]):
                starts |= {x, x + cuts.kerf}
                ends |= {x, x - cuts.kerf}
    return starts, ends


def _reached(
    starts: Iterable[int],
    ends: Iterable[int],
    within: Iterable[int],
    between: Iterable[int],
    start_range: tuple[int, int],
    end_range: tuple[int, int],
) -> tuple[set[int], set[int]]:
    """The closure of the anchors under steps to one side.

    Steps to the right lead from a section's start to its end by `within` and on to the next start by
    `between`; steps to the left, which are negative, from its end to its start and on to the end before.
    """
    rightward = all(step >= 0 for step in between) and all(step > 0 for step in within)
    seen_starts: set[int] = set()
    seen_ends: set[int] = set()
    todo = [(True, x) for x in starts] + [(False, x) for x in ends]
    while todo:
        is_start, x = todo.pop()
        low, high = start_range if is_start else end_range
        seen = seen_starts if is_start else seen_ends
        if x in seen or not low <= x <= high:
            continue
        seen.add(x)
        steps = within if is_start == rightward else between
        todo += [(not is_start, x + step) for step in steps]
    return seen_starts, seen_ends
