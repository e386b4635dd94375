"""Every parser that is fed from outside, sound documents to begin from, and ways to spoil them."""

import io
import json
import random
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from PIL import Image

from stockyard.errors import BadInput
from stockyard.grading.appearance_rules import read_rules
from stockyard.measures.date_text import parse_date
from stockyard.measures.length import parse_length
from stockyard.measures.money_text import parse_amount, parse_price
from stockyard.measures.number import parse_number
from stockyard.measures.quantity import parse_quantity
from stockyard.moisture.logger import read_logger
from stockyard.photos.decode import decode
from stockyard.selection.interchange.job_file import read_job
from stockyard.selection.interchange.stock_file import read_stock
from stockyard.services.price_list import read_price_list
from stockyard.tally import read_tally
from stockyard.timber.provenance import Provenance
from stockyard.web.hand_lines import lines_in

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "stockyard" / "services" / "demo_yard"

Feed = Callable[[bytes], object]


@dataclass(frozen=True)
class Parser:
    """feed: raises BadInput for what it refuses, and nothing else. seeds: what it takes, to be spoiled."""

    feed: Feed
    seeds: tuple[bytes, ...]
    words: tuple[bytes, ...] = ()


def _text(read: Callable[[str], object]) -> Feed:
    return lambda content: read(content.decode("utf-8", "replace"))


def _files(folder: str) -> tuple[bytes, ...]:
    return tuple(path.read_bytes() for path in sorted((DEMO / folder).iterdir()) if path.is_file())


def _told(name: str) -> bytes:
    """The interchange document of that name that README shows."""
    for block in re.findall(
        r"^```json\n(.*?)^```", (ROOT / "README.md").read_text(), re.MULTILINE | re.DOTALL
    ):
        if json.loads(block)["format"].startswith(f"stockyard.{name}/"):
            return str(block).encode()
    raise AssertionError(f"README shows no {name}")


def _picture(kind: str) -> bytes:
    made = io.BytesIO()
    Image.linear_gradient("L").resize((260, 250)).convert("RGB").save(made, kind)
    return made.getvalue()


def _short(*texts: str) -> tuple[bytes, ...]:
    return tuple(text.encode() for text in texts)


def _provenance(text: str) -> object:
    try:
        told = json.loads(text)
    except (ValueError, RecursionError):
        return None  # what is no JSON never comes to it
    return Provenance.from_json(told) if isinstance(told, dict) else None


_NUMBERS = _short("-", "NaN", "inf", "1e999", "9" * 40, "0." + "0" * 40 + "1", "٣", "½", "−1", "\x00", "1_0")
_SHEET = (
    _short(",", "\r", ";", "\t", '"', "\r\n", "\n\n", "\ufeff", "=1+1", "total", "mm", "$", "@") + _NUMBERS
)
_JSON = _short("{", "}", "[", "]", '"', ":", ",", "null", "true", "1e400", "-0", "NaN", "[" * 50, "\\ud800")

PARSERS: Mapping[str, Parser] = {
    "tally, text": Parser(
        lambda content: read_tally(content, "tally.csv"),
        tuple(each for each in _files("tallies") if not each.startswith(b"PK")),
        _SHEET,
    ),
    "tally, workbook": Parser(
        lambda content: read_tally(content, "tally.xlsx"),
        tuple(each for each in _files("tallies") if each.startswith(b"PK")),
        _short("PK", "<v>", "</c>", 't="s"', "&#0;", "<!DOCTYPE x [<!ENTITY a 'b'>]>"),
    ),
    "climate log": Parser(
        lambda content: read_logger(content, "Australia/Melbourne"), _files("climate"), _SHEET
    ),
    "stock": Parser(_text(read_stock), (_told("stock"),), _JSON + _NUMBERS),
    "job": Parser(_text(read_job), (_told("job"), *_files("jobs")), _JSON + _NUMBERS),
    "price list": Parser(read_price_list, ((DEMO / "prices.csv").read_bytes(),), _SHEET),
    "appearance rules": Parser(
        _text(lambda text: read_rules(text, "rules.csv")),
        tuple(path.read_bytes() for path in (ROOT / "stockyard" / "grading").rglob("appearance_*.csv")),
        _SHEET,
    ),
    "picture": Parser(
        lambda content: decode(content, max_pixels=2_000_000),
        tuple(map(_picture, ("JPEG", "PNG", "WEBP", "TIFF"))),
        _short("Exif\0\0", "MM\0*", "II*\0", "IHDR", "\xff\xd8", "\xff\xe1"),
    ),
    "provenance": Parser(
        _text(_provenance),
        _short('{"supplier": "Mill", "quantity": "2.5", "invoice_date": "2026-01-02", "documents": ["a"]}'),
        _JSON + _NUMBERS,
    ),
    "lines by hand": Parser(
        _text(lines_in),
        _short("blackbutt,2100,120,25,1,,piece,\nspotted gum,2400,180,32,2,48.00,piece,a note\n"),
        _SHEET,
    ),
    "length": Parser(
        _text(parse_length), _short("2400 mm", "2.4 m", "8'6\"", "8 ft 6 1/2 in", "1½ in", "2,4m"), _NUMBERS
    ),
    "number": Parser(_text(parse_number), _short("1,234.5", "1.234,5", "12", "3.5"), _NUMBERS),
    "money": Parser(
        _text(lambda text: parse_amount(text, "AUD")),
        _short("$1,234.50", "(12.00)", "12.00-", "AUD 3"),
        _NUMBERS,
    ),
    "price": Parser(_text(lambda text: parse_price(text, "AUD")), _short("$5.25", "0.123456"), _NUMBERS),
    "quantity": Parser(
        _text(lambda text: parse_quantity(text, "g")), _short("4kg", "250 g", "1,000.5", "3"), _NUMBERS
    ),
    "day": Parser(
        _text(parse_date), _short("2026-11-24", "24/11/2026", "24 Nov 2026"), _short("0000", "99", "Feb", "٣")
    ),
}


def spoiled(parser: Parser, chance: random.Random) -> bytes:
    """A sound document with some of it cut out, doubled, overwritten or put elsewhere; now and then noise."""
    if chance.random() < 0.05:
        return chance.randbytes(chance.randint(0, 200))
    content = bytearray(chance.choice(parser.seeds))
    for _ in range(chance.choice((1, 1, 1, 2, 3, 6))):
        at, size = chance.randint(0, len(content)), chance.choice((1, 1, 2, 4, 20))
        how = chance.randrange(6)
        if how == 0:
            del content[at : at + size]
        elif how == 1:
            content[at:at] = content[at : at + size] * chance.choice((1, 2, 30))
        elif how == 2:
            content[at : at + size] = chance.randbytes(size)
        elif how == 3 and content:
            content[min(at, len(content) - 1)] ^= 1 << chance.randrange(8)
        elif how == 4:
            begin = chance.randint(0, len(content))
            content[at:at] = content[begin : begin + size]
        elif parser.words:
            content[at : at + chance.choice((0, size))] = chance.choice(parser.words)
    return bytes(content)


def crash(parser: Parser, content: bytes) -> BaseException | None:
    """What a parser raises that it should not; None where it reads or refuses the document."""
    try:
        parser.feed(content)
    except BadInput:
        return None
    except Exception as error:
        return error
    return None
