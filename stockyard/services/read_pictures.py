"""Read pictures of board faces without a yard: suggest defects on one at scale, and make marker cards."""

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from stockyard.services.put_to_scale import GivenPicture

if TYPE_CHECKING:
    from stockyard.photos.detect import Detection

__all__ = ["Detection", "check_reader", "detect_defects", "given_pictures", "marker_cards"]


def given_pictures(paths: Iterable[Path]) -> tuple[GivenPicture, ...]:
    """Picture files as they are handed in.

    Raises BadInput where one is not there, cannot be read, is empty or larger than any picture.
    """
    from stockyard.photos.files import read_bytes

    return tuple(GivenPicture(read_bytes(path), path.name) for path in paths)


def detect_defects(
    content: bytes,
    name: str,
    mm_per_px: tuple[float, float],
    grain: Literal["vertical", "horizontal"],
    reader: Literal["learned", "classical", "both"] = "learned",
) -> "Detection":
    """The defects suggested on a picture that already is at scale; suggestions, to be looked at.

    content: the picture's file. mm_per_px: a pixel's size (across, along) the grain. grain: which way it
    runs in the picture. reader: which reads it. Raises BadInput for what is no picture, scale or grain,
    MissingPart where OpenCV or a system library that it needs is not there.
    """
    from stockyard.photos.decode import decode
    from stockyard.photos.detect import DetectionSettings, detect

    settings = DetectionSettings(reader=reader)
    return detect(decode(content, name).pixels, mm_per_px, grain, settings)


def marker_cards() -> bytes:
    """The marker cards as a PDF to print at 100 %, with a ruler to check the print by.

    Raises MissingPart where OpenCV or a system library that it needs is not there.
    """
    from stockyard.photos.card_sheet import card_sheet

    return card_sheet()


def check_reader(file: Path | None) -> str:
    """The name of a learned reader that can be used; None: of the one in use.

    Raises MissingPart, with what is the matter, for one that cannot.
    """
    from stockyard.photos.net import learned_reader

    return learned_reader(file).name
