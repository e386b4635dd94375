"""Every word the app shows, in one folder for each language and one file for each screen.

A text is asked for by "file.key". It may hold {names}; one that counts has `.one` and `.other`.
"""

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

from stockyard.errors import Broken

LANGUAGE = "en"


@cache
def catalogue(language: str = LANGUAGE) -> Mapping[str, str]:
    """Every text of a language by its key.

    Raises Broken for a file that says one key twice or holds something that is no text.
    """
    found: dict[str, str] = {}
    for file in sorted(files(__name__).joinpath(language).iterdir(), key=lambda each: each.name):
        if file.name.endswith(".toml"):
            stem = file.name.removesuffix(".toml")
            _gather(found, stem, tomllib.loads(file.read_text(encoding="utf-8")))
    return found


def text(key: str, language: str = LANGUAGE, **names: object) -> str:
    """The text of a key, its {names} filled in. Raises Broken when nobody wrote it."""
    try:
        return catalogue(language)[key].format(**names) if names else catalogue(language)[key]
    except KeyError as missing:
        raise Broken(f"The text {key!r} is missing ({missing}).") from None


def counted(key: str, count: int, language: str = LANGUAGE, **names: object) -> str:
    """The text of a key for so many of something, {count} filled in."""
    form = "one" if count == 1 else "other"
    return text(f"{key}.{form}", language, count=f"{count:,}", **names)


def _gather(found: dict[str, str], stem: str, table: Mapping[str, object]) -> None:
    for key, value in table.items():
        if isinstance(value, Mapping):
            _gather(found, f"{stem}.{key}", value)
        elif isinstance(value, str):
            found[f"{stem}.{key}"] = value
        else:
            raise Broken(f"{stem}.{key} is no text.")
