"""What open jobs still need in all: panels that no plan has boards for, and the timber that makes."""

from collections import defaultdict
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from stockyard.prep.quote import Waste, gross_of_net
from stockyard.services.allocate_plan import plan_of
from stockyard.services.habits import habits_of
from stockyard.services.jobs import job_of
from stockyard.services.timber_recovery import recovery_lines
from stockyard.timber.booked_plan import PlanStatus
from stockyard.timber.piece import Piece, PieceKind, PieceStatus
from stockyard.timber.rack_query import RackQuery

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork

FREE = RackQuery(kinds=(PieceKind.BOARD, PieceKind.OFFCUT), status=(PieceStatus.FREE,))


@dataclass(frozen=True, slots=True)
class NeededPanel:
    """A panel that no allocated or cut plan makes. rough_mm: its thickness before both faces are planed."""

    job: str
    panel: str
    species: tuple[str, ...]
    length_mm: float
    width_mm: float
    thickness_mm: float
    rough_mm: float

    @property
    def net_mm3(self) -> Decimal:
        """Its volume at rough thickness."""
        return Decimal(str(self.length_mm)) * Decimal(str(self.width_mm)) * Decimal(str(self.rough_mm))


@dataclass(frozen=True, slots=True)
class TimberNeed:
    """Panels that the same timber would make.

    net_mm3: of the panels; gross_mm3: of boards for it, by `recovery` (staves by wood used, 0..1), which the
    workshop's own cutting says or, where it cut none of that species, its habit of waste: own tells which.
    metres: gross at that thickness and width_mm, the mean width of what is there or was bought; None where
    none is known. free_mm3: boards and offcuts free on the rack that are thick enough, of any quality.
    """

    species: tuple[str, ...]
    rough_mm: float
    panels: tuple[NeededPanel, ...]
    net_mm3: Decimal
    gross_mm3: Decimal
    recovery: Decimal
    own: bool
    width_mm: float | None
    metres: Decimal | None
    free_mm3: int


def job_needs(open_work: "OpenWork", job: str | None = None) -> tuple[TimberNeed, ...]:
    """What open jobs, or one of them, still need, by species and thickness. Raises NotFound for no such job.

    What a selection could make of it from the rack is for `stockyard select` to say; here the whole need is
    told beside what is free.
    """
    with open_work(reading=True) as work:
        if job is not None:
            work.jobs.get(job)
        needed = [panel for panel in needed_panels(work) if job is None or panel.job == job]
        recovered = {line.key[0]: line for line in recovery_lines(work, ("species",), None, work.today)}
        rates = habits_of(work).rates
        free = work.pieces.find(FREE)
        widths = _widths(work)
    habit = 1 / gross_of_net(Decimal(1), rates.waste_pct, Waste(rates.waste))
    grouped: dict[tuple[tuple[str, ...], float], list[NeededPanel]] = defaultdict(list)
    for panel in needed:
        grouped[panel.species, panel.rough_mm].append(panel)
    needs = []
    for (species, rough), panels in sorted(grouped.items()):
        shares = [
            share for name in species if name in recovered and (share := recovered[name].recovery) is not None
        ]
        # Where several species would do, the one that gives least is reckoned with.
        share = min(shares) if shares else habit
        net = sum((panel.net_mm3 for panel in panels), Decimal(0))
        gross = net / share if share else net
        width = next((widths[name] for name in species if name in widths), None)
        metres = None if width is None else gross / Decimal(str(rough)) / Decimal(str(width)) / 1000
        needs.append(
            TimberNeed(
                species, rough, tuple(panels), net, gross, share, bool(shares), width, metres,
                sum(piece.volume_mm3 for piece in free if _would_do(piece, species, rough)),
            )
        )  # fmt: skip
    return tuple(needs)


def needed_panels(work: "UnitOfWork") -> list[NeededPanel]:
    """Panels of every job that no allocated or cut plan makes, by job and in its order."""
    served: dict[str, set[str]] = defaultdict(set)
    for booked in (*work.plans.find(status=PlanStatus.ALLOCATED), *work.plans.find(status=PlanStatus.CUT)):
        plan = plan_of(work, booked)
        served[booked.job] |= {made.id for made in plan.panels if made.made}
    needed = []
    for kept in work.jobs.all():
        job = job_of(work, kept)
        planing = 2 * job.allowances.face_planing_mm
        needed += [
            NeededPanel(
                kept.name, panel.id, panel.species, panel.length_mm, panel.width_mm, panel.thickness_mm,
                panel.thickness_mm + planing,
            )
            for panel in job.panels
            if panel.id not in served[kept.name]
        ]  # fmt: skip
    return needed


def _would_do(piece: Piece, species: tuple[str, ...], rough_mm: float) -> bool:
    return piece.species in species and piece.thickness_mm >= rough_mm


def _widths(work: "UnitOfWork") -> dict[str, float]:
    """The mean width of the boards that ever came, by species."""
    query = RackQuery(kinds=(PieceKind.BOARD,), status=tuple(PieceStatus))
    found: dict[str, list[float]] = defaultdict(list)
    for piece in work.pieces.find(query):
        found[piece.species].append(piece.width_mm)
    return {species: sum(each) / len(each) for species, each in found.items()}
