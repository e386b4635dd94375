"""Pictures that cannot be used are refused with what to do next; good ones come out upright, in plain RGB."""

import io
import struct
import zlib

import numpy as np
import pytest
from PIL import ExifTags, Image

from stockyard.errors import BadInput, MissingPart
from stockyard.photos.decode import decode


def a_picture(columns: int = 160, rows: int = 120) -> Image.Image:
    """Red to the left, blue to the right, brighter to the bottom."""
    ramp = np.linspace(0, 200, columns)[None, :].repeat(rows, 0)
    green = np.linspace(0, 90, rows)[:, None].repeat(columns, 1)
    return Image.fromarray(np.dstack([220 - ramp, green, ramp]).astype(np.uint8))


def saved(image: Image.Image, kind: str, **how: object) -> bytes:
    kept = io.BytesIO()
    image.save(kept, kind, **how)
    return kept.getvalue()


def png_header(columns: int, rows: int, depth: int = 8) -> bytes:
    """A PNG that claims a size and holds no pixels worth the name."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    head = struct.pack(">IIBBBBB", columns, rows, depth, 2, 0, 0, 0)
    body = zlib.compress(b"\0" * 64)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "TIFF"])
def test_the_four_formats_are_read_as_rgb(kind: str) -> None:
    picture = decode(saved(a_picture(), kind))
    assert picture.format == kind
    assert picture.pixels.shape == (120, 160, 3)
    assert picture.pixels.dtype == np.uint8
    assert picture.pixels[:, :8, 0].mean() > 190 > 60 > picture.pixels[:, :8, 2].mean()


# Where the picture's top left corner lies in the stored rows, by the eight orientations of the EXIF
# standard (CIPA DC-008, tag 0x0112): 1 top left, 2 top right, 3 bottom right, 4 bottom left, and 5 to 8 the
# same with rows and columns exchanged.
@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_exif_orientation_comes_out_upright(orientation: int) -> None:
    upright = np.asarray(a_picture())
    stored = {
        1: upright,
        2: upright[:, ::-1],
        3: upright[::-1, ::-1],
        4: upright[::-1],
        5: upright.transpose(1, 0, 2),
        6: upright.transpose(1, 0, 2)[::-1],
        7: upright.transpose(1, 0, 2)[::-1, ::-1],
        8: upright.transpose(1, 0, 2)[:, ::-1],
    }[orientation]
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = orientation
    picture = decode(saved(Image.fromarray(np.ascontiguousarray(stored)), "PNG", exif=exif))
    assert np.array_equal(picture.pixels, upright)
    assert picture.turned is (orientation != 1)


def test_an_orientation_that_does_not_exist_is_ignored() -> None:
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = 99
    picture = decode(saved(a_picture(), "PNG", exif=exif))
    assert not picture.turned
    assert np.array_equal(picture.pixels, np.asarray(a_picture()))


def test_location_is_dropped_unless_asked_for_and_the_lens_is_kept() -> None:
    exif = Image.Exif()
    exif.get_ifd(ExifTags.IFD.GPSInfo).update({1: "S", 2: (35.0, 30.0, 36.0), 3: "E", 4: (149.0, 0.0, 0.0)})
    exif.get_ifd(ExifTags.IFD.Exif).update(
        {ExifTags.Base.FocalLengthIn35mmFilm: 26, ExifTags.Base.DateTimeOriginal: "2026:03:01 10:20:30"}
    )
    content = saved(a_picture(), "JPEG", exif=exif)
    assert decode(content).location is None
    assert decode(content, keep_location=True).location == pytest.approx((-35.51, 149.0))
    assert decode(content).focal_35mm == 26
    assert str(decode(content).taken) == "2026-03-01 10:20:30"


def test_what_is_transparent_becomes_white() -> None:
    image = a_picture().convert("RGBA")
    image.putalpha(0)
    assert (decode(saved(image, "PNG")).pixels == 255).all()


def several_frames() -> bytes:
    return saved(a_picture(), "WEBP", save_all=True, append_images=[a_picture().rotate(90)], duration=100)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"not a picture at all", "not a picture"),
        (b"%PDF-1.7 tally of boards", "not a picture"),
        (saved(a_picture(), "JPEG")[:1500], "again, whole"),
        (saved(a_picture(), "PNG")[:300], "again, whole"),
        (saved(a_picture(1, 1), "PNG"), "1 x 1"),
        (png_header(20_000, 20_000), "too large to decode"),
        (png_header(200, 200, depth=16), "8 bits"),
        (saved(Image.fromarray(np.zeros((200, 200), np.uint16)), "PNG"), "8 bits"),
        (saved(Image.fromarray(np.zeros((200, 200), np.uint16)), "TIFF"), "8 bits"),
        (saved(a_picture().convert("CMYK"), "JPEG"), "RGB"),
        (saved(a_picture().convert("CMYK"), "TIFF"), "RGB"),
        (several_frames(), "still picture"),
        (saved(a_picture(), "GIF"), "JPEG or PNG"),
        (saved(a_picture(), "BMP"), "JPEG or PNG"),
    ],
)
def test_a_picture_that_cannot_be_used_is_refused_with_what_to_do(content: bytes, says: str) -> None:
    with pytest.raises(BadInput, match=says):
        decode(content, name="face.jpg")


def test_nothing_over_the_stated_pixel_count_is_decoded() -> None:
    with pytest.raises(BadInput, match="save it smaller"):
        decode(saved(a_picture(400, 300), "PNG"), max_pixels=100_000)


def test_heic_without_its_library_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "pillow_heif", None)
    with pytest.raises(MissingPart, match="pip install pillow-heif"):
        decode(b"\0\0\0\x18ftypheic" + b"\0" * 64)
