"""Boards that may stand together in one panel: of one species, and dried alike."""

from collections.abc import Sequence

from stockyard.selection.instance import Demand, Instance, Timber, exactly


def companies(instance: Instance, demand: Demand, timbers: Sequence[Timber]) -> list[frozenset[int]]:
    """The largest sets of boards, by index, that one panel's staves may all come from.

    A set is of one species, its driest and wettest reading no further apart than the job's spread; boards
    with no reading go with any. Every panel that is lawful draws on boards of one of the sets.
    """
    spread = exactly(instance.job.moisture.spread_pct)
    found: list[frozenset[int]] = []
    for species in sorted({t.board.species for t in timbers} & set(demand.panel.species)):
        ours = [t for t in timbers if t.board.species == species]
        unread = frozenset(t.index for t in ours if t.moisture is None)
        readings = sorted({t.moisture for t in ours if t.moisture is not None})
        sets = [
            frozenset(
                t.index for t in ours if t.moisture is not None and driest <= t.moisture <= driest + spread
            )
            | unread
            for driest in readings
        ] or [unread]
        found += [s for s in sets if not any(s < other for other in sets)]
    return list(dict.fromkeys(found))
