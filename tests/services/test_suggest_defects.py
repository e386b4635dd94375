import json

import numpy as np
import pytest
from shapely import Polygon

from stockyard.errors import BadInput, NotFound
from stockyard.geometry.outline import outline_faults
from stockyard.photos.detect import DetectionSettings, FaceSuggestion, Suggestion
from stockyard.records import Yard
from stockyard.services.add_photo import add_photo
from stockyard.services.show_face import show_faces
from stockyard.services.suggest_defects import Boards, list_photos, suggest_defects
from stockyard.timber import DefectKind, Face
from tests.services.photographs import (
    SAMPLES,
    as_file,
    board_for,
    keep_photo,
    line,
    sample,
    suggested,
    truth,
)
from tests.services.yards import receive


def reach(outline):
    """(least x, greatest x, least y, greatest y) of an outline. [mm]"""
    xs, ys = np.array(outline).T
    return np.array([xs.min(), xs.max(), ys.min(), ys.max()])


def near_truth(offers, sample_name: str, kind: str):
    """The offers that share area with the labelled flaws of that kind."""
    labelled = json.loads((SAMPLES / f"{sample_name}.json").read_text())["defects"]
    true = [Polygon(each["outline_mm"]).buffer(2) for each in labelled if each["kind"] == kind]
    return [offer for offer in offers if any(Polygon(offer.outline).intersects(each) for each in true)]


def test_a_face_is_read_in_board_millimetres_and_the_settings_kept(sqlite_yard: Yard) -> None:
    board = board_for(sqlite_yard, "SG-0001-A")
    add_photo(sqlite_yard.open_work, board, Face.A, [sample("SG-0001-A")])

    (face,) = suggest_defects(sqlite_yard.open_work, Boards((board,)), settings={"least_mm": 3.0})

    assert face.detection.settings["least_mm"] == 3.0
    assert face.detection.fitted
    assert face.offers
    for offer in face.offers:
        one = offer.suggested
        assert outline_faults(one.outline, 1800, 180) == ()
        assert 0 < one.confidence <= 1
        assert one.face is Face.A
    found = near_truth(face.offers, "SG-0001-A", "sound_knot")
    # The labelled knot reaches from 1609 to 1640 and from 122 to 145 mm.
    assert min(np.abs(reach(each.outline) - (1609, 1640, 122, 145)).max() for each in found) < 6
    with sqlite_yard.open_work(reading=True) as work:
        assert work.defects.of_piece(board) == ()


def test_the_same_photo_is_not_read_twice_alike_and_anew_with_other_settings(sqlite_yard: Yard) -> None:
    board = board_for(sqlite_yard, "SG-0008-A")
    add_photo(sqlite_yard.open_work, board, Face.A, [sample("SG-0008-A")])

    first, again, other = (
        suggest_defects(sqlite_yard.open_work, Boards((board,)), settings=settings)[0].detection.id
        for settings in (None, {}, {"least_confidence": 0.6})
    )

    assert first == again != other
    with pytest.raises(BadInput, match="least_mm"):
        suggest_defects(sqlite_yard.open_work, Boards((board,)), settings={"colour": 1})
    with pytest.raises(BadInput):
        suggest_defects(sqlite_yard.open_work, Boards((board,)), settings={"least_confidence": 3})


def test_a_coarse_photo_is_read_by_the_classical_reader_unless_told_otherwise(
    sqlite_yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []
    monkeypatch.setattr("stockyard.photos.detect.suggest", lambda _, settings: asked.append(settings) or ())
    coarse = receive(sqlite_yard, "spotted gum,2700,190,32,90").pieces[0].number
    fine = board_for(sqlite_yard, "SG-0008-A", docket="2")
    add_photo(sqlite_yard.open_work, coarse, Face.A, [sample("demo/SG-0003-A")])  # 1.15 mm a pixel
    add_photo(sqlite_yard.open_work, fine, Face.A, [sample("SG-0008-A")])  # 0.47
    both = Boards((coarse, fine))

    read = suggest_defects(sqlite_yard.open_work, both)
    suggest_defects(sqlite_yard.open_work, both, settings={"reader": "both"})

    assert [settings.reader for settings in asked] == [
        "classical",
        DetectionSettings().reader,
        "both",
        "both",
    ]
    assert [face.detection.settings["reader"] for face in read] == ["classical", DetectionSettings().reader]


def test_a_long_face_is_read_as_one_and_its_flaws_lie_where_they_are_on_the_board(sqlite_yard: Yard) -> None:
    board = receive(sqlite_yard, "jarrah,3000,200,38,90").pieces[0].number
    pictures = [sample(f"demo/JA-0008-A{k}") for k in (1, 2, 3)]
    add_photo(sqlite_yard.open_work, board, Face.A, pictures)

    (face,) = suggest_defects(sqlite_yard.open_work, Boards((board,)))

    found = near_truth(face.offers, "demo/JA-0008-A1", "crack")
    labelled = json.loads((SAMPLES / "demo" / "JA-0008-A1.json").read_text())["defects"]
    (true,) = [each["outline_mm"] for each in labelled if each["kind"] == "crack"]
    assert min(np.abs(reach(each.outline) - reach(true)).max() for each in found) < 6


def as_read(each) -> FaceSuggestion:
    """A labelled flaw as a perfect reader would suggest it."""
    outline = tuple((x, y) for x, y in each["outline_mm"])
    seen = Suggestion(
        DefectKind(each["kind"]), np.zeros((0, 2)), (0, 0, 0, 0), 0.9, (), 100.0, 3.0, each["opening_mm"],
        False, False,
    )  # fmt: skip
    return FaceSuggestion(outline, seen)


def test_what_goes_through_by_the_labels_is_offered_as_one(
    sqlite_yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    board = receive(sqlite_yard, "spotted gum,2700,190,32,90").pieces[0].number
    labelled = {face: truth(f"demo/SG-0003-{face.value}")["defects"] for face in (Face.A, Face.B)}
    for face in labelled:
        keep_photo(sqlite_yard, board, face, None, as_file(np.full((19, 270, 3), 99, np.uint8), "JPEG"))
    readings = [tuple(map(as_read, flaws)) for flaws in labelled.values()]
    monkeypatch.setattr("stockyard.photos.detect.suggest", lambda *_: readings.pop(0))

    on_a, on_b = suggest_defects(sqlite_yard.open_work, Boards((board,)))

    cracks = (DefectKind.CRACK, DefectKind.SPLIT)
    ids = {offer.suggested.kind: offer.suggested.id for offer in on_b.offers}
    for offer, label in zip(on_a.offers, labelled[Face.A], strict=True):
        one = offer.suggested
        assert one.kind == label["kind"]
        paired = label["through"] and one.kind in cracks
        assert offer.through == (ids[one.kind] if paired else None)


def test_boards_are_chosen_by_number_or_docket_and_one_without_photo_is_named(sqlite_yard: Yard) -> None:
    first, second, third = (
        receive(sqlite_yard, "spotted gum,2400,180,32,48", docket=docket).pieces[0].number
        for docket in ("1", "2", "3")
    )
    keep_photo(sqlite_yard, first, Face.A, [suggested(line(10, 90, 20))])
    keep_photo(sqlite_yard, second, Face.B, None)
    works = sqlite_yard.open_work

    assert [face.photo.piece for face in list_photos(works, Boards())] == [first, second]
    assert [face.detection is None for face in list_photos(works, Boards())] == [False, True]
    assert [face.photo.piece for face in list_photos(works, Boards(docket="2"))] == [second]
    assert list_photos(works, Boards((third,))) == ()
    assert list_photos(works, Boards((first,)), Face.B) == ()
    with pytest.raises(BadInput, match=f"{third} has no photo; add one"):
        suggest_defects(works, Boards((third,)))
    with pytest.raises(NotFound):
        list_photos(works, Boards(docket="nine"))
    with pytest.raises(BadInput, match="None of these"):
        show_faces(works, Boards(docket="3"))


def test_what_a_reading_found_stays_as_it_was_found(sqlite_yard: Yard) -> None:
    board = receive(sqlite_yard, "spotted gum,2400,180,32,48").pieces[0].number
    one = suggested(line(10, 90, 20), DefectKind.CHECK, 0.71, (DefectKind.CRACK, DefectKind.SHAKE))
    photo = keep_photo(sqlite_yard, board, Face.B, [one])

    with sqlite_yard.open_work(reading=True) as work:
        kept = work.suggestions.get(f"{board}:1")
        detection = work.suggestions.detections([photo.number])[photo.number]

    assert (kept.kind, kept.outline, kept.confidence) == (one.kind, one.outline, one.confidence)
    assert (kept.could_be, kept.opening_mm, kept.face) == (one.could_be, 0.5, Face.B)
    assert (detection.settings, detection.fitted) == ({"least_mm": 2.0}, "by hand")
