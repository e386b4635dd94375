"""Take pictures of a face in one go: put to scale, kept, and read for defects; or say what hinders it.

take_pictures(open_work, wanted, contents, told)  -> what came of it, as plain JSON
how_from(words)                                   -> HowTaken
"""

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from stockyard.errors import BadInput, Fault
from stockyard.services.add_photo import GivenPicture, HowTaken, add_photo
from stockyard.services.preview_photo import PhotoPreview, preview_photo
from stockyard.services.suggest_defects import Boards, suggest_defects
from stockyard.timber.defect import Face
from stockyard.timber.photo import PhotoScale

if TYPE_CHECKING:
    from stockyard.records.connect import OpenWork


def how_from(words: Mapping[str, Any]) -> HowTaken:
    """How pictures were taken, from plain JSON: end1, order, marker_mm, corners_px. Raises BadInput."""
    usual = HowTaken()
    corners = words.get("corners_px") or None
    try:
        return HowTaken(
            end1=str(words.get("end1") or usual.end1),
            corners_px=None if corners is None else [(float(u), float(v)) for u, v in corners],
            order=str(words.get("order") or usual.order),
            marker_mm=float(words.get("marker_mm") or usual.marker_mm),
        ).checked()
    except (TypeError, ValueError) as trouble:
        raise BadInput(
            "The pictures cannot have been taken so.", [Fault("how it was taken", "numbers", str(trouble))]
        ) from None


def take_pictures(
    open_work: "OpenWork",
    wanted: Mapping[str, Any],
    contents: Sequence[bytes],
    told: Callable[[str], object],
) -> dict[str, Any]:
    """Keep the pictures as a photo of their face and read it. told: is called with each stage.

    A picture that cannot be put to scale does not raise: `kept` is False, and `refused` says why. Raises
    NotFound, Refused, and BadInput for what is no picture.
    """
    number, face, how = str(wanted["board"]), Face(wanted["face"]), how_from(wanted)
    pictures = [
        GivenPicture(content, str(name)) for content, name in zip(contents, wanted["names"], strict=True)
    ]
    told("scale")
    try:
        added = add_photo(open_work, number, face, pictures, how)
    except BadInput:
        preview = preview_photo(open_work, number, face, pictures, how)
        if preview.refused is None:
            raise
        return {"kept": False, "of": number, "face": face.value, **preview_json(preview)}
    told("defects")
    (read,) = suggest_defects(open_work, Boards((number,)), face)
    return {
        "kept": True,
        "board": number,
        "face": face.value,
        "photo": added.photo.number,
        "known": added.known,
        "colour_used": added.colour_used,
        "suggestions": read.counts["open"],
        "scale": scale_json(added.photo.scale),
    }


def preview_json(preview: PhotoPreview) -> dict[str, Any]:
    """What adding would come to, as plain JSON, without its view of the face."""
    return {
        "sizes_px": [list(size) for size in preview.sizes_px],
        "scale": None if preview.scale is None else scale_json(preview.scale),
        "refused": preview.refused,
        "faults": [
            {"where": fault.where, "expected": fault.expected, "found": fault.found}
            for fault in preview.faults
        ],
        "corners_px": [[list(corner) for corner in each] for each in preview.corners_px],
    }


def scale_json(scale: PhotoScale) -> dict[str, Any]:
    """How a face was put to scale, as plain JSON."""
    return {
        "way": scale.way,
        "mm_per_px": scale.mm_per_px,
        "seen_mm_per_px": list(scale.seen_mm_per_px),
        "disagrees_pct": list(scale.disagrees_pct),
        "finest_mm": scale.finest_mm,
        "cards": list(scale.cards),
        "seam_error_mm": scale.seam_error_mm,
        "remarks": list(scale.remarks),
    }
