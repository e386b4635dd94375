"""Workbooks as suppliers send them, built in memory."""

import io
import re
import zipfile
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from openpyxl import Workbook


def a_workbook(*sheets: tuple[str, Iterable[Sequence[Any]]], merged: Iterable[str] = ()) -> bytes:
    """An .xlsx of these (title, rows); `merged` areas are of the first sheet."""
    book = Workbook()
    book.remove(book.active)
    for title, rows in sheets:
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(list(row))
    for area in merged:
        book.worksheets[0].merge_cells(area)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def repacked(content: bytes, change: Callable[[str, bytes], bytes | None]) -> bytes:
    """The same archive with each part as `change(name, bytes)` gives it, or without it where that is None."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            part = change(name, old.read(name))
            if part is not None:
                new.writestr(name, part)
    return out.getvalue()


def with_cached_value(content: bytes, formula: str, value: str) -> bytes:
    """The workbook as a spreadsheet program leaves it: `formula` with the value it computed beside it."""

    def change(name: str, part: bytes) -> bytes:
        old = f"<f>{formula}</f><v></v>".encode()
        new = f"<f>{formula}</f><v>{value}</v>".encode()
        return part.replace(old, new).replace(f"<f>{formula}</f><v />".encode(), new)

    changed = repacked(content, change)
    assert changed != content
    return changed


def with_shared_strings(content: bytes) -> bytes:
    """The workbook with its words in a part of their own, as most spreadsheet programs keep them."""
    texts: list[bytes] = []

    def share(found: re.Match[bytes]) -> bytes:
        texts.append(found[1])
        return b't="s"><v>' + str(len(texts) - 1).encode() + b"</v></c>"

    def change(name: str, part: bytes) -> bytes:
        if name.startswith("xl/worksheets/"):
            return re.sub(rb't="inlineStr"><is><t[^>]*>([^<]*)</t></is></c>', share, part)
        if name == "[Content_Types].xml":
            kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"
            override = f'<Override PartName="/xl/sharedStrings.xml" ContentType="{kind}"/></Types>'
            return part.replace(b"</Types>", override.encode())
        return part

    changed = repacked(content, change)
    assert texts
    space = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    items = b"".join(b"<si><t>" + text + b"</t></si>" for text in texts)
    out = io.BytesIO(changed)
    with zipfile.ZipFile(out, "a", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/sharedStrings.xml", f'<sst xmlns="{space}">'.encode() + items + b"</sst>")
    return out.getvalue()
