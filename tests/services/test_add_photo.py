import dataclasses
import io
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest
from PIL import ExifTags, Image

from stockyard.errors import BadInput, NotFound, Refused
from stockyard.photos.decode import decode
from stockyard.photos.kept_face import card_white
from stockyard.photos.scale import true_scale
from stockyard.records import Yard, open_yard
from stockyard.records.picture_files import digest_of
from stockyard.services.add_named_photos import add_named_photos
from stockyard.services.add_photo import (
    AddedPhoto,
    GivenPicture,
    HowTaken,
    add_photo,
    take_back_photo,
)
from stockyard.services.check_photos import check_photos
from stockyard.services.correct_board import Correction, correct_board
from stockyard.services.preview_photo import preview_photo
from stockyard.services.show_face import picture_file, show_face, small_view_of
from stockyard.timber import Face, Window
from stockyard.timber.movement import Line, Movement, MovementKind
from stockyard.timber.piece import PieceKind
from tests.conftest import at_noon
from tests.services.photographs import SAMPLES, as_file, board_for, sample, truth
from tests.services.yards import receive


@pytest.fixture
def photo_yard(yard_place: str, tmp_path: Path) -> Iterator[Yard]:
    """An empty yard on each database in turn, with a folder for its pictures."""
    with open_yard(yard_place, clock=at_noon, pictures=tmp_path / "pictures") as opened:
        yield opened


def add(yard: Yard, board: str, face: Face, *names: str, how: HowTaken | None = None) -> AddedPhoto:
    return add_photo(yard.open_work, board, face, [sample(name) for name in names], how)


def far_off(corners_px, name: str) -> float:
    """How far the farthest corner found lies from the true one. [px]"""
    return float(np.linalg.norm(np.array(corners_px) - truth(name)["corners_px"], axis=1).max())


def test_a_face_with_cards_is_put_to_scale_kept_and_gives_the_board_its_colour(photo_yard: Yard) -> None:
    board = board_for(photo_yard, "SG-0001-A")

    added = add(photo_yard, board, Face.A, "SG-0001-A")

    photo = added.photo
    assert (photo.number, photo.piece, photo.face, photo.scale.way) == (1, board, Face.A, "cards")
    assert photo.scale.cards == (0, 1, 2, 3)
    assert far_off(photo.scale.corners_px[0], "SG-0001-A") < 4
    # 1800 mm over the length of the long sides in the picture, which the samples' labels give.
    (x0, y0), (x1, y1) = truth("SG-0001-A")["corners_px"][:2]
    assert photo.scale.seen_mm_per_px[0] == pytest.approx(1800 / np.hypot(x1 - x0, y1 - y0), rel=0.02)
    (kept,) = photo.pictures
    assert kept.digest == kept.given_digest == digest_of(sample("SG-0001-A").content)
    assert picture_file(photo_yard.open_work, kept.digest) == (sample("SG-0001-A").content, "SG-0001-A.jpg")
    assert (kept.width_px, kept.height_px, kept.extension, kept.located) == (2600, 1950, "jpg", False)
    assert max(Image.open(io.BytesIO(small_view_of(photo_yard.open_work, 1))).size) == 480
    assert photo.colour.corrected
    assert added.colour_used
    with photo_yard.open_work(reading=True) as work:
        assert work.pieces.get(board).colour_a == photo.colour.lab
        assert work.pieces.get(board).colour_b is None
    assert check_photos(photo_yard.open_work).sound


def test_a_colour_that_was_logged_or_not_corrected_by_a_card_is_left_alone(sqlite_yard: Yard) -> None:
    logged, bare = board_for(sqlite_yard, "SG-0001-A"), board_for(sqlite_yard, "SG-0008-A", docket="2")
    correct_board(sqlite_yard.open_work, logged, Correction(colour_a=(50.0, 12.0, 20.0)))

    assert not add(sqlite_yard, logged, Face.A, "SG-0001-A").colour_used
    by_outline = add(sqlite_yard, bare, Face.A, "SG-0008-A")

    assert (by_outline.photo.scale.way, by_outline.colour_used) == ("outline", False)
    assert not by_outline.photo.colour.corrected
    with sqlite_yard.open_work(reading=True) as work:
        assert work.pieces.get(logged).colour_a == (50.0, 12.0, 20.0)
        assert work.pieces.get(bare).colour_a is None


def test_face_b_lies_mirrored_in_the_boards_own_frame(sqlite_yard: Yard) -> None:
    """The cards tell: END 1 EDGE 1 (0) must come out near (0, 0), whichever face they lie on."""
    board = board_for(sqlite_yard, "SG-0001-B")
    with pytest.raises(BadInput, match="face B; say that face"):
        add(sqlite_yard, board, Face.A, "SG-0001-B")

    photo = add(sqlite_yard, board, Face.B, "SG-0001-B").photo

    assert far_off(photo.scale.corners_px[0], "SG-0001-B") < 4
    for card, outline in zip(photo.scale.cards, photo.scale.covered, strict=True):
        middle = np.mean(outline, axis=0)
        assert np.abs(middle - np.mean(truth("SG-0001-B")["cards"][str(card)], axis=0)).max() < 4


def test_corners_given_by_hand_in_any_order_come_before_what_is_found(sqlite_yard: Yard) -> None:
    board = board_for(sqlite_yard, "SG-0008-A")
    corners = truth("SG-0008-A")["corners_px"]
    by_hand = HowTaken(corners_px=[tuple(corners[k]) for k in (2, 0, 3, 1)])

    photo = add(sqlite_yard, board, Face.A, "SG-0008-A", how=by_hand).photo

    assert photo.scale.way == "corners"
    assert far_off(photo.scale.corners_px[0], "SG-0008-A") < 0.2
    assert photo.scale.asked["corners_px"] == [list(corners[k]) for k in (2, 0, 3, 1)]


def test_a_long_face_is_one_strip_of_several_pictures_in_whatever_order_their_names_say(
    sqlite_yard: Yard,
) -> None:
    board = receive(sqlite_yard, "jarrah,3000,200,38,90").pieces[0].number
    names = ["demo/JA-0008-A3", "demo/JA-0008-A1", "demo/JA-0008-A2"]
    with pytest.raises(BadInput, match=r"end 1.*Nothing was stored"):
        add(sqlite_yard, board, Face.A, *names)
    with pytest.raises(BadInput, match="when taken"):
        add(sqlite_yard, board, Face.A, *names, how=HowTaken(order="taken"))

    photo = add(sqlite_yard, board, Face.A, *names, how=HowTaken(order="name")).photo

    assert [picture.name for picture in photo.pictures] == [f"JA-0008-A{k}.jpg" for k in (1, 2, 3)]
    assert len(photo.scale.seams) == 2
    assert photo.scale.seam_error_mm < 2
    assert abs(photo.scale.disagrees_pct[0]) < 1
    assert photo.colour.corrected
    for corners, picture in zip(photo.scale.corners_px, photo.pictures, strict=True):
        seen = truth(f"demo/{picture.name.removesuffix('.jpg')}")["corners_px"]
        inside = [0 <= u < 2600 and 0 <= v < 1950 for u, v in seen]
        for found, true, shows in zip(corners, seen, inside, strict=True):
            assert not shows or np.hypot(found[0] - true[0], found[1] - true[1]) < 8


def test_the_white_of_cards_on_a_strip_is_that_seen_on_a_single_picture() -> None:
    """On a single picture the white between marker and rim is measured where the cards are known to lie."""
    known = truth("BW-0005-A")
    face = true_scale(decode(sample("BW-0005-A").content).pixels, known["length_mm"], known["width_mm"])

    assert card_white(face) == pytest.approx(face.white, rel=0.04)


def test_the_same_pictures_again_are_known_and_for_another_board_refused(photo_yard: Yard) -> None:
    board = board_for(photo_yard, "SG-0008-A")
    other = board_for(photo_yard, "SG-0008-A", docket="2")
    first = add(photo_yard, board, Face.A, "SG-0008-A")
    again = add(photo_yard, board, Face.A, "SG-0008-A")

    assert (again.known, again.photo) == (True, first.photo)
    for wrong, face in ((other, Face.A), (board, Face.B)):
        with pytest.raises(Refused, match=f"picture of {board}, face A"):
            add(photo_yard, wrong, face, "SG-0008-A")
    with pytest.raises(BadInput, match="twice"):
        add(photo_yard, board, Face.B, "TO-0003-A", "TO-0003-A")

    taken_back = take_back_photo(photo_yard.open_work, 1, "another board")
    moved = add(photo_yard, other, Face.A, "SG-0008-A")

    assert taken_back.void == "another board"
    assert (moved.photo.number, moved.photo.pictures) == (2, first.photo.pictures)
    with pytest.raises(Refused, match="already"):
        take_back_photo(photo_yard.open_work, 1, "again")
    with pytest.raises(NotFound):
        take_back_photo(photo_yard.open_work, 9, "never there")
    assert check_photos(photo_yard.open_work).files == 4  # the two faces are the same to the byte


def test_the_newest_photo_stands_and_the_older_stays_on_record(sqlite_yard: Yard) -> None:
    board = board_for(sqlite_yard, "SG-0008-A")
    corners = [tuple(corner) for corner in truth("SG-0008-A")["corners_px"]]
    add(sqlite_yard, board, Face.A, "SG-0008-A")
    second = add(sqlite_yard, board, Face.A, "SG-0008-A", how=HowTaken(corners_px=corners)).photo

    with sqlite_yard.open_work(reading=True) as work:
        assert work.photos.standing([board]) == {(board, Face.A): second}
        assert [photo.number for photo in work.photos.of_piece(board)] == [1, 2]
    assert show_face(sqlite_yard.open_work, board, Face.A).photo == 2


def test_the_place_is_left_out_of_what_is_kept_unless_it_is_asked_for(sqlite_yard: Yard) -> None:
    board = board_for(sqlite_yard, "SG-0008-A")
    exif = Image.Exif()
    exif[ExifTags.IFD.GPSInfo] = {1: "S", 2: (27.0, 28.0, 12.0), 3: "E", 4: (153.0, 1.0, 40.0)}
    kept = io.BytesIO()
    Image.open(SAMPLES / "SG-0008-A.jpg").save(kept, "JPEG", quality=90, exif=exif)
    given = GivenPicture(kept.getvalue(), "IMG_1.jpg")

    photo = add_photo(sqlite_yard.open_work, board, Face.A, [given]).photo
    (picture,) = photo.pictures
    content, _ = picture_file(sqlite_yard.open_work, picture.digest)

    assert not picture.located
    assert picture.given_digest == digest_of(given.content) != picture.digest == digest_of(content)
    assert decode(content, keep_location=True).location is None
    assert (decode(content).pixels == decode(given.content).pixels).all()
    assert add_photo(sqlite_yard.open_work, board, Face.A, [given]).known

    located = add_photo(sqlite_yard.open_work, board, Face.A, [given], HowTaken(keep_location=True)).photo
    assert located.pictures[0].located
    assert located.pictures[0].digest == digest_of(given.content)


def test_a_preview_says_what_adding_would_find_and_stores_nothing(sqlite_yard: Yard) -> None:
    board = board_for(sqlite_yard, "SG-0001-A")

    seen = preview_photo(sqlite_yard.open_work, board, Face.A, [sample("SG-0001-A")])

    assert seen.refused is None
    assert far_off(seen.corners_px[0], "SG-0001-A") < 4
    assert decode(seen.face_jpeg).pixels.shape[1] == 1600
    assert seen.sizes_px == ((2600, 1950),)
    with sqlite_yard.open_work(reading=True) as work:
        assert work.photos.of_piece(board) == ()
        assert not work.picture_files.folder.exists()


@pytest.mark.parametrize("face", [Face.A, Face.B])
def test_a_preview_of_what_is_refused_proposes_corners_in_the_boards_order(
    sqlite_yard: Yard, face: Face
) -> None:
    """A length is logged that does not show: the proportions are refused, the corners right all the same."""
    board = receive(sqlite_yard, "spotted gum,2000,160,30,40").pieces[0].number

    seen = preview_photo(sqlite_yard.open_work, board, face, [sample("SG-0008-A")])

    assert "trust" in seen.refused
    assert [fault.where for fault in seen.faults] == ["proportions"]
    corners = np.array(seen.corners_px[0])
    true = np.array(truth("SG-0008-A")["corners_px"])
    assert np.abs(corners - (true if face is Face.A else true[[3, 2, 1, 0]])).max() < 12
    nothing = preview_photo(
        sqlite_yard.open_work, board, face, [GivenPicture(as_file(np.full((400, 300, 3), 90, np.uint8)), "x")]
    )
    assert nothing.scale is None
    assert all(0 <= u < 300 and 0 <= v < 400 for u, v in nothing.corners_px[0])


def test_an_offcut_shows_its_part_of_the_board_it_was_cut_from(sqlite_yard: Yard) -> None:
    board = board_for(sqlite_yard, "SG-0001-A")
    photo = add(sqlite_yard, board, Face.A, "SG-0001-A").photo
    with sqlite_yard.open_work() as work:
        whole = work.pieces.get(board)
        part = dataclasses.replace(
            whole, number="SG-0099", kind=PieceKind.OFFCUT, parent=board, window=Window(900, 40, 1700, 180),
            length_mm=800, width_mm=140,
        )  # fmt: skip
        work.pieces.add([part])
        volume = 800 * 140 * 30
        work.movements.book(
            Movement(
                MovementKind.COUNT, (Line("SG-0099", on_hand=1, volume_mm3=volume),), work.today, "a test"
            )
        )
        work.commit()

    whole_face = decode(show_face(sqlite_yard.open_work, board, Face.A).content).pixels
    seen = show_face(sqlite_yard.open_work, "SG-0099", Face.A)

    assert (seen.of_piece, seen.photo) == (board, photo.number)
    px = seen.mm_per_px
    pixels = decode(seen.content).pixels
    assert pixels.shape[:2] == (round(140 / px), round(1700 / px) - round(900 / px))
    left = round(900 / px)
    expected = whole_face[: pixels.shape[0], left : left + pixels.shape[1]].astype(int)
    assert np.abs(pixels.astype(int) - expected).mean() < 3
    with pytest.raises(BadInput, match="never photographed"):
        show_face(sqlite_yard.open_work, "SG-0099", Face.B)


def test_a_delivery_is_added_at_once_by_the_names_of_its_pictures(sqlite_yard: Yard) -> None:
    long_one = receive(sqlite_yard, "jarrah,3000,200,38,90").pieces[0].number
    short, other = (
        board_for(sqlite_yard, "SG-0008-A", docket="2"),
        board_for(sqlite_yard, "SG-0001-A", docket="3"),
    )
    names = {
        f"{long_one}-A2.jpg": "demo/JA-0008-A2",
        f"{short.lower()}_a.JPG": "SG-0008-A",
        f"{long_one}-A1.jpg": "demo/JA-0008-A1",
        f"{other} B.jpg": "SG-0001-A",
        f"{long_one}-A3.jpg": "demo/JA-0008-A3",
    }
    given = [GivenPicture(sample(of).content, name) for name, of in names.items()]

    done = add_named_photos(sqlite_yard.open_work, given)

    assert [(each.board, each.face) for each in done] == [
        (long_one, Face.A), (short, Face.A), (other, Face.B),
    ]  # fmt: skip
    strip, plain, refused = done
    assert [each.name for each in strip.added.photo.pictures] == [f"{long_one}-A{k}.jpg" for k in (1, 2, 3)]
    assert plain.added.photo.scale.way == "outline"
    assert (refused.added, "face A; say that face" in refused.refused) == (None, True)
    wrong = [GivenPicture(b"", name) for name in ("IMG_0001.jpg", f"{short}-A.jpg", "SG-9999-A.jpg")]
    with pytest.raises(BadInput, match="nothing was stored") as told:
        add_named_photos(sqlite_yard.open_work, wrong)
    assert [fault.where for fault in told.value.faults] == ["IMG_0001.jpg", "SG-9999-A.jpg"]


def test_two_who_add_at_once_both_keep_their_pictures_whole(photo_yard: Yard) -> None:
    """Each sweeps what stopped writers left before adding, and must not take the other's for that."""
    boards = [board_for(photo_yard, "SG-0008-A", docket=str(n)) for n in range(4)]
    content = sample("SG-0008-A").content

    def one(number: int) -> AddedPhoto:
        given = GivenPicture(content + bytes([number]), f"IMG_{number}.jpg")
        return add_photo(photo_yard.open_work, boards[number], Face.A, [given])

    with photo_yard.open_work(reading=True) as work:
        stopped = work.picture_files.folder / "incoming" / "stopped"
    stopped.mkdir(parents=True)
    with ThreadPoolExecutor(4) as threads:
        added = list(threads.map(one, range(4)))

    assert sorted(each.photo.number for each in added) == [1, 2, 3, 4]
    assert check_photos(photo_yard.open_work).sound
    assert not stopped.exists()


def test_a_yard_on_a_server_asks_where_its_pictures_lie(postgres_yard: Yard) -> None:
    board = board_for(postgres_yard, "SG-0008-A")

    with pytest.raises(Refused, match="STOCKYARD_PICTURES"):
        add(postgres_yard, board, Face.A, "SG-0008-A")


def test_what_cannot_be_meant_is_refused_with_everything_that_is_wrong(sqlite_yard: Yard) -> None:
    board = board_for(sqlite_yard, "SG-0008-A")
    wrong = HowTaken(end1="up", order="size", marker_mm=4000, corners_px=[(1, 1)])

    with pytest.raises(BadInput) as refused:
        add(sqlite_yard, board, Face.A, "SG-0008-A", how=wrong)

    assert [fault.where for fault in refused.value.faults] == ["end 1", "order", "marker", "corners"]
    with pytest.raises(BadInput, match="one face"):
        add(sqlite_yard, board, Face.BOTH, "SG-0008-A")
    with pytest.raises(NotFound):
        add(sqlite_yard, "SG-9999", Face.A, "SG-0008-A")
    with pytest.raises(BadInput, match="at least one"):
        add(sqlite_yard, board, Face.A)
