"""The place a picture was taken at is left out of its file, and nothing else of it."""

import io

import numpy as np
import pytest
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st
from PIL import ExifTags, Image
from PIL.PngImagePlugin import PngInfo

from stockyard.errors import BadInput
from stockyard.photos.decode import decode
from stockyard.photos.location import says_location, without_location

PLACE = {1: "S", 2: (27.0, 28.0, 12.0), 3: "E", 4: (153.0, 1.0, 40.0)}  # (latitude, longitude)
XMP = (
    b'<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:Description exif:GPSLatitude="27,28.2S" '
    b'exif:GPSLongitude="153,1.6E" tiff:Make="Phone"/><exif:GPSAltitude>12</exif:GPSAltitude></x:xmpmeta>'
)


def photograph(kind: str, *, located: bool = True, **more: object) -> bytes:
    pixels = np.random.default_rng(1).integers(0, 255, (120, 160, 3), np.uint8)
    exif = Image.Exif()
    exif[ExifTags.Base.Make] = "Invented"
    exif[ExifTags.Base.Orientation] = 6
    if located:
        exif[ExifTags.IFD.GPSInfo] = PLACE
    exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.DateTimeOriginal] = "2026:03:02 10:11:12"
    read = Image.Exif()
    read.load(exif.tobytes())  # Pillow writes nested blocks into a TIFF only from EXIF that was read
    kept = io.BytesIO()
    Image.fromarray(pixels).save(kept, kind, exif=read, **more)
    return kept.getvalue()


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "TIFF"])
def test_the_place_goes_and_all_else_stays(kind: str) -> None:
    given = photograph(kind)
    assert says_location(given)
    assert decode(given, keep_location=True).location == pytest.approx((-27.47, 153.02778), abs=1e-3)

    kept = without_location(given)

    assert not says_location(kept)
    assert len(kept) == len(given)
    before, after = decode(given), decode(kept, keep_location=True)
    assert (before.pixels == after.pixels).all()
    assert (after.location, after.turned, after.taken) == (None, before.turned, before.taken)
    with Image.open(io.BytesIO(kept)) as image:
        assert image.getexif()[ExifTags.Base.Make] == "Invented"
        assert not image.getexif().get_ifd(ExifTags.IFD.GPSInfo)
    # No trace of the figures either: every byte that changed became part of a shorter directory or a zero.
    assert without_location(kept) == kept


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "TIFF"])
def test_a_picture_that_says_no_place_is_kept_byte_for_byte(kind: str) -> None:
    given = photograph(kind, located=False)
    assert without_location(given) == given


@pytest.mark.parametrize("kind", ["JPEG", "WEBP"])
def test_a_place_in_the_xmp_packet_goes_too(kind: str) -> None:
    given = photograph(kind, located=False, xmp=XMP)
    assert says_location(given)

    kept = without_location(given)

    assert not says_location(kept)
    assert b"GPSLatitude=" not in kept
    assert b'tiff:Make="Phone"' in kept
    assert len(kept) == len(given)


def test_a_png_that_hides_its_place_in_a_compressed_text_loses_that_text() -> None:
    text = PngInfo()
    text.add_itxt("XML:com.adobe.xmp", XMP.decode() * 3, zip=True)
    text.add_text("Comment", "first board of the day")
    given = photograph("PNG", located=False, pnginfo=text)

    kept = without_location(given)

    with Image.open(io.BytesIO(kept)) as image:
        image.load()
        assert image.text == {"Comment": "first board of the day"}
    assert (decode(kept).pixels == decode(given).pixels).all()


def test_exif_that_is_garbage_stops_nothing() -> None:
    whole = photograph("JPEG")
    at = whole.index(b"Exif\0\0") + 6
    for spoilt in (
        whole[: at + 4] + b"\xff\xff\xff\xff" + whole[at + 8 :],
        whole[: at + 8] + bytes(range(40)) + whole[at + 48 :],
    ):
        kept = without_location(spoilt)
        assert not says_location(kept)
        assert decode(kept).pixels.shape[2] == 3


LOCATED = {kind: photograph(kind) for kind in ("JPEG", "WEBP", "TIFF")}


@settings(max_examples=150, deadline=None)
@drawn(
    st.sampled_from(sorted(LOCATED)),
    st.lists(st.tuples(st.integers(0, 399), st.integers(0, 255)), min_size=1, max_size=6),
)
def test_whatever_is_spoilt_in_the_exif_no_place_is_kept_and_nothing_breaks(
    kind: str, spoilt: list[tuple[int, int]]
) -> None:
    whole = bytearray(LOCATED[kind])
    start = 0 if kind == "TIFF" else whole.index(b"MM\0*" if b"MM\0*" in whole else b"II*\0")
    for place, value in spoilt:
        whole[start + place % (len(whole) - start)] = value

    try:
        kept = without_location(bytes(whole))
    except BadInput:
        return  # told in a sentence; nothing is kept then

    assert len(kept) == len(whole)
    assert not says_location(kept)
