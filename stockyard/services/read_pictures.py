"""Read pictures of board faces without a yard: suggest defects on one at scale, and make marker cards."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from stockyard.photos.detect import Detection, Grain

__all__ = ["Detection", "detect_defects", "marker_cards"]


def detect_defects(content: bytes, name: str, mm_per_px: tuple[float, float], grain: "Grain") -> "Detection":
    """The defects suggested on a picture that already is at scale; suggestions, to be looked at.

    content: the picture's file. mm_per_px: a pixel's size (across, along) the grain. grain: which way it
    runs in the picture. Raises BadInput for what is no picture, scale or grain, MissingPart where OpenCV or
    a system library that it needs is not there.
    """
    from stockyard.photos.decode import decode
    from stockyard.photos.detect import detect

    return detect(decode(content, name).pixels, mm_per_px, grain)


def marker_cards() -> bytes:
    """The marker cards as a PDF to print at 100 %, with a ruler to check the print by.

    Raises MissingPart where OpenCV or a system library that it needs is not there.
    """
    from stockyard.photos.card_sheet import card_sheet

    return card_sheet()
