"""Boards that might be bought, drawn like those that were bought before, or by rates that are given.

A board is drawn from one past board, taken at random: its bend, colour and heart are taken along, and its
flaws, as many more or fewer as the areas differ, each of its own size at a random place. Given rates are per
square metre of face; how many there are follows a Poisson distribution. A board is taken to be dried before
it is used, unless the offer says how wet it will be.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from math import exp
from random import Random

from stockyard.geometry.piece import clipped_defect, distortion_of_piece
from stockyard.timber import Board, Defect, DefectKind, Face, Window


@dataclass(frozen=True, slots=True)
class FlawRate:
    """How often a kind of flaw is met. per_m2: on a board's area, >= 0. length_mm, width_mm: of each, > 0."""

    kind: DefectKind
    per_m2: float
    length_mm: float
    width_mm: float
    through: bool = True


@dataclass(frozen=True, slots=True)
class Offer:
    """One line of a price list. price: of one board. available: how many, None where not limited.

    flaws: expected ones, None to go by what was bought before. moisture_pct: None where it is dried first.
    """

    line: int
    supplier: str
    species: str
    length_mm: float
    width_mm: float
    thickness_mm: float
    price: Decimal
    available: int | None = None
    flaws: tuple[FlawRate, ...] | None = None
    moisture_pct: float | None = None


@dataclass(frozen=True)
class History:
    """Boards bought before, by species and supplier."""

    boards: Mapping[tuple[str, str], Sequence[Board]]

    def like(self, offer: Offer) -> tuple[Sequence[Board], str]:
        """The past boards an offer is judged by, and whose they are, in words.

        Those of its species and supplier; where there are none, those of its species; else none.
        """
        own = self.boards.get((offer.species, offer.supplier), ())
        if own:
            return own, f"{len(own)} boards of {offer.species} from {offer.supplier}"
        of_species = [
            board
            for (species, _), boards in self.boards.items()
            for board in boards
            if species == offer.species
        ]
        return of_species, f"{len(of_species)} boards of {offer.species} from any supplier"


def board_like(offer: Offer, history: History, name: str, random: Random, *, dry_pct: float) -> Board:
    """One board of an offer, drawn at random. dry_pct: its moisture where it is dried first."""
    past, _ = history.like(offer)
    model = random.choice(list(past)) if past else None
    board = Board(
        id=name,
        species=offer.species,
        length_mm=offer.length_mm,
        width_mm=offer.width_mm,
        thickness_mm=offer.thickness_mm,
        value=offer.price,
        moisture_pct=dry_pct,
    )
    if model is not None:
        board = replace(
            board,
            heart_face=model.heart_face,
            colour_a=model.colour_a,
            colour_b=model.colour_b,
            distortion=distortion_of_piece(
                model.distortion, model.length_mm, model.width_mm, offer.length_mm, offer.width_mm
            ),
        )
    if offer.moisture_pct is not None:
        board = replace(board, moisture_pct=offer.moisture_pct)
    flaws = _by_rates(board, offer.flaws, random) if offer.flaws is not None else _like(board, model, random)
    return replace(board, defects=tuple(flaws))


def _like(board: Board, model: Board | None, random: Random) -> list[Defect]:
    if model is None:
        return []
    share = board.length_mm * board.width_mm / (model.length_mm * model.width_mm)
    found: list[Defect] = []
    for defect in model.defects:
        times = int(share) + (random.random() < share - int(share))
        for _ in range(times):
            found += _placed(board, defect, len(found), random)
    return found


def _by_rates(board: Board, rates: Sequence[FlawRate], random: Random) -> list[Defect]:
    area_m2 = board.length_mm * board.width_mm / 1e6
    found: list[Defect] = []
    for rate in rates:
        x, y = rate.length_mm, rate.width_mm
        shape = ((0.0, 0.0), (x, 0.0), (x, y), (0.0, y))
        for _ in range(poisson(rate.per_m2 * area_m2, random)):
            face = Face.BOTH if rate.through else random.choice((Face.A, Face.B))
            found += _placed(board, Defect("", rate.kind, face, shape), len(found), random)
    return found


def _placed(board: Board, defect: Defect, number: int, random: Random) -> tuple[Defect, ...]:
    """The flaw somewhere on the board, any place as likely; what of it reaches over an edge is left out."""
    low_x, low_y = min(x for x, _ in defect.outline), min(y for _, y in defect.outline)
    long = max(x for x, _ in defect.outline) - low_x
    wide = max(y for _, y in defect.outline) - low_y
    to_x = random.uniform(0, max(0.0, board.length_mm - long)) - low_x
    to_y = random.uniform(0, max(0.0, board.width_mm - wide)) - low_y
    outline = tuple((round(x + to_x, 1), round(y + to_y, 1)) for x, y in defect.outline)
    whole = Window(0, 0, int(board.length_mm), int(board.width_mm))
    return clipped_defect(replace(defect, id=f"{board.id}/{number + 1}", outline=outline), whole)


def poisson(mean: float, random: Random) -> int:
    """A Poisson number, by multiplying uniform ones until they fall below exp(-mean). mean: 0 to 500."""
    left, count = exp(-mean), 0
    product = random.random()
    while product > left:
        product *= random.random()
        count += 1
    return count
