"""What a count found, judged against the books: pure, and the same however much the stock moved meanwhile."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from stockyard.timber.piece import Piece
from stockyard.timber.stocktake import Scan, Size


@dataclass(frozen=True, slots=True)
class Remeasured:
    """A piece whose size on the rack is not the one in the books. [mm]"""

    number: str
    was_mm: Size
    now_mm: Size


@dataclass(frozen=True, slots=True)
class CountFindings:
    """What a count came to; all numbers sorted.

    found: where it should be. missing: expected, on hand there by the books, and not found. misplaced: found
    here, elsewhere by the books. unknown: no such piece. gone: found, though the books had ended it before.
    remeasured: some of found and misplaced. meanwhile: moved, cut or otherwise touched while the count was
    open, so that nothing is said against it.
    """

    found: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    misplaced: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()
    remeasured: tuple[Remeasured, ...] = ()
    meanwhile: tuple[str, ...] = ()


def count_findings(
    place: str,
    expected: Collection[str],
    scans: Iterable[Scan],
    pieces: Mapping[str, Piece],
    touched: Collection[str],
) -> CountFindings:
    """Judge a count of `place`.

    expected: what stood there when it began. scans: in the order they were read. pieces: all of those as they
    stand now, where they exist. touched: those of `expected` that came, went or were moved since it began.
    """
    placed, sized = _standing(scans)
    kinds: dict[str, list[str]] = {name: [] for name in CountFindings.__dataclass_fields__}
    for number, scan in placed.items():
        kinds[_kind_of(place, scan, pieces.get(number))].append(number)
    for number in set(expected) - placed.keys():
        piece = pieces[number]
        there = piece.on_hand and piece.place == place and number not in touched
        kinds["missing" if there else "meanwhile"].append(number)
    remeasured = [
        Remeasured(number, was, scan.size_mm)
        for number, scan in sorted(sized.items())
        if (was := _size_to_correct(scan, pieces.get(number))) is not None and scan.size_mm is not None
    ]
    listed = {name: tuple(sorted(numbers)) for name, numbers in kinds.items() if name != "remeasured"}
    return CountFindings(**listed, remeasured=tuple(remeasured))


def _standing(scans: Iterable[Scan]) -> tuple[dict[str, Scan], dict[str, Scan]]:
    """By number the newest reading that stands, and the newest with a size; neither where taken back."""
    placed: dict[str, Scan] = {}
    sized: dict[str, Scan] = {}
    for scan in scans:
        if not scan.counted:
            placed.pop(scan.number, None)
            sized.pop(scan.number, None)
            continue
        placed[scan.number] = scan
        if scan.size_mm is not None:
            sized[scan.number] = scan
    return placed, sized


def _kind_of(place: str, scan: Scan, piece: Piece | None) -> str:
    if piece is None:
        return "unknown"
    seen = scan.seen
    if not piece.on_hand:
        return "meanwhile" if seen is not None and seen.on_hand else "gone"
    if piece.place == place or seen is None or not seen.on_hand or seen.place == place:
        return "found"
    # Elsewhere by the books when it was read; if they have moved it since, theirs is the later word.
    return "misplaced" if piece.place == seen.place else "meanwhile"


def _size_to_correct(scan: Scan, piece: Piece | None) -> Size | None:
    """The size in the books that a measurement corrects, or None where it says the same or was overtaken."""
    if piece is None or not piece.on_hand:
        return None
    now = (piece.length_mm, piece.width_mm, piece.thickness_mm)
    overtaken = scan.seen is not None and scan.seen.size_mm != now
    return None if overtaken or now == scan.size_mm else now
