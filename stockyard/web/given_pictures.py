"""Pictures of a face as a form hands them in, and the errand that keeps them."""

from typing import Any

from stockyard.errors import Fault
from stockyard.services.errands import list_errands
from stockyard.services.put_to_scale import MOST_PICTURES
from stockyard.services.show_board import show_board
from stockyard.services.take_pictures import how_from
from stockyard.timber.errand import Errand
from stockyard.web.forms import Filled
from stockyard.web.visit import Visit

_LOOKED_BACK = 400
"""Among so many errands one that was asked for before under the same key is found."""


def given_pictures(form: Filled, number: str) -> tuple[dict[str, Any], tuple[tuple[str, bytes], ...]]:
    """What a form says of pictures, for `take_pictures`, and the pictures by name. Raises BadInput."""
    face = form.choice("face", ("A", "B"), required=True)
    end1 = form.choice("end1", ("left", "right", "top", "bottom"))
    order = form.choice("order", ("given", "name", "taken"))
    marker = form.number("marker_mm")
    corners = _corners(form)
    pictures = form.files("pictures")
    if not 1 <= len(pictures) <= MOST_PICTURES:
        form.faults.append(Fault("pictures", f"1 to {MOST_PICTURES} pictures", str(len(pictures))))
    form.check("Nothing was kept.")
    asked = {
        "board": number,
        "face": face,
        "end1": end1,
        "order": order,
        "marker_mm": marker,
        "corners_px": corners,
        "names": [name for name, _ in pictures],
    }
    how_from(asked)
    return asked, pictures


def ask_for_photo(visit: Visit, form: Filled, number: str) -> Errand:
    """The errand that keeps a form's pictures; the one there is already where its key was seen before.

    Raises NotFound for no such board, BadInput.
    """
    show_board(visit.open_work, number)
    asked, pictures = given_pictures(form, number)
    key = form.text("key")[:100]
    if key:
        for errand in list_errands(visit.open_work, kind="photo", limit=_LOOKED_BACK):
            if errand.wanted.get("key") == key:
                return errand
        asked["key"] = key
    return visit.ask_for("photo", asked, {str(place): content for place, (_, content) in enumerate(pictures)})


def _corners(form: Filled) -> list[list[float]] | None:
    text = form.text("corners")
    if not text:
        return None
    try:
        corners = [[float(part) for part in pair.split(",")] for pair in text.split()]
        if len(corners) == 4 and all(len(pair) == 2 for pair in corners):
            return corners
    except ValueError:
        pass
    form.faults.append(Fault("corners", "four pairs such as 120,340 2200,360 2210,600 118,590", text[:80]))
    return None
