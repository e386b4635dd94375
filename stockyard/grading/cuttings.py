"""The most clear timber that so many crosscuts and rips can take from a board: an exact search.

A cutting is a rectangle got by crosscutting or ripping or both, so every arrangement is made by cuts that go
right across a piece. One cutting is the largest clear rectangle of its piece; more are got by cutting the
piece in two and sharing the number out.

Only finitely many cuts matter. With the order of cuts fixed, the yield rises or falls evenly as a cut moves,
until it meets a defect's edge or a cutting can shrink no more; so the best place of a cut is at such an edge,
or a chain of least sizes away from one. Lengths are whole units, so nothing is rounded. Pieces whose clear
rectangles cannot together pass what is already found are left alone; that prunes without losing anything.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

Box = tuple[int, int, int, int]  # x0, y0, x1, y1 in whole units, x along the board

LIMIT = 20_000
"""Pieces measured before the search stops with what it has, some seconds' work."""


@dataclass(frozen=True, slots=True)
class LeastSize:
    """A size a cutting must have at least. [units]"""

    length: int
    width: int


@dataclass(frozen=True, slots=True)
class Cuttings:
    """Clear cuttings found. area: of them together; at_most: what no arrangement passes. [square units]"""

    boxes: tuple[Box, ...]
    area: int
    at_most: int

    @property
    def proved(self) -> bool:
        """Is there no better arrangement?"""
        return self.area == self.at_most


def largest_cuttings(
    board: Box,
    defects: Iterable[Box],
    least: Sequence[LeastSize],
    most_cuttings: int | None,
    *,
    enough: int | None = None,
    limit: int = LIMIT,
) -> Cuttings:
    """The cuttings of greatest area together, at most `most_cuttings` of them (None: as many as one likes).

    board, defects: boxes in whole units; what lies outside the board is ignored. least: a cutting has to be
    at least one of these sizes; not empty. enough: only whether this area can be reached is wanted; the
    answer then reaches it, or `at_most` is below it. limit: pieces measured before it stops unproved.
    """
    marks = tuple(defects)
    search = _Search(board, marks, least, limit)
    count = search.shared(most_cuttings)
    if count == 0:
        return Cuttings((), 0, 0)
    # Cuts at defects' edges alone are few and find most of what there is; the rest is then for the proof.
    quick = _Search(board, marks, least, limit // 4, chains=False)
    first = quick.piece(board)
    quick.solve(first, count, -1, enough)
    root = search.piece(board)
    root.open(count)
    found, boxes = first.low[count], first.cuttings(count)
    if enough is not None and found >= enough:
        return Cuttings(boxes, found, root.high[count])
    search.solve(root, count, max(found, -1 if enough is None else enough - 1), enough)
    if root.low[count] > found:
        found, boxes = root.low[count], root.cuttings(count)
    return Cuttings(boxes, found, max(found, root.high[count]))


_ENDLESS = -1
"""Stands for a number of cuttings that does not bind."""


class _Piece:
    """A rectangle with what is known of it, by number of cuttings: the best found, how, and a ceiling."""

    __slots__ = ("box", "clear", "defects", "high", "how", "low", "tops", "usable")

    def __init__(self, box: Box, defects: tuple[Box, ...], clear: list[tuple[int, Box]], usable: int) -> None:
        self.box, self.defects, self.clear, self.usable = box, defects, clear, usable
        self.low: dict[int, int] = {}
        self.high: dict[int, int] = {}
        self.how: dict[int, tuple[_Piece, int, _Piece, int]] = {}
        self.tops = [0]
        for area, _ in clear:
            self.tops.append(self.tops[-1] + area)

    def open(self, count: int) -> None:
        """Begin what is known for that number: one cutting at least, its clear rectangles at most."""
        if count in self.low:
            return
        self.low[count] = self.tops[1] if self.clear else 0
        together = self.tops[min(count, len(self.clear))] if count != _ENDLESS else self.usable
        self.high[count] = min(self.usable, together)

    def cuttings(self, count: int) -> tuple[Box, ...]:
        """The cuttings of the best arrangement found."""
        if count in self.how:
            first, ones, second, twos = self.how[count]
            return (*first.cuttings(ones), *second.cuttings(twos))
        return (self.clear[0][1],) if self.clear else ()


class _Search:
    def __init__(
        self,
        board: Box,
        defects: tuple[Box, ...],
        least: Sequence[LeastSize],
        limit: int,
        *,
        chains: bool = True,
    ) -> None:
        self.board, self.left, self.chains = board, limit, chains
        self.defects = _within(board, defects)
        # A size that asks for no less than another in both ways adds nothing.
        self.least = [
            s for s in least if not any(o != s and o.length <= s.length and o.width <= s.width for o in least)
        ]
        self.memo: dict[Box, _Piece] = {}

    def shared(self, most: int | None) -> int:
        """The number of cuttings to share out; endless when no more could fit anyway."""
        length, width = self.board[2] - self.board[0], self.board[3] - self.board[1]
        shortest = min(size.length for size in self.least)
        narrowest = min(size.width for size in self.least)
        fits = (length // shortest) * (width // narrowest)
        if fits == 0 or most == 0:
            return 0
        return _ENDLESS if most is None or most >= fits else most

    def piece(self, box: Box) -> _Piece:
        """The piece of that box, measured once."""
        known = self.memo.get(box)
        if known is None:
            defects = _within(box, self.defects)
            # Measuring a piece takes time with the cube of its defects; a very busy piece counts for many.
            self.left -= 1 + len(defects) ** 3 // 2000
            clear = [r for r in _clear_rectangles(box, defects) if self.large_enough(r)]
            measured = sorted(((_area(r), r) for r in clear), reverse=True)
            known = self.memo[box] = _Piece(box, defects, measured, covered_area(clear))
        return known

    def large_enough(self, box: Box) -> bool:
        """May it be a cutting?"""
        length, width = box[2] - box[0], box[3] - box[1]
        return any(length >= size.length and width >= size.width for size in self.least)

    def solve(self, piece: _Piece, count: int, floor: int, enough: int | None = None) -> None:
        """Raise the best and lower the ceiling until they meet, or the ceiling is no higher than `floor`."""
        piece.open(count)
        if count == 1 or piece.low[count] == piece.high[count] or piece.high[count] <= floor:
            return
        if self.left <= 0:
            return
        passed_over = 0
        shares = [(_ENDLESS, _ENDLESS)] if count == _ENDLESS else [(n, count - n) for n in range(1, count)]
        ranked: list[tuple[int, int, _Piece, int, _Piece, int]] = []
        for first, second in self.halves(piece, count):
            for ones, twos in shares:
                first.open(ones)
                second.open(twos)
                ranked.append((first.high[ones] + second.high[twos], len(ranked), first, ones, second, twos))
        if self.left <= 0:  # not every cut was looked at, so the ceiling stands where it was
            passed_over = piece.high[count]
        ranked.sort(key=lambda way: (-way[0], way[1]))
        for ceiling, _, first, ones, second, twos in ranked:
            bar = max(piece.low[count], floor)
            if ceiling <= bar:
                passed_over = max(passed_over, ceiling)
                break
            if enough is not None and piece.low[count] >= enough:
                passed_over = max(passed_over, ceiling)
                break
            self.solve(first, ones, bar - second.high[twos])
            if first.high[ones] + second.high[twos] > bar:
                self.solve(second, twos, bar - first.high[ones])
            passed_over = max(passed_over, first.high[ones] + second.high[twos])
            found = first.low[ones] + second.low[twos]
            if found > piece.low[count]:
                piece.low[count] = found
                piece.how[count] = (first, ones, second, twos)
        piece.high[count] = min(piece.high[count], max(piece.low[count], passed_over))

    def halves(self, piece: _Piece, count: int) -> Iterable[tuple[_Piece, _Piece]]:
        """The two pieces that each cut worth trying leaves, crosscuts first."""
        x0, y0, x1, y1 = piece.box
        steps = (None if count == _ENDLESS else count - 1) if self.chains else 0
        lengths, widths = {s.length for s in self.least}, {s.width for s in self.least}
        for x in _places(x0, x1, [(d[0], d[2]) for d in piece.defects], lengths, steps):
            if self.left <= 0:
                return
            yield self.piece((x0, y0, x, y1)), self.piece((x, y0, x1, y1))
        for y in _places(y0, y1, [(d[1], d[3]) for d in piece.defects], widths, steps):
            if self.left <= 0:
                return
            yield self.piece((x0, y0, x1, y)), self.piece((x0, y, x1, y1))


def _places(
    low: int, high: int, spans: Sequence[tuple[int, int]], sizes: set[int], steps: int | None
) -> list[int]:
    """Where a cut may go: at defects' edges, and chains of least sizes from them and from the ends."""
    edges = {edge for span in spans for edge in span}
    sums = _sums(sizes, high - low, steps)
    places = edges | {start + total for start in (low, *edges) for total in sums}
    places |= {end - total for end in (high, *edges) for total in sums}
    return sorted(place for place in places if low < place < high)


def _sums(sizes: set[int], most: int, steps: int | None) -> set[int]:
    """Every sum of at most so many least sizes that fits in `most`."""
    sums: set[int] = set()
    grown = {0}
    while grown and (steps is None or steps > 0):
        grown = {total + size for total in grown for size in sizes if total + size <= most} - sums
        sums |= grown
        steps = None if steps is None else steps - 1
    return sums


def _clear_rectangles(box: Box, defects: tuple[Box, ...]) -> list[Box]:
    """Every clear rectangle of a piece that can grow in no direction."""
    x0, y0, x1, y1 = box
    if not defects:
        return [box]
    found = []
    for low in {y0, *(d[3] for d in defects if d[3] < y1)}:
        for high in {y1, *(d[1] for d in defects if d[1] > y0)}:
            if high <= low:
                continue
            reached = x0
            for left, right in [
                *sorted((d[0], d[2]) for d in defects if d[1] < high and d[3] > low),
                (x1, x1),
            ]:
                if left > reached and _held(reached, left, low, high, box, defects):
                    found.append((reached, low, left, high))
                reached = max(reached, right)
    return found


def _held(left: int, right: int, low: int, high: int, box: Box, defects: tuple[Box, ...]) -> bool:
    """Is a rectangle stopped below and above, by a defect or by the piece's own edge?"""
    below = low == box[1] or any(d[3] == low and d[0] < right and d[2] > left for d in defects)
    above = high == box[3] or any(d[1] == high and d[0] < right and d[2] > left for d in defects)
    return below and above


def _within(box: Box, defects: Iterable[Box]) -> tuple[Box, ...]:
    x0, y0, x1, y1 = box
    return tuple(
        (max(a, x0), max(b, y0), min(c, x1), min(d, y1))
        for a, b, c, d in defects
        if a < x1 and c > x0 and b < y1 and d > y0
    )


def _area(box: Box) -> int:
    return (box[2] - box[0]) * (box[3] - box[1])


def covered_area(boxes: Sequence[Box]) -> int:
    """Area the boxes cover together, overlaps counted once."""
    if len(boxes) < 2:
        return sum(_area(box) for box in boxes)
    area = 0
    for left, right in pairwise(sorted({x for box in boxes for x in (box[0], box[2])})):
        reached: int | None = None
        for low, high in sorted((b[1], b[3]) for b in boxes if b[0] <= left and right <= b[2]):
            start = low if reached is None else max(low, reached)
            area += max(0, high - start) * (right - left)
            reached = max(high, start)
    return area
