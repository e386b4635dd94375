"""Text files of tallies: which encoding, which mark between cells."""

import csv
import io
import re
from collections.abc import Iterator

from stockyard.errors import BadInput
from stockyard.tally.sheet import MAX_ROWS, Cell, Sheet, check_size

DELIMITERS = (",", ";", "\t", "|")

_BOMS = (
    (b"\xef\xbb\xbf", "utf-8"),
    (b"\xff\xfe\x00\x00", "utf-32-le"),
    (b"\x00\x00\xfe\xff", "utf-32-be"),
    (b"\xff\xfe", "utf-16-le"),
    (b"\xfe\xff", "utf-16-be"),
)
_NO_TEXT = re.compile(r"[\x00-\x08\x0b\x0e-\x1f\x7f]")
_SEPARATOR_LINE = re.compile(r"sep=(.)\r?\n?", re.IGNORECASE)


def decoded(content: bytes, name: str) -> str:
    """The text of a file: by its byte-order mark, else by its zero bytes, else UTF-8, else Windows-1252.

    Raises BadInput when it is no text in any of these.
    """
    for bom, encoding in _BOMS:
        if content.startswith(bom):
            return _strict(content[len(bom) :], encoding, name)
    even, odd = content[0:4096:2].count(0), content[1:4096:2].count(0)
    if max(even, odd) * 3 > min(len(content), 4096) // 2:
        return _strict(content, "utf-16-le" if odd > even else "utf-16-be", name)
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError:
        return _strict(content, "cp1252", name)
    return _checked(text, name)


def _strict(content: bytes, encoding: str, name: str) -> str:
    try:
        return _checked(content.decode(encoding), name)
    except UnicodeDecodeError:
        raise BadInput(
            f"{name} is not text in UTF-8, UTF-16 or Windows-1252; save it again as CSV UTF-8."
        ) from None


def _checked(text: str, name: str) -> str:
    if found := _NO_TEXT.search(text):
        raise BadInput(
            f"{name} is not a text file: it holds a control character (code {ord(found[0])});"
            " save it again as CSV UTF-8 or .xlsx."
        )
    return text


def text_sheets(content: bytes, name: str) -> list[Sheet]:
    """The sheets that a text file can be read as, one for each delimiter that goes through without error.

    Which of them makes sense as a tally is for the reader of headers to say.
    Raises BadInput when the file is no text, too big, or cannot be parted into cells at all.
    """
    text = decoded(content, name)
    delimiters: tuple[str, ...] = DELIMITERS
    start = 0
    if (said := _SEPARATOR_LINE.match(text)) and said[1] in DELIMITERS:
        delimiters, start = (said[1],), said.end()
    sheets, trouble = [], []
    for delimiter in delimiters:
        if delimiter != delimiters[0] and delimiter not in text:
            continue
        try:
            sheets.append(_parted(text[start:], delimiter, name, first_row=2 if start else 1))
        except csv.Error as error:
            trouble.append(str(error))
    if not sheets:
        raise BadInput(
            f"{name} cannot be parted into cells: {trouble[0]}; look for a quotation mark left open."
        )
    return sheets


def _parted(text: str, delimiter: str, name: str, first_row: int) -> Sheet:
    """Raises csv.Error where quotation marks do not fit the delimiter."""
    rows: list[tuple[int, tuple[Cell, ...]]] = []
    cells = 0
    lines = _Lines(text)
    for record in csv.reader(lines, delimiter=delimiter, strict=True):
        row = lines.record_start + first_row - 1
        lines.record_start = lines.count + 1
        cells += len(record)
        check_size(len(rows) + 1, len(record), cells, name)
        rows.append((row, tuple([cell.strip() for cell in record])))
    return Sheet(name, rows, from_text=True)


class _Lines(Iterator[str]):
    """The lines of a text, counting them, so that a record over several lines is found by its first."""

    def __init__(self, text: str) -> None:
        self._lines = iter(io.StringIO(text, newline=""))
        self.count = 0
        self.record_start = 1

    def __next__(self) -> str:
        self.count += 1
        if self.count > 4 * MAX_ROWS:
            raise BadInput(f"The file has more than {4 * MAX_ROWS:,} lines; split it into smaller tallies.")
        return next(self._lines)
