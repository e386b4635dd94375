"""JSON text into plain values: amounts exact, repeated keys in sight, odd files answered in a sentence."""

import gc
import json
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from decimal import Decimal
from typing import Any

from stockyard.errors import BadInput

Source = str | bytes | Mapping[str, Any]

LARGEST_BYTES = 1_000_000_000
"""Far above the 100 MB of 50,000 mapped boards. A working choice with no source."""


class Repeated(dict[str, Any]):
    """An object in which a key stood more than once."""

    keys_repeated: tuple[str, ...] = ()


def load(source: Source, name: str) -> Any:
    """The value of a JSON document, its fractions as Decimal; a mapping is taken as it is.

    name: what the document is called in a message, such as "The stock file".
    Raises BadInput when it is not JSON in UTF-8, or too large or too deeply nested to be read.
    """
    if isinstance(source, Mapping):
        return source
    if len(source) > LARGEST_BYTES:
        raise BadInput(f"{name} is larger than {LARGEST_BYTES // 1_000_000} MB; it cannot be one.")
    try:
        text = source.decode("utf-8-sig") if isinstance(source, bytes) else source.removeprefix("\ufeff")
    except UnicodeDecodeError as error:
        raise BadInput(
            f"{name} is not text in UTF-8 (byte {error.start} fits none); save it as UTF-8."
        ) from None
    try:
        return json.loads(text, parse_float=Decimal, object_pairs_hook=_object)
    except json.JSONDecodeError as error:
        place = f"line {error.lineno}, column {error.colno}"
        raise BadInput(f"{name} is not JSON: {error.msg} at {place}.") from None
    except RecursionError:
        raise BadInput(f"{name} is nested too deeply to be read.") from None
    except ValueError:
        raise BadInput(f"{name} holds a number with thousands of digits.") from None


@contextmanager
def many_values() -> Iterator[None]:
    """Reads without the cycle collector, which would walk a large stock's values over and over."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) == len(pairs):
        return found
    seen: set[str] = set()
    again: list[str] = []
    for key, _ in pairs:
        if key in seen:
            again.append(key)
        seen.add(key)
    repeated = Repeated(found)
    repeated.keys_repeated = tuple(again)
    return repeated
