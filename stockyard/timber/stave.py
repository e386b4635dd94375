"""A stave: one strip of a panel, as it is to be cut from one board and laid."""

from dataclasses import dataclass
from decimal import Decimal

from stockyard.timber.defect import Face
from stockyard.timber.window import Window


@dataclass(frozen=True, slots=True)
class Treatment:
    """A defect inside a stave that is to be stabilised or filled, with what and at what cost."""

    defect: str
    method: str
    cost: Decimal


@dataclass(frozen=True, slots=True)
class Stave:
    """Where a stave comes from and how it lies in its panel.

    board: the board's id. show: the face seen, A or B. turned: laid end for end.
    finished, rough: windows in the board frame. accept: ids of the defects left as they are.
    """

    board: str
    show: Face
    turned: bool
    finished: Window
    rough: Window
    treat: tuple[Treatment, ...] = ()
    accept: tuple[str, ...] = ()
