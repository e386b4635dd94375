"""Which boards may serve a job at all, how they fit, and in which order they are looked at."""

from collections.abc import Iterable, Iterator, Mapping, Sequence

from stockyard.selection.cells import Fit, fits, may_serve
from stockyard.selection.instance import Demand, Instance, exactly

CHEAPEST = 200  # boards by which it is seen which dried alike


class Ways(Mapping[int, tuple[Fit, ...]]):
    """By index, how each board that may serve a panel of the job fits; looked into when first asked for."""

    def __init__(self, instance: Instance) -> None:
        self._instance = instance
        self._known: dict[int, tuple[Fit, ...]] = {}
        self._able = {
            timber.index: None
            for timber in instance.timbers
            if any(may_serve(instance, timber, demand) for demand in instance.demands)
        }

    def __getitem__(self, index: int) -> tuple[Fit, ...]:
        if index not in self._able:
            raise KeyError(index)
        if index not in self._known:
            timber = self._instance.timbers[index]
            self._known[index] = tuple(
                fit for demand in self._instance.demands for fit in fits(self._instance, timber, demand)
            )
        return self._known[index]

    def __iter__(self) -> Iterator[int]:
        return iter(self._able)

    def __len__(self) -> int:
        return len(self._able)


def cheapest_first(instance: Instance, boards: Iterable[int], demands: Sequence[Demand]) -> list[int]:
    """Boards that may serve one of the demands: first those that must be used, then by cost for size."""
    timbers = instance.timbers
    musts = {board for _, board in instance.musts}
    return sorted(
        (i for i in boards if any(may_serve(instance, timbers[i], demand) for demand in demands)),
        key=lambda i: (
            i not in musts,
            instance.board_cost(timbers[i]) / (timbers[i].length * timbers[i].width),
            i,
        ),
    )


def dried_alike(instance: Instance, order: Sequence[int]) -> frozenset[int]:
    """Boards that dried alike, of each species those among which most of the first are."""
    timbers, spread = instance.timbers, exactly(instance.job.moisture.spread_pct)
    found: set[int] = set()
    by_species: dict[str, list[int]] = {}
    for index in order:
        by_species.setdefault(timbers[index].board.species, []).append(index)
    for ours in by_species.values():
        read = [(timbers[i].moisture, i) for i in ours]
        first = [moisture for moisture, _ in read[:CHEAPEST] if moisture is not None]
        driest = max(
            sorted(set(first)), key=lambda low: sum(low <= m <= low + spread for m in first), default=None
        )
        found |= {i for m, i in read if m is None or driest is None or driest <= m <= driest + spread}
    return frozenset(found)
