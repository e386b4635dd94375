"""Write only while a board is as it was when it was read: nobody writes over what they have not seen."""

from typing import TYPE_CHECKING, Any, cast

from stockyard.errors import ChangedMeanwhile

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork


def mark_of(open_work: "OpenWork", number: str) -> str:
    """What tells this state of a board, its map, readings and movements included, from every other.

    Raises NotFound.
    """
    with open_work(reading=True) as work:
        return work.rack.mark(number)


def if_unchanged(open_work: "OpenWork", number: str, marks: tuple[str, ...]) -> "OpenWork":
    """The same yard for one service call, which raises ChangedMeanwhile where the board has another mark.

    The board is held from the comparison until the service is done. Raises NotFound.
    """

    def open_if(*, reading: bool = False, **more: Any) -> "UnitOfWork":
        work = open_work(reading=reading, **more)
        return work if reading else cast("UnitOfWork", _Held(work, number, marks))

    return open_if


class _Held:
    """A unit of work that looks at the board before anything else is done in it."""

    def __init__(self, work: "UnitOfWork", number: str, marks: tuple[str, ...]) -> None:
        self._work, self._number, self._marks = work, number, marks

    def __enter__(self) -> "UnitOfWork":
        work = self._work.__enter__()
        try:
            work.pieces.lock([self._number])
            if work.rack.mark(self._number) not in self._marks:
                raise ChangedMeanwhile(
                    f"{self._number} has been changed since you read it; look at it again, then do it again."
                )
        except BaseException as error:
            self._work.__exit__(type(error), error, error.__traceback__)
            raise
        return work

    def __exit__(self, *raised: Any) -> None:
        self._work.__exit__(*raised)
