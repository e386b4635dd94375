"""plan again: around a stave that was spoiled or a board that is no good, changing as little as possible."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.asking import JobOption, SecondsOption, StockOption
from stockyard.cli.plan_text import print_plan
from stockyard.cli.plans import plans
from stockyard.cli.session import bytes_of, session_of
from stockyard.cli.show import say, say_json

if TYPE_CHECKING:
    from stockyard.services.plan_again import Again


@plans.command(
    "again",
    short_help="Plan again around a spoiled stave or a board left out.",
    epilog="Example: stockyard plan again 3 --spoiled top/2",
)
def again(
    context: typer.Context,
    number: Annotated[int | None, typer.Argument(metavar="[PLAN]", help="The plan's number.")] = None,
    spoiled: Annotated[
        list[str] | None, typer.Option(metavar="PANEL/STAVE", help="A stave that was lost, counted from 1.")
    ] = None,
    without: Annotated[
        list[str] | None, typer.Option(metavar="BOARD", help="A board of the plan that cannot be used.")
    ] = None,
    cut: Annotated[
        list[str] | None, typer.Option(metavar="BOARD", help="With --plan: a board that is cut already.")
    ] = None,
    plan: Annotated[Path | None, typer.Option(help="Instead of the yard: a stockyard.plan/1 file.")] = None,
    stock: StockOption = None,
    job: JobOption = None,
    seconds: SecondsOption = 15.0,
) -> None:
    """Plan again around what was lost: sound staves stay, boards not cut yet stay, and the change is counted.

    Staves booked as spoiled by `stockyard cut` need not be named. What is to be cut now is kept as a plan.
    """
    from stockyard.services.plan_again import plan_again_from_files, plan_again_in_yard

    session = session_of(context)
    lost = [_place(text) for text in spoiled or ()]
    if plan is not None and stock is not None and job is not None and number is None:
        found = plan_again_from_files(
            bytes_of(plan),
            bytes_of(stock),
            bytes_of(job),
            spoiled=lost,
            without=without or (),
            cut=cut or (),
            seconds=seconds,
        )
        kept = None
    elif number is not None and plan is None and stock is None and job is None:
        again_kept = plan_again_in_yard(
            session.open_work(), number, spoiled=lost, without=without or (), seconds=seconds
        )
        found, kept = again_kept.again, again_kept.number
    else:
        raise typer.BadParameter("give either a plan's number, or all of --plan, --stock and --job")
    if session.as_json:
        say_json({"plan": kept, **_document(found)})
        return
    _say(found)
    print_plan(found.plan, {board.id: board for board in found.stock.boards})
    if kept is not None:
        say(f"What is to be cut now is kept as plan {kept}; promise it with `stockyard allocate {kept}`.")


def _place(text: str) -> tuple[str, int]:
    panel, _, stave = text.rpartition("/")
    if not panel or not stave.isdecimal() or int(stave) < 1:
        raise typer.BadParameter(f"{text!r} is no PANEL/STAVE, such as top/2", param_hint="--spoiled")
    return panel, int(stave) - 1


def _say(found: "Again") -> None:
    say(f"{found.reach.value[0].upper()}{found.reach.value[1:]}.")
    staves = f"{len(found.new)} staves are" if len(found.new) != 1 else "1 stave is"
    say(f"{staves} cut anew, {found.moved} of them only moved; {len(found.kept)} sound ones stay.")
    if found.added:
        say(f"What comes in: {'; '.join(found.added)}.")
    if found.dropped:
        say(f"Boards that stay whole after all: {', '.join(found.dropped)}.")
    more = "more" if found.adds >= 0 else "less"
    say(f"In all it costs {abs(found.adds):,.2f} {found.plan.currency} {more} than the plan before.")


def _document(found: "Again") -> dict[str, object]:
    from stockyard.services.plan_again import document_of

    return {
        "reach": found.reach,
        "new": [{"panel": panel, "stave": place + 1} for panel, place in found.new],
        "moved": found.moved,
        "kept": [{"panel": b.panel, "stave": b.place + 1, "board": b.parent} for b in found.kept],
        "added": found.added,
        "dropped": found.dropped,
        "adds": found.adds,
        "parts": found.parts,
        "document": document_of(found),
    }
