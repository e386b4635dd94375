"""What people hand in by mistake: each gets a sentence saying what to do next, and none of it is stored."""

import io
from collections.abc import Callable

import numpy as np
import pytest
from PIL import Image, ImageDraw

from stockyard.errors import BadInput
from stockyard.photos.plane import four_point_map
from stockyard.records import Yard
from stockyard.services.add_photo import GivenPicture, HowTaken, add_photo
from stockyard.services.check_photos import check_photos
from stockyard.timber import Face
from tests.services.photographs import as_file, board_for, sample, truth

CLEAN, CARDED = "SG-0008-A", "SG-0001-A"


def opened(name: str) -> Image.Image:
    return Image.open(io.BytesIO(sample(name).content)).convert("RGB")


def saved(image: Image.Image, kind: str = "JPEG", **more: object) -> bytes:
    kept = io.BytesIO()
    image.save(kept, kind, **({"quality": 92} if kind == "JPEG" else {}), **more)
    return kept.getvalue()


def bench(seed: int = 1, size: tuple[int, int] = (1200, 1600)) -> np.ndarray:
    noise = np.random.default_rng(seed).normal(70, 4, (*size, 1))
    return np.repeat(noise.clip(0, 255), 3, axis=2).astype(np.uint8)


def moving(kind: str) -> bytes:
    frames = [Image.fromarray(bench(seed, (300, 400))) for seed in (1, 2)]
    return saved(frames[0], kind, save_all=True, append_images=frames[1:])


def a_cat() -> bytes:
    image = Image.fromarray(bench())
    pen, fur = ImageDraw.Draw(image), (196, 140, 80)
    pen.ellipse((500, 500, 1100, 900), fill=fur)
    pen.ellipse((980, 330, 1250, 600), fill=fur)
    pen.polygon(((1000, 400), (1020, 250), (1090, 350)), fill=fur)
    pen.polygon(((1140, 350), (1210, 250), (1230, 400)), fill=fur)
    pen.arc((300, 500, 620, 900), 90, 250, fill=fur, width=40)
    for x in (560, 700, 900, 1020):
        pen.rectangle((x, 850, x + 50, 1050), fill=fur)
    return saved(image)


def two_boards() -> bytes:
    pixels, rng = bench(), np.random.default_rng(2)
    for top in (200, 700):
        pixels[top : top + 230, 60:1540] = rng.normal((150, 110, 70), 5, (230, 1480, 3)).clip(0, 255)
    return as_file(pixels)


def half_a_board() -> bytes:
    whole = opened(CLEAN)
    return saved(whole.crop((0, 0, whole.width // 2, whole.height)))


def cards_face_down() -> bytes:
    image, known = opened(CARDED), truth(CARDED)
    board = np.array([(0, 0), (1800, 0), (1800, 180), (0, 180)], float)
    plane = four_point_map(np.array(known["corners_px"], float), board, (image.height, image.width))
    pen = ImageDraw.Draw(image)
    for marker in known["cards"].values():
        middle = np.mean(marker, axis=0)
        card = plane.to_picture(middle + (np.array(marker) - middle) * 56 / 40)
        pen.polygon([(float(u), float(v)) for u, v in card], fill=(225, 225, 225))
    return saved(image)


CASES: dict[str, tuple[str, Callable[[], bytes], str]] = {
    "not an image": (CLEAN, lambda: b"meow" * 100, "give a JPEG, PNG, WebP or TIFF"),
    "empty": (CLEAN, lambda: b"", "give a JPEG"),
    "truncated": (CLEAN, lambda: sample(CLEAN).content[:90_000], "copy it from the phone again"),
    "1 x 1": (CLEAN, lambda: as_file(np.zeros((1, 1, 3), np.uint8)), "give the photograph itself"),
    "20,000 x 20,000": (CLEAN, lambda: saved(Image.new("1", (20_000, 20_000)), "PNG"), "save it smaller"),
    "moving GIF": (CLEAN, lambda: moving("GIF"), "save it as JPEG"),
    "moving WebP": (CLEAN, lambda: moving("WEBP"), "save the one still picture"),
    "CMYK": (CLEAN, lambda: saved(opened(CLEAN).convert("CMYK")), "save it in RGB"),
    "16-bit": (
        CLEAN,
        lambda: saved(Image.fromarray(np.full((300, 400), 40_000, np.uint16)), "PNG"),
        "8 bits a colour",
    ),
    "a cat": (CLEAN, a_cat, "photograph one board"),
    "two boards": (CLEAN, two_boards, "one at a time"),
    "half a board": (CLEAN, half_a_board, "step back"),
    "cards face down": (CARDED, cards_face_down, "lay the cards face up"),
    "mirrored": (
        CARDED,
        lambda: saved(opened(CARDED).transpose(Image.Transpose.FLIP_LEFT_RIGHT)),
        "turn off mirroring",
    ),
    "another board": (CLEAN, lambda: sample(CARDED).content + b"\0", "the board's number"),
}


@pytest.mark.parametrize("case", CASES)
def test_each_gets_a_sentence_and_nothing_is_stored(sqlite_yard: Yard, case: str) -> None:
    of, content, words = CASES[case]
    board = board_for(sqlite_yard, of)

    with pytest.raises(BadInput) as refused:
        add_photo(sqlite_yard.open_work, board, Face.A, [GivenPicture(content(), "IMG_1.jpg")])

    assert words in str(refused.value)
    assert refused.value.message.endswith("Nothing was stored.")
    with sqlite_yard.open_work(reading=True) as work:
        assert work.photos.of_piece(board, voided=True) == ()
        assert not work.picture_files.folder.exists()
    assert check_photos(sqlite_yard.open_work).files == 0


def test_cards_of_another_print_size_are_noticed_and_their_measured_size_helps(sqlite_yard: Yard) -> None:
    """The cards of the picture are 40 mm; said to be 36, they are as if printed too large."""
    board = board_for(sqlite_yard, CARDED)

    with pytest.raises(BadInput, match="printed at 100 %"):
        add_photo(sqlite_yard.open_work, board, Face.A, [sample(CARDED)], HowTaken(marker_mm=36))

    assert add_photo(sqlite_yard.open_work, board, Face.A, [sample(CARDED)], HowTaken(marker_mm=40)).photo


@pytest.mark.parametrize("quarters", [1, 2, 3])
def test_cards_say_where_end_1_is_however_the_picture_is_turned(sqlite_yard: Yard, quarters: int) -> None:
    board = board_for(sqlite_yard, CARDED)
    image = opened(CARDED)
    turned = image.rotate(90 * quarters, expand=True)

    photo = add_photo(sqlite_yard.open_work, board, Face.A, [GivenPicture(saved(turned), "IMG_2.jpg")]).photo

    u, v = np.array(truth(CARDED)["corners_px"]).T
    wide, high = image.width - 1, image.height - 1
    expected = {1: (v, wide - u), 2: (wide - u, high - v), 3: (high - v, u)}[quarters]
    assert np.abs(np.array(photo.scale.corners_px[0]) - np.column_stack(expected)).max() < 5


def test_exif_that_is_wrong_or_garbage_stops_nothing_where_cards_tell(sqlite_yard: Yard) -> None:
    """The orientation said is not the picture's: it is turned by it, and the cards know better."""
    board = board_for(sqlite_yard, CARDED)
    exif = Image.Exif()
    exif[0x0112] = 6
    lying = saved(opened(CARDED), exif=exif)
    at = lying.index(b"Exif\0\0") + 6
    garbage = lying[: at + 4] + b"\xff\xff\xff\x7f" + lying[at + 8 :]

    for content in (lying, garbage):
        given = GivenPicture(content, "IMG_3.jpg")
        assert add_photo(sqlite_yard.open_work, board, Face.A, [given]).photo.scale.way == "cards"
