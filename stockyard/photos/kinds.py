"""From what a region looks like, and its shape and place, to the trade's kind of defect."""

from dataclasses import dataclass

import numpy as np

from stockyard.photos.evidence import Mask
from stockyard.photos.regions import Region
from stockyard.timber import DefectKind

# What each look is called when nothing more is known, and what else it is at times.
_PLAIN = {
    "sound_knot": DefectKind.SOUND_KNOT,
    "unsound_knot": DefectKind.UNSOUND_KNOT,
    "crack": DefectKind.CRACK,
    "resin": DefectKind.GUM_POCKET,
    "pith": DefectKind.PITH,
    "stain": DefectKind.STAIN,
    "bark": DefectKind.BARK_INCLUSION,
}
_CHECK_MM = 60.0  # a crack that is shorter and reaches no end may be a drying check
_VEIN_SLENDER = 8.0  # gum this much longer than wide runs as a vein
_HOLE_MM = 4.0  # a borer's hole is no larger
_MAY_BE = 0.12  # a look less likely than this, against the likeliest, is not offered


@dataclass(frozen=True, slots=True)
class Traits:
    """A region's shape and place. length_mm along, width_mm across the grain; area_mm2 of its points."""

    length_mm: float
    width_mm: float
    area_mm2: float
    at_end: bool
    at_edge: bool
    edge_share: float  # of its length that lies along an edge of the board

    @classmethod
    def of(
        cls,
        region: Region,
        mask: Mask,
        mm: tuple[float, float],
        length_mm: float,
        width_mm: float,
        area_mm2: float,
    ) -> "Traits":
        """Measure where a region lies on the board."""
        rows, columns = mask.shape
        near_rows, near_columns = max(1, round(1.5 / mm[0])), max(1, round(2.5 / mm[1]))
        edge = np.zeros(len(region.rows), bool)
        end = np.zeros(len(region.rows), bool)
        for sign in (-1, 1):
            r, c = region.rows + sign * near_rows, region.columns + sign * near_columns
            # Where the picture stops the board may go on: only ground that is seen ends it.
            edge |= mask[np.clip(r, 0, rows - 1), region.columns] == 0
            end |= mask[region.rows, np.clip(c, 0, columns - 1)] == 0
        along = len(np.unique(region.columns[edge])) / max(1, len(np.unique(region.columns)))
        return cls(length_mm, width_mm, area_mm2, bool(end.any()), bool(edge.any()), along)


def judge(likely: dict[str, float], traits: Traits) -> tuple[DefectKind, tuple[DefectKind, ...]]:
    """The kind, and the other kinds it may be, likeliest first. likely: of each look, "clear" included."""
    ranked = sorted((look for look in likely if look != "clear"), key=lambda look: -likely[look])
    best = likely[ranked[0]]
    kinds: list[DefectKind] = []
    for look in ranked:
        if likely[look] < _MAY_BE * best:
            break
        kinds += [kind for kind in _names(look, traits) if kind not in kinds]
    return kinds[0], tuple(kinds[1:])


def _names(look: str, traits: Traits) -> tuple[DefectKind, ...]:
    """What this look may be called at this shape and place, likeliest first."""
    plain = _PLAIN[look]
    mean_width = traits.area_mm2 / traits.length_mm
    if look == "crack":
        if traits.at_end:
            return (DefectKind.SPLIT, DefectKind.CRACK)
        if traits.length_mm < _CHECK_MM:
            return (DefectKind.CRACK, DefectKind.CHECK)
        return (plain,)
    if look == "resin" and traits.length_mm > _VEIN_SLENDER * mean_width and traits.length_mm > 30:
        return (DefectKind.GUM_VEIN, DefectKind.GUM_POCKET)
    if look == "bark" and traits.edge_share > 0.5:
        return (DefectKind.WANE, DefectKind.BARK_INCLUSION)
    if look == "unsound_knot":
        if max(traits.length_mm, traits.width_mm) <= _HOLE_MM:
            return (DefectKind.BORER_HOLE, DefectKind.UNSOUND_KNOT)
        if traits.edge_share > 0.6 and traits.length_mm > 4 * traits.width_mm:
            return (DefectKind.WANE, DefectKind.UNSOUND_KNOT)
    return (plain,)
