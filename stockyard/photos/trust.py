"""Whether a photograph put to scale can be trusted, and if not, what to do about it."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from stockyard.errors import BadInput, Fault
from stockyard.photos.decode import Pixels
from stockyard.photos.opencv import cv2


class Way(StrEnum):
    """How a picture was put to scale."""

    CARDS = "cards"
    OUTLINE = "outline"
    CORNERS = "corners"


@dataclass(frozen=True, slots=True)
class TrustLimits:
    """finest_mm: the narrowest line that must show. px_to_show: pixels its width must cover to be found.

    blur_mm: the widest spread of an edge. glare_share: of the face burnt out. length_pct, width_pct: how far
    the picture may disagree with the logged size where cards measure it. ratio_pct: how far in proportion,
    where only the outline tells; hand_ratio_pct: where corners were given by hand.
    """

    finest_mm: float = 2.0
    px_to_show: float = 1.2  # a 0.4 mm crack at 3 px a mm
    blur_mm: float = 2.0
    glare_share: float = 0.03
    length_pct: float = 2.5  # cards on a narrow board, seen aslant, tell its length within about 1.5
    width_pct: float = 4.0
    ratio_pct: float = 3.5
    hand_ratio_pct: float = 12.0


def check_trust(
    laid: Pixels,
    seen_mm_per_px: tuple[float, float],
    disagrees_pct: tuple[float, float],
    blur_px: float | None,
    way: Way,
    limits: TrustLimits,
) -> tuple[str, ...]:
    """Remarks for the person. Raises BadInput, every reason a Fault, when the picture cannot be trusted.

    laid: the face at true scale. seen_mm_per_px: a pixel of the photograph (along, across) [mm]. blur_px:
    spread of the face's edges in the photograph.
    """
    faults, remarks = [], []
    coarse = max(seen_mm_per_px)
    if coarse * limits.px_to_show > limits.finest_mm:
        faults.append(
            Fault(
                "sharpness",
                f"at least {limits.px_to_show / limits.finest_mm:.1f} pixels a mm; go nearer, or take "
                "the face in several pictures",
                f"{1 / coarse:.2f}",
            )
        )
    if blur_px is not None and blur_px > 2.5 and blur_px * coarse > limits.blur_mm:
        faults.append(
            Fault(
                "blur",
                f"edges within {limits.blur_mm:g} mm; hold the phone still, tap the board to focus, "
                "and give it more light",
                f"{blur_px * coarse:.1f} mm",
            )
        )
    glare = glare_share(laid)
    if glare > limits.glare_share:
        faults.append(
            Fault(
                "glare",
                "no burnt-out light on the face; turn off the flash or move the lamp aside",
                f"{glare:.0%} of it",
            )
        )
    elif glare > limits.glare_share / 6:
        remarks.append(f"Light burns out {glare:.1%} of the face; a defect under it does not show.")
    along, across = disagrees_pct
    if way is Way.CARDS:
        faults += _size_faults(along, across, limits)
        if not faults and abs(along) > limits.length_pct / 2:
            remarks.append(
                f"By the cards the board is {along:+.1f} % long against its logged size; check its length "
                "and the cards' print if that is more than you expect."
            )
    elif abs(along) > (limits.ratio_pct if way is Way.OUTLINE else limits.hand_ratio_pct):
        faults.append(
            Fault(
                "proportions",
                "a face as long for its width as the board's logged size; check the board's number "
                "and that all of it shows",
                f"one {abs(along):.0f} % {'longer' if along > 0 else 'shorter'}",
            )
        )
    if faults:
        raise BadInput("The picture cannot be put to scale with trust.", faults)
    return tuple(remarks)


def _size_faults(along: float, across: float, limits: TrustLimits) -> list[Fault]:
    if abs(along) <= limits.length_pct and abs(across) <= limits.width_pct:
        return []
    if abs(along - across) < 1.2 and abs(along) > limits.length_pct:
        return [
            Fault(
                "card size",
                "cards printed at 100 % (check the ruler beside them), or their markers' size as measured",
                f"a board {along:+.1f} % long and {across:+.1f} % wide",
            )
        ]
    return [
        Fault(
            "size",
            "the board's logged length and width; check that the cards were printed at 100 %, then the "
            "board's number, and measure it again",
            f"{along:+.1f} % in length, {across:+.1f} % in width by the cards",
        )
    ]


def glare_share(pixels: Pixels) -> float:
    """The share of a face that is burnt out to white."""
    small = cv2.resize(pixels, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
    burnt = (small.min(axis=2) >= 250).astype(np.uint8)
    # Single bright specks are sawdust; a card's white is printed, and seldom burns out.
    burnt = cv2.morphologyEx(burnt, cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    return float(burnt.mean())
