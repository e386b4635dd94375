"""Dated copies of a yard in a folder, the newest of them kept."""

import re
import shutil
from datetime import datetime
from pathlib import Path

from stockyard.errors import BadInput
from stockyard.records.backup import back_up
from stockyard.records.connect import yard_url


def back_up_keeping(
    place: str | Path | None, folder: Path, keep: int, now: datetime
) -> tuple[Path, tuple[Path, ...]]:
    """Copy an SQLite yard into the folder under a dated name, then let go of all but the newest `keep`.

    Only copies of a yard of the same name are let go, with their pictures, and never the new one, whatever
    the clock says. Returns the new one and those let go. Raises as `back_up` does; then nothing is let go.
    """
    if keep < 1:
        raise BadInput(f"--keep: expected 1 or more copies, found {keep}.")
    if folder.exists() and not folder.is_dir():
        raise BadInput(f"{folder} is a file; with --keep copies go into a folder.")
    stem = Path(yard_url(place).database or "yard").stem
    copy = back_up(place, folder / f"{stem}-{now:%Y%m%d-%H%M%S}.db")
    dated = re.compile(re.escape(stem) + r"-\d{8}-\d{6}\.db")
    others = sorted(each for each in folder.iterdir() if dated.fullmatch(each.name) and each != copy)
    let_go = tuple(others[: max(0, len(others) - keep + 1)])
    try:
        for each in let_go:
            # The file first: one whose pictures are gone would still be taken for a copy.
            each.unlink(missing_ok=True)
        left = re.compile(dated.pattern + r"\.pictures")
        for each in folder.iterdir():
            if left.fullmatch(each.name) and not each.with_name(each.stem).exists():
                shutil.rmtree(each)
    except OSError as error:
        raise BadInput(
            f"The copy is in {copy}, but an older one cannot be let go: {error.strerror or error}."
        ) from None
    return copy, let_go
