"""What commands that ask about a job share: the job and stock they are asked of, and their options."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.session import Session, bytes_of

if TYPE_CHECKING:
    from stockyard.services.problem import Asked, Problem

StockOption = Annotated[Path | None, typer.Option(help="Instead of the yard: a stockyard.stock/1 file.")]
JobOption = Annotated[Path | None, typer.Option(help="With --stock: a stockyard.job/1 file.")]
SecondsOption = Annotated[float, typer.Option(min=0.1, max=86_400, help="Search at most so long.")]
PinOption = Annotated[
    list[str] | None, typer.Option(metavar="BOARD:PANEL", help="Use this board in this panel.")
]
ForbidOption = Annotated[list[str] | None, typer.Option(metavar="BOARD", help="Leave this board alone.")]
PreferOption = Annotated[
    list[str] | None,
    typer.Option(metavar="BOARD[=AMOUNT]", help="As if it were paid for already, or cost so much less."),
]


def asked_of(pin: list[str] | None, forbid: list[str] | None, prefer: list[str] | None) -> "Asked":
    """The wishes that these options word."""
    from stockyard.services.problem import Asked

    return Asked(tuple(pin or ()), tuple(forbid or ()), tuple(prefer or ()))


def problem_asked(
    session: Session, names: list[str], stock: Path | None, job: Path | None
) -> "tuple[Problem, list[str]]":
    """The problem of a command whose first word is a kept job unless files are given, and the words left."""
    from stockyard.services.problem import problem_from_files, problem_in_yard

    if stock is not None and job is not None:
        return problem_from_files(bytes_of(stock), bytes_of(job)), names
    if stock is not None or job is not None:
        raise typer.BadParameter("give both --stock and --job, or a kept job's id")
    if not names:
        raise typer.BadParameter("give a kept job's id, or both --stock and --job")
    return problem_in_yard(session.open_work(), names[0]), names[1:]
