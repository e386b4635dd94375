"""A picture's bytes, checked before they are decoded, then decoded upright and without location data."""

import io
import warnings
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
import numpy.typing as npt
from PIL import ExifTags, Image, ImageCms, ImageOps, UnidentifiedImageError

from stockyard.errors import BadInput, MissingPart

Pixels = npt.NDArray[np.uint8]

FORMATS = ("JPEG", "PNG", "WEBP", "TIFF")
MAX_PIXELS = 64_000_000  # a full-size picture of a 50 megapixel phone, with room
MIN_SIDE_PX = 100  # less shows no defect at any distance
_HEIC_BRANDS = (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1", b"heif")
_PLAIN_MODES = ("1", "L", "LA", "P", "PA", "RGB", "RGBA", "RGBX", "RGBa", "La", "YCbCr", "LAB", "HSV")
_SEE_THROUGH_MODES = ("LA", "PA", "RGBA", "La", "RGBa")
_DEEP_MODES = ("I", "F", "I;16", "I;16B", "I;16L", "I;16N")


@dataclass(frozen=True, slots=True)
class Picture:
    """A decoded picture, upright.

    pixels: (rows, columns, 3) uint8, RGB. format: one of FORMATS or "HEIF". turned: its EXIF orientation
    was not upright and has been applied. taken: when the camera says it was. focal_35mm: the lens's focal
    length for a 35 mm frame [mm], if written. location: (latitude, longitude) [degrees], only when asked for.
    """

    pixels: Pixels
    format: str
    turned: bool = False
    taken: datetime | None = None
    focal_35mm: float | None = None
    location: tuple[float, float] | None = None


def decode(
    content: bytes, name: str = "the picture", max_pixels: int = MAX_PIXELS, keep_location: bool = False
) -> Picture:
    """Decode a picture after checking its format, size and depth.

    content: the whole file. max_pixels: nothing larger is decoded. keep_location: read the place too.
    Raises BadInput with what to do next for anything but a whole, still, 8-bit RGB or grey picture, and
    MissingPart for HEIC without the pillow-heif library.
    """
    _allow_heic(content, name)
    with warnings.catch_warnings():
        # Pillow warns of odd tags and of size; both are judged here, and odd tags do not matter.
        warnings.simplefilter("ignore")
        try:
            image = Image.open(io.BytesIO(content), formats=_known_formats())
        except Image.DecompressionBombError as trouble:
            raise BadInput(_too_large(name, None, max_pixels)) from trouble
        except (UnidentifiedImageError, OSError, SyntaxError, ValueError) as trouble:
            raise BadInput(
                f"{name} is not a picture Stockyard can read; give a JPEG, PNG, WebP or TIFF photograph."
            ) from trouble
        with image:
            _check(image, content, name, max_pixels)
            try:
                image.load()
                exif = image.getexif()
                facts = _facts(exif, keep_location)
                turned = exif.get(ExifTags.Base.Orientation, 1) in range(2, 9)
                upright = ImageOps.exif_transpose(image) if turned else image
                pixels = np.asarray(_rgb(upright))
            except (OSError, SyntaxError, ValueError, Image.DecompressionBombError, MemoryError) as trouble:
                raise BadInput(
                    f"{name} is cut short or damaged; copy it from the phone again, whole."
                ) from trouble
    kind = "JPEG" if image.format == "MPO" else str(image.format)
    return Picture(pixels=pixels, format=kind, turned=turned, **facts)


def _allow_heic(content: bytes, name: str) -> None:
    if content[4:8] != b"ftyp" or content[8:12] not in _HEIC_BRANDS:
        return
    try:
        from pillow_heif import register_heif_opener
    except ImportError as trouble:
        raise MissingPart(
            f"{name} is a HEIC picture, which needs the library pillow-heif; run 'pip install pillow-heif', "
            "or set the phone's camera to save JPEG ('most compatible')."
        ) from trouble
    register_heif_opener()


def _known_formats() -> list[str]:
    # Also what people try by mistake, so that the sentence can name it.
    Image.init()
    return [kind for kind in (*FORMATS, "MPO", "HEIF", "GIF", "BMP") if kind in Image.OPEN]


def _check(image: Image.Image, content: bytes, name: str, max_pixels: int) -> None:
    """Everything that can be known from the header alone."""
    columns, rows = image.size
    if image.format not in (*FORMATS, "HEIF", "MPO"):
        raise BadInput(f"{name} is a {image.format} picture; save it as JPEG or PNG and try again.")
    if columns * rows > max_pixels:
        raise BadInput(_too_large(name, image.size, max_pixels))
    if min(columns, rows) < MIN_SIDE_PX:
        raise BadInput(
            f"{name} is only {columns} x {rows} pixels; give the photograph itself, not a thumbnail of it."
        )
    # A phone's MPO holds a second view for its own use; the first is the photograph.
    if image.format != "MPO" and getattr(image, "n_frames", 1) > 1:
        raise BadInput(
            f"{name} holds several pictures or moves; save the one still picture you mean as JPEG."
        )
    if image.mode in ("CMYK", "YCCK"):
        raise BadInput(f"{name} is in printing colours (CMYK); save it in RGB and try again.")
    if _deep(image, content):
        raise BadInput(
            f"{name} has 16 bits a colour; save it with 8 bits a colour (a plain JPEG) and try again."
        )
    if image.mode not in (
        "1",
        "L",
        "LA",
        "P",
        "PA",
        "RGB",
        "RGBA",
        "RGBX",
        "RGBa",
        "La",
        "YCbCr",
        "LAB",
        "HSV",
    ):
        raise BadInput(
            f"{name} has an unusual kind of colour ({image.mode}); save it as a JPEG and try again."
        )


def _deep(image: Image.Image, content: bytes) -> bool:
    if image.mode in _DEEP_MODES:
        return True
    if image.format == "PNG":
        return content[24] == 16  # bit depth of the IHDR chunk, which comes first in every PNG
    if image.format == "TIFF":
        bits: Any = image.tag_v2.get(258, 8)  # type: ignore[attr-defined]  # BitsPerSample
        return bool(np.max(bits) > 8)
    return False


def _too_large(name: str, size: tuple[int, int] | None, max_pixels: int) -> str:
    said = f" ({size[0]} x {size[1]} pixels)" if size else ""
    return (
        f"{name} is too large to decode{said}: {max_pixels / 1e6:.0f} megapixels is the most; "
        "save it smaller, or photograph the board in several pictures."
    )


def _rgb(image: Image.Image) -> Image.Image:
    """Plain sRGB; what is transparent becomes white, a wide-gamut profile (most phones') is converted."""
    profile = image.info.get("icc_profile")
    if image.mode in _SEE_THROUGH_MODES or (image.mode == "P" and "transparency" in image.info):
        with_alpha = image.convert("RGBA")
        ground = Image.new("RGBA", image.size, "white")
        image = Image.alpha_composite(ground, with_alpha)
    plain = image if image.mode == "RGB" else image.convert("RGB")
    if not profile:
        return plain
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        if "sRGB" in ImageCms.getProfileDescription(source):
            return plain
        changed = ImageCms.profileToProfile(plain, source, ImageCms.createProfile("sRGB"))
    except (ImageCms.PyCMSError, OSError):
        return plain  # a profile of another kind of colour, or damaged: read as sRGB, as viewers do
    return changed if changed is not None else plain


def _facts(exif: Image.Exif, keep_location: bool) -> dict[str, Any]:
    """What the camera wrote that is of use; anything malformed is as good as absent."""
    details = exif.get_ifd(ExifTags.IFD.Exif)
    return {
        "taken": _taken(details.get(ExifTags.Base.DateTimeOriginal)),
        "focal_35mm": _positive(details.get(ExifTags.Base.FocalLengthIn35mmFilm)),
        "location": _location(exif.get_ifd(ExifTags.IFD.GPSInfo)) if keep_location else None,
    }


def _taken(written: Any) -> datetime | None:
    try:
        # A camera's clock has no zone: kept as written, and shown as the camera's own time.
        return datetime.strptime(str(written).strip("\0 "), "%Y:%m:%d %H:%M:%S")  # noqa: DTZ007
    except ValueError:
        return None


def _positive(written: Any) -> float | None:
    try:
        value = float(written)
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    return value if 5 <= value <= 1000 else None


def _location(written: dict[int, Any]) -> tuple[float, float] | None:
    try:
        parts = []
        for value, side, negative in ((2, 1, "S"), (4, 3, "W")):
            degrees, minutes, seconds = (float(part) for part in written[value])
            angle = degrees + minutes / 60 + seconds / 3600
            parts.append(-angle if written[side] == negative else angle)
    except (KeyError, TypeError, ValueError, ZeroDivisionError):
        return None
    latitude, longitude = parts
    return (latitude, longitude) if abs(latitude) <= 90 and abs(longitude) <= 180 else None
