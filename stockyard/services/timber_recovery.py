"""What boards gave when they were cut, by supplier, species and job: staves, offcuts and waste."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Fault
from stockyard.timber.movement import Movement, MovementKind
from stockyard.timber.piece import Piece, PieceKind, PieceStatus
from stockyard.timber.rack_query import RackQuery

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork

GROUPS = ("supplier", "species", "job")


@dataclass(frozen=True, slots=True)
class RecoveryLine:
    """One group. key: its names, in the order asked for. Volumes in mm3; sound staves, in the rough.

    value_in: what the boards stood for; spoiled: the part of it that jobs bear for staves lost at the saw.
    """

    key: tuple[str, ...]
    boards: int
    boards_mm3: int
    staves_mm3: int
    offcuts_mm3: int
    value_in: Decimal
    spoiled: Decimal

    @property
    def waste_mm3(self) -> int:
        """What the saw, the docking and spoiled staves took."""
        return self.boards_mm3 - self.staves_mm3 - self.offcuts_mm3

    @property
    def recovery(self) -> Decimal | None:
        """Staves as a share of the wood that did not go back on the rack. [0..1] None where all of it did."""
        used = self.boards_mm3 - self.offcuts_mm3
        return Decimal(self.staves_mm3) / used if used else None


def timber_recovery(
    open_work: "OpenWork", by: Sequence[str], *, since: date | None = None, until: date | None = None
) -> tuple[RecoveryLine, ...]:
    """What was cut in those days, grouped; a cut taken back is taken out on the day that was done.

    by: any of supplier, species and job. Raises BadInput with every fault.
    """
    faults = [Fault("--by", f"one of {', '.join(GROUPS)}", name) for name in by if name not in GROUPS]
    with open_work(reading=True) as work:
        if since and since > (until or work.today):
            faults.append(Fault("--from", f"a day up to {until or work.today}", str(since)))
        if faults:
            raise BadInput("The recovery cannot be told so.", faults)
        return recovery_lines(work, by, since, until or work.today)


def recovery_lines(
    work: "UnitOfWork", by: Sequence[str], since: date | None, until: date
) -> tuple[RecoveryLine, ...]:
    """The same, as part of a larger piece of work."""
    movements = work.movements.all(until)
    cuts = {movement.id for movement in movements if movement.kind is MovementKind.CUT}
    cut = [
        each
        for each in movements
        if (each.id in cuts or each.reverses in cuts) and (since is None or each.effective >= since)
    ]
    numbers = {line.piece for movement in cut for line in movement.lines if line.piece is not None}
    pieces = {
        piece.number: piece
        for piece in work.pieces.find(RackQuery(numbers=tuple(numbers), status=tuple(PieceStatus)))
    }
    jobs = {plan.number: plan.job for plan in work.plans.find()}
    sums: dict[tuple[str, ...], list[Decimal]] = defaultdict(lambda: [Decimal(0)] * 6)
    for movement in cut:
        _add(sums, movement, pieces, by, jobs.get(movement.plan or 0, ""))
    return tuple(
        RecoveryLine(
            key, int(figures[0]), int(figures[1]), int(figures[2]), int(figures[3]), figures[4], figures[5]
        )
        for key, figures in sorted(sums.items())
        if figures[0]
    )


def _add(
    sums: dict[tuple[str, ...], list[Decimal]],
    movement: Movement,
    pieces: dict[str, Piece],
    by: Iterable[str],
    job: str,
) -> None:
    """Add a cut board by board, or take off one that was taken back."""
    sign = -1 if movement.reverses is not None else 1
    boards: dict[str, list[Decimal]] = {}
    for line in movement.lines:
        if line.piece is None:
            continue
        piece = pieces[line.piece]
        begins = sign * line.on_hand > 0
        board = piece.parent if begins and piece.parent else piece.number
        figures = boards.setdefault(board, [Decimal(0)] * 6)
        if not begins:
            figures[0] -= line.on_hand
            figures[1] -= line.volume_mm3
            figures[4] -= line.value
            figures[5] -= line.value
        else:
            figures[2 if piece.kind is PieceKind.STAVE else 3] += line.volume_mm3
            figures[5] -= line.value
    for board, figures in boards.items():
        piece = pieces[board]
        facts = {"supplier": piece.supplier or "", "species": piece.species, "job": job}
        total = sums[tuple(facts[name] for name in by)]
        for place, figure in enumerate(figures):
            total[place] += figure
