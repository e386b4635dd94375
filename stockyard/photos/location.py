"""Taking out of a picture's file where it was taken, and nothing else: not a pixel is decoded or changed.

A camera writes the place as a block of GPS entries in the EXIF data (CIPA DC-008, section 4.6.6), at times
in the XMP packet too (ISO 16684-1, exif:GPS...). The block is emptied where it stands and the entry that
leads to it removed, so that the file keeps its length and every other byte its place.
"""

import io
import re
import struct
import warnings
import zlib

from PIL import ExifTags, Image

from stockyard.errors import BadInput

_GPS_POINTER = int(ExifTags.IFD.GPSInfo)
_TYPE_BYTES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8}  # TIFF 6.0, page 15
_EXIF = re.compile(rb"Exif\0\0(?=II\*\0|MM\0\*)")
_XMP = re.compile(
    rb"""exif:GPS\w+\s*=\s*("[^"]*"|'[^']*')|<exif:GPS(\w+)[^>]*>.*?</exif:GPS\2\s*>""", re.DOTALL
)
_PNG = b"\x89PNG\r\n\x1a\n"


def without_location(content: bytes, name: str = "the picture") -> bytes:
    """The file without the place it was taken at; the very same bytes where it says none.

    content: a JPEG, PNG, WebP, TIFF or HEIC file that decodes. Raises BadInput where the place is written in
    a way that cannot be taken out without touching the picture.
    """
    bare = bytearray(content)
    if content.startswith(_PNG):
        bare = _png_without(content)
    else:
        for start in _tiff_starts(content):
            _empty(bare, start)
        for said in _XMP.finditer(content):
            bare[said.start() : said.end()] = b" " * (said.end() - said.start())
    if says_location(bytes(bare)):
        raise BadInput(
            f"Where {name} was taken cannot be left out of it without changing the picture; save it anew "
            "without location, or keep the location on purpose."
        )
    return bytes(bare)


def says_location(content: bytes) -> bool:
    """Does the file say where it was taken?"""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            with Image.open(io.BytesIO(content)) as image:
                found = image.getexif().get_ifd(ExifTags.IFD.GPSInfo)
        except (OSError, SyntaxError, ValueError, struct.error, Image.DecompressionBombError):
            found = {}  # what cannot be opened tells nobody a place, and is refused elsewhere
    # A version alone is no place.
    return any(tag in found for tag in (1, 2, 3, 4, 5, 6)) or _XMP.search(content) is not None


def _tiff_starts(content: bytes) -> list[int]:
    """Where EXIF blocks begin: each is a small TIFF file, and a TIFF picture is one as a whole."""
    starts = [said.end() for said in _EXIF.finditer(content)]
    if content[:4] in (b"II*\0", b"MM\0*"):
        starts.append(0)
    if content[:4] == b"RIFF" and content[8:12] == b"WEBP":
        at = 12
        while at + 8 <= len(content):
            kind, size = content[at : at + 4], int.from_bytes(content[at + 4 : at + 8], "little")
            if kind == b"EXIF" and content[at + 8 : at + 12] in (b"II*\0", b"MM\0*"):
                starts.append(at + 8)
            at += 8 + size + size % 2
    return starts


def _empty(content: bytearray, start: int) -> None:
    """Empty the GPS block of the TIFF structure at `start`, and remove the entry that leads to it."""
    order = "<" if content[start : start + 2] == b"II" else ">"
    try:
        (first,) = struct.unpack_from(f"{order}I", content, start + 4)
        at = start + first
        (count,) = struct.unpack_from(f"{order}H", content, at)
        for place in range(count):
            entry = at + 2 + 12 * place
            (tag,) = struct.unpack_from(f"{order}H", content, entry)
            if tag != _GPS_POINTER:
                continue
            (leads_to,) = struct.unpack_from(f"{order}I", content, entry + 8)
            _blank(content, start, start + leads_to, order)
            # What follows moves up by one entry, the pointer to the next directory included.
            end = at + 2 + 12 * count + 4
            content[entry : end - 12] = content[entry + 12 : end]
            content[end - 12 : end] = bytes(12)
            struct.pack_into(f"{order}H", content, at, count - 1)
            return
    except (struct.error, IndexError):
        return  # not a structure anyone else could read either


def _blank(content: bytearray, start: int, at: int, order: str) -> None:
    (count,) = struct.unpack_from(f"{order}H", content, at)
    for place in range(min(count, 64)):
        entry = at + 2 + 12 * place
        _, kind, many, value = struct.unpack_from(f"{order}HHII", content, entry)
        size = _TYPE_BYTES.get(kind, 1) * many
        if size > 4 and start + value + size <= len(content):
            content[start + value : start + value + size] = bytes(size)
        content[entry : entry + 12] = bytes(12)
    struct.pack_into(f"{order}H", content, at, 0)


def _png_without(content: bytes) -> bytearray:
    """A PNG's EXIF and text chunks without the place; each changed chunk gets the check sum it then needs."""
    bare, at = bytearray(_PNG), len(_PNG)
    while at + 12 <= len(content):
        size = int.from_bytes(content[at : at + 4], "big")
        kind, body = content[at + 4 : at + 8], bytearray(content[at + 8 : at + 8 + size])
        whole = content[at : at + 12 + size]
        at += 12 + size
        if kind == b"eXIf":
            _empty(body, 0)
        elif kind in (b"iTXt", b"zTXt", b"tEXt"):
            if body.startswith(b"Raw profile type") or (kind != b"tEXt" and _hides_place(bytes(body))):
                continue  # EXIF or XMP once more, spelt in hexadecimal or compressed
            for said in _XMP.finditer(bytes(body)):
                body[said.start() : said.end()] = b" " * (said.end() - said.start())
        if bytes(body) == whole[8:-4]:
            bare += whole
        else:
            check = zlib.crc32(kind + body)
            bare += size.to_bytes(4, "big") + kind + body + check.to_bytes(4, "big")
    return bare + content[at:]


def _hides_place(body: bytes) -> bool:
    """Is a place said in the compressed part of a text chunk?"""
    for start in (found.start() for found in re.finditer(rb"\x78[\x01\x5e\x9c\xda]", body)):
        try:
            if b"GPS" in zlib.decompressobj().decompress(body[start:], 4_000_000):
                return True
        except zlib.error:
            continue
    return False
