"""A stock: the boards that a selection may choose from."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from stockyard.timber.board import Board


@dataclass(frozen=True, slots=True)
class Stock:
    """Boards and the currency of their values.

    reserved: for boards that may not be used, why not ("promised to plan 12"); they are reported as such.
    """

    boards: tuple[Board, ...]
    currency: str = "AUD"
    reserved: Mapping[str, str] = field(default_factory=dict)
