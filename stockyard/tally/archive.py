"""What a workbook file is before anything in it is unpacked: a sound archive of bounded size, or refused."""

import io
import struct
import zipfile
import zlib

from stockyard.errors import BadInput

MAX_PARTS = 2_000
MAX_UNPACKED_BYTES = 256 * 1024 * 1024
"""Of all parts together, as the archive declares them; a part that unpacks to more is cut off and refused."""

MAX_RATIO = 200
"""Of a part's size to its packed size. A sheet of equal rows packs fiftyfold, a bomb a thousandfold."""

RATIO_MATTERS_ABOVE_BYTES = 4 * 1024 * 1024

_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_ENCRYPTED = "EncryptedPackage".encode("utf-16-le")
_DOCTYPE = ("<!DOCTYPE", "<!ENTITY")
_FORBIDDEN = tuple(word.encode(code) for word in _DOCTYPE for code in ("ascii", "utf-16-le", "utf-16-be"))


def looks_packed(content: bytes) -> bool:
    """Is it a workbook, or another archive, rather than a text file?"""
    return content.startswith((b"PK\x03\x04", b"PK\x05\x06", b"PK\x07\x08", _OLE))


def refuse_foreign(content: bytes, name: str) -> None:
    """Nothing when the file may be a tally.

    Raises BadInput, in a sentence that says what it is, for other well-known kinds of file.
    """
    if content.startswith(_OLE):
        if _ENCRYPTED in content:
            raise BadInput(f"{name} is locked with a password; save it without one.")
        raise BadInput(f"{name} is a workbook of the old .xls kind; save it as .xlsx or CSV.")
    kinds = (
        (b"%PDF", "a PDF"),
        (b"\x89PNG", "a picture"),
        (b"\xff\xd8\xff", "a picture"),
        (b"GIF8", "a picture"),
        (b"{\\rtf", "a word processor's document"),
        (b"\x1f\x8b", "a packed file"),
        (b"Rar!", "a packed file"),
        (b"7z\xbc\xaf", "a packed file"),
    )
    for start, kind in kinds:
        if content.startswith(start):
            raise BadInput(f"{name} is {kind}, not a tally; ask the supplier for CSV or .xlsx.")
    head = content[:512].lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if head.startswith((b"<!doctype", b"<html", b"<?xml", b"<table")):
        raise BadInput(f"{name} is a web page or XML, not a tally; save it as CSV or .xlsx.")


def opened(content: bytes, name: str) -> zipfile.ZipFile:
    """The workbook's archive, once its declared sizes have been found bearable.

    Raises BadInput when it is broken, locked, a bomb, or not an .xlsx workbook.
    """
    try:
        archive = zipfile.ZipFile(io.BytesIO(content))
        parts = archive.infolist()
    except (zipfile.BadZipFile, zlib.error, ValueError, OSError, NotImplementedError, struct.error):
        raise BadInput(
            f"{name} is not a whole workbook; it may have been cut short. Fetch it again."
        ) from None
    if any(part.flag_bits & 0x1 for part in parts):
        raise BadInput(f"{name} is locked with a password; save it without one.")
    if len(parts) > MAX_PARTS:
        raise BadInput(f"{name} has more than {MAX_PARTS:,} parts, which no tally has.")
    total = sum(part.file_size for part in parts)
    if total > MAX_UNPACKED_BYTES:
        raise BadInput(
            f"{name} would unpack to {total / 2**20:,.0f} MB;"
            f" at most {MAX_UNPACKED_BYTES // 2**20} MB are read."
        )
    for part in parts:
        if part.file_size > RATIO_MATTERS_ABOVE_BYTES and part.file_size > MAX_RATIO * max(
            1, part.compress_size
        ):
            raise BadInput(f"{name} unpacks to more than {MAX_RATIO} times its size, as only a trap does.")
    names = set(archive.namelist())
    if "xl/workbook.bin" in names:
        raise BadInput(f"{name} is a binary workbook (.xlsb); save it as .xlsx or CSV.")
    if "mimetype" in names or "content.xml" in names:
        raise BadInput(f"{name} is an OpenDocument file; save it as .xlsx or CSV.")
    if "[Content_Types].xml" not in names:
        raise BadInput(f"{name} is a packed file but not an .xlsx workbook; send the tally itself.")
    return archive


def refuse_entities(archive: zipfile.ZipFile, name: str) -> None:
    """Nothing when no part declares entities, which a small file can grow without end.

    Raises BadInput otherwise, or when a part does not unpack to what was declared.
    """
    longest = max(len(word) for word in _FORBIDDEN)
    for part in archive.infolist():
        if not part.filename.lower().endswith((".xml", ".rels", ".vml")):
            continue
        tail = b""
        try:
            with archive.open(part) as stream:
                while chunk := stream.read(1 << 20):
                    if any(word in tail + chunk for word in _FORBIDDEN):
                        raise BadInput(f"{name} declares entities inside it, as only a trap does.")
                    tail = chunk[-longest:]
        except (zipfile.BadZipFile, zlib.error, ValueError, OSError, EOFError, NotImplementedError) as error:
            raise BadInput(
                f"{name} is damaged ({part.filename}); save it again or ask the supplier for another copy."
            ) from error
