"""What a change of moisture does to the width of a board, and of a panel glued from many.

Two kinds of figures exist and are never mixed. Movement per 1 % of moisture content describes seasoned timber
and is the one used. Total shrinkage describes drying from green; that from green to ovendry can be turned
into a coefficient by the relation below, that from green to 12 % can not.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import ceil, cos, isfinite, radians, sin

from stockyard.errors import BadInput, Fault
from stockyard.timber.species import Basis, Figure, Quantity, Species, SpeciesTable, known_species


class Sawn(StrEnum):
    """How a board was sawn: which way its growth rings meet the wide face."""

    BACKSAWN = "backsawn"  # less than 45 degrees; its width moves tangentially
    QUARTERSAWN = "quartersawn"  # near 90 degrees; its width moves radially
    UNKNOWN = "unknown"  # taken as backsawn, which moves most


@dataclass(frozen=True, slots=True)
class Grain:
    """How a stave's rings lie. ring_angle_deg: between rings and wide face, 0 to 90; None if not measured."""

    sawn: Sawn = Sawn.UNKNOWN
    ring_angle_deg: float | None = None

    def __post_init__(self) -> None:
        angle = self.ring_angle_deg
        if angle is not None and not (isfinite(angle) and 0 <= angle <= 90):
            raise BadInput(
                "Rings meet a face at 0 to 90 degrees.",
                [Fault("ring angle", "0 to 90 degrees", f"{angle:g}")],
            )

    @property
    def trade_name(self) -> Sawn:
        """Backsawn below 45 degrees of ring to face, else quartersawn; as told where it was not measured.

        Source: Queensland Government timber fact sheets (timberanswers.org).
        """
        if self.ring_angle_deg is None:
            return self.sawn
        return Sawn.BACKSAWN if self.ring_angle_deg < 45 else Sawn.QUARTERSAWN


@dataclass(frozen=True, slots=True)
class MovementRate:
    """Share of its width by which a board moves for each 1 % of moisture content.

    low, high: the least and greatest that sources give; equal where they agree. note: what is assumed.
    """

    per_pct: float
    low: float
    high: float
    basis: str
    source: str
    note: str = ""


def dimensional_change(width_mm: float, per_pct: float, from_pct: float, to_pct: float) -> float:
    """How much wider a board becomes; negative when it dries. [unit of `width_mm`]

    per_pct: share of the width for each 1 % of moisture content. Meant for 6 to 14 %.
    Source: Wood Handbook, FPL-GTR-190, equation (13-2): dD = D C (MF - MI).
    """
    return width_mm * per_pct * (to_pct - from_pct)


def coefficient_from_ovendry(shrinkage_pct: float) -> float:
    """Movement per 1 % from total shrinkage, green to ovendry. [share of the width at 10 %]

    shrinkage_pct: 0 < it < 150, of the green dimension, fibre saturation at 30 %. A thirtieth of it,
    re-based to the width at 10 %; it reproduces the handbook's printed coefficients for single species,
    and not those printed for trade groups.
    """
    if not (isfinite(shrinkage_pct) and 0 < shrinkage_pct < 150):
        raise BadInput(
            "No wood shrinks so.", [Fault("shrinkage", "above 0 and below 150 %", f"{shrinkage_pct:g}")]
        )
    return shrinkage_pct / 3000 / (1 - shrinkage_pct / 150)


def movement_rate(
    species: str | Species, grain: Grain | None = None, names: SpeciesTable | None = None
) -> MovementRate:
    """How much a board of that species and sawing moves for each 1 %.

    A printed figure is used where there is one, else the relation from green-to-ovendry shrinkage; which is
    said. Between backsawn and quartersawn the two are blended by the ring angle, an approximation in common
    use without a published source. A trade name takes the largest figure of its species.
    Raises BadInput when nothing is known, NotFound for a species that is not in the table.
    """
    grain = grain or Grain()
    table = names or known_species()
    known = table.named(species) if isinstance(species, str) else species
    if known.group_of and not any(figure.quantity in _MOVEMENT for figure in known.figures):
        rates = [movement_rate(member, grain, table) for member in known.group_of]
        most = max(rates, key=lambda rate: rate.per_pct)
        return MovementRate(
            most.per_pct,
            min(rate.low for rate in rates),
            max(rate.high for rate in rates),
            most.basis,
            most.source,
            f"{known.name} is a trade name; the largest figure of {', '.join(known.group_of)} is used.",
        )
    if grain.ring_angle_deg is None:
        if grain.sawn is Sawn.QUARTERSAWN:
            return _one(known, Quantity.MOVEMENT_RADIAL)
        rate = _one(known, Quantity.MOVEMENT_TANGENTIAL)
        if grain.sawn is Sawn.UNKNOWN:
            return _noted(rate, "How it was sawn is not known; taken as backsawn, which moves most.")
        return rate
    flat = cos(radians(grain.ring_angle_deg)) ** 2
    if grain.ring_angle_deg == 0:
        return _one(known, Quantity.MOVEMENT_TANGENTIAL)
    if grain.ring_angle_deg == 90:
        return _one(known, Quantity.MOVEMENT_RADIAL)
    steep = sin(radians(grain.ring_angle_deg)) ** 2
    tangential, radial = _one(known, Quantity.MOVEMENT_TANGENTIAL), _one(known, Quantity.MOVEMENT_RADIAL)
    return MovementRate(
        radial.per_pct * steep + tangential.per_pct * flat,
        radial.low * steep + tangential.low * flat,
        radial.high * steep + tangential.high * flat,
        tangential.basis if tangential.basis == radial.basis else f"{radial.basis}; {tangential.basis}",
        tangential.source if tangential.source == radial.source else f"{radial.source}; {tangential.source}",
        f"Blended for rings at {grain.ring_angle_deg:g} degrees to the face, which is an approximation.",
    )


@dataclass(frozen=True, slots=True)
class StaveWidth:
    """What a panel's movement needs of one stave. moisture_pct: when glued; None where not read."""

    board: str
    species: str
    width_mm: float
    moisture_pct: float | None
    grain: Grain = Grain()


@dataclass(frozen=True, slots=True)
class StaveMovement:
    """What one stave's width does over the year. [mm; below 0 is narrower than when glued]"""

    board: str
    rate: MovementRate
    driest_mm: float
    dampest_mm: float


@dataclass(frozen=True, slots=True)
class PanelMovement:
    """What a panel's width does in the place it goes to. [mm against its width when glued]

    driest_mm, dampest_mm: at the year's driest and dampest equilibrium. swing_mm: between the two;
    swing_low_mm, swing_high_mm: by the least and greatest figures that sources give.
    clearance_each_side_mm: half the greatest swing, rounded up to half a millimetre, for a panel held at its
    middle with both edges free. slot_mm: the length of slot a fixing at the edge needs, shank included.
    """

    width_mm: float
    driest_mm: float
    dampest_mm: float
    swing_mm: float
    swing_low_mm: float
    swing_high_mm: float
    clearance_each_side_mm: float
    slot_mm: float
    staves: tuple[StaveMovement, ...]
    notes: tuple[str, ...]


def panel_movement(
    staves: Sequence[StaveWidth],
    low_emc_pct: float,
    high_emc_pct: float,
    *,
    shank_mm: float = 5.0,
    names: SpeciesTable | None = None,
) -> PanelMovement:
    """What a panel does over the year at its destination, summed over its staves. [mm]

    low_emc_pct, high_emc_pct: the driest and dampest equilibrium there. shank_mm: of the screws that hold
    it; 5 mm is a habit without a source. A stave without a reading is taken to have been glued midway, and
    a note says so. Raises BadInput when there is no stave, or a species has no movement figure.
    """
    if not staves:
        raise BadInput("A panel needs at least one stave to move.")
    if not (0 < low_emc_pct <= high_emc_pct < 100):
        raise BadInput(
            "The destination's equilibrium is out of order.",
            [
                Fault(
                    "equilibrium", "driest at most dampest, above 0 %", f"{low_emc_pct:g} to {high_emc_pct:g}"
                )
            ],
        )
    moved = []
    said: dict[str, list[str]] = {}  # a sentence, and the boards it is true of
    swing_low = swing_high = 0.0
    faults = []
    for stave in staves:
        try:
            rate = movement_rate(stave.species, stave.grain, names)
        except BadInput as unknown:
            faults.append(Fault(stave.board, "a species whose movement is known", unknown.message))
            continue
        glued = stave.moisture_pct
        if glued is None:
            glued = (low_emc_pct + high_emc_pct) / 2
            said.setdefault(f"No reading; taken as glued at {glued:.1f} %.", []).append(stave.board)
        if rate.note:
            said.setdefault(rate.note, []).append(stave.board)
        moved.append(
            StaveMovement(
                stave.board,
                rate,
                dimensional_change(stave.width_mm, rate.per_pct, glued, low_emc_pct),
                dimensional_change(stave.width_mm, rate.per_pct, glued, high_emc_pct),
            )
        )
        swing_low += dimensional_change(stave.width_mm, rate.low, low_emc_pct, high_emc_pct)
        swing_high += dimensional_change(stave.width_mm, rate.high, low_emc_pct, high_emc_pct)
        if any(not 6 <= percent <= 14 for percent in (glued, low_emc_pct, high_emc_pct)):
            outside = "Coefficients are meant for 6 to 14 %, which this leaves."
            said.setdefault(outside, []).append(stave.board)
    if faults:
        raise BadInput("The panel's movement cannot be told.", faults)
    driest, dampest = sum(s.driest_mm for s in moved), sum(s.dampest_mm for s in moved)
    clearance = half_up(swing_high / 2)
    return PanelMovement(
        sum(stave.width_mm for stave in staves),
        driest,
        dampest,
        dampest - driest,
        swing_low,
        swing_high,
        clearance,
        shank_mm + 2 * clearance,
        tuple(moved),
        tuple(f"{', '.join(dict.fromkeys(boards))}: {note}" for note, boards in said.items()),
    )


def half_up(length_mm: float) -> float:
    """A clearance rounded up to half a millimetre; finer says more than the figures know. [mm]"""
    return ceil(length_mm * 2 - 1e-9) / 2


_MOVEMENT = (Quantity.MOVEMENT_RADIAL, Quantity.MOVEMENT_TANGENTIAL)
_SHRINKAGE = {
    Quantity.MOVEMENT_RADIAL: Quantity.SHRINKAGE_RADIAL,
    Quantity.MOVEMENT_TANGENTIAL: Quantity.SHRINKAGE_TANGENTIAL,
}


def _one(species: Species, quantity: Quantity) -> MovementRate:
    printed = species.says(quantity)
    if printed:
        values = [figure.value for figure in printed]
        return MovementRate(
            printed[0].value, min(values), max(values), printed[0].basis, printed[0].source, printed[0].note
        )
    total = [f for f in species.says(_SHRINKAGE[quantity]) if f.basis is Basis.GREEN_TO_OVENDRY]
    if total:
        return _from_total(total[0])
    direction = quantity.removeprefix("movement ")
    if quantity is Quantity.MOVEMENT_RADIAL and species.says(Quantity.MOVEMENT_TANGENTIAL):
        rate = _one(species, Quantity.MOVEMENT_TANGENTIAL)
        return _noted(rate, "No radial figure is known; the tangential one is used, which is larger.")
    raise BadInput(
        f"No {direction} movement is known for {species.name}; measure it, or give a figure of your own."
    )


def _from_total(figure: Figure) -> MovementRate:
    value = coefficient_from_ovendry(figure.value)
    return MovementRate(
        value, value, value, Basis.FROM_OVENDRY, figure.source, "Computed from green-to-ovendry shrinkage."
    )


def _noted(rate: MovementRate, note: str) -> MovementRate:
    said = (
        f"{rate.note} {note}".strip() if not rate.note or rate.note.endswith(".") else f"{rate.note}. {note}"
    )
    return MovementRate(rate.per_pct, rate.low, rate.high, rate.basis, rate.source, said)
