"""why, suits: what keeps boards out and panels unmade, and what using each board would add."""

from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.app import app
from stockyard.cli.asking import (
    ForbidOption,
    JobOption,
    PinOption,
    PreferOption,
    SecondsOption,
    StockOption,
    asked_of,
    problem_asked,
)
from stockyard.cli.session import session_of
from stockyard.cli.show import say, say_json, table

if TYPE_CHECKING:
    from stockyard.services.ask_why import Conflict, Remedy, WhyNot
    from stockyard.services.rank_boards import Suits


@app.command(
    short_help="Say why a board is out, or a panel cannot be made.",
    epilog="Example: stockyard why hall-bench SG-0011",
)
def why(
    context: typer.Context,
    names: Annotated[
        list[str], typer.Argument(metavar="JOB BOARD_OR_PANEL", help="A kept job, and what to ask about.")
    ],
    stock: StockOption = None,
    job: JobOption = None,
    seconds: SecondsOption = 20.0,
) -> None:
    """Say every reason that keeps a board out of a job's panels, or why a panel cannot be made.

    Each reason is tested by lifting it, and each change told has been tried. With --stock and --job, only the
    board or panel is named.
    """
    from stockyard.services.ask_why import why_board, why_panel

    session = session_of(context)
    problem, rest = problem_asked(session, names, stock, job)
    if len(rest) != 1:
        raise typer.BadParameter("give one board or one panel of the job")
    if rest[0] in {panel.id for panel in problem.job.panels}:
        conflict = why_panel(problem, rest[0], seconds=seconds)
        if session.as_json:
            say_json({"panel": rest[0], "made": conflict is None, **_conflict_document(conflict)})
        else:
            _say_conflict(rest[0], conflict)
        return
    found = why_board(problem, rest[0])
    if session.as_json:
        say_json(found)
    else:
        say(f"Board {rest[0]}")
        for each in found:
            _say_board(each)


@app.command(
    short_help="Rank boards by what using each adds to the plan.",
    epilog="Example: stockyard suits hall-bench shelf --seconds 20",
)
def suits(
    context: typer.Context,
    names: Annotated[list[str], typer.Argument(metavar="JOB PANEL", help="A kept job, and its panel.")],
    stock: StockOption = None,
    job: JobOption = None,
    pin: PinOption = None,
    forbid: ForbidOption = None,
    prefer: PreferOption = None,
    seconds: SecondsOption = 20.0,
) -> None:
    """Rank the boards that suit a panel by what using each would add to the best plan, found by searching.

    Boards that do not suit follow, the nearest first, with the least change that would let them in. With
    --stock and --job, only the panel is named.
    """
    from stockyard.services.problem import wishes_of
    from stockyard.services.rank_boards import rank_boards

    session = session_of(context)
    problem, rest = problem_asked(session, names, stock, job)
    if len(rest) != 1:
        raise typer.BadParameter("give one panel of the job")
    wishes = wishes_of(problem, asked_of(pin, forbid, prefer))
    found = rank_boards(problem, rest[0], seconds=seconds, wishes=wishes)
    if session.as_json:
        say_json(_suits_document(found))
    else:
        _say_suits(found, problem.stock.currency)


def told(remedy: "Remedy") -> str:
    """A remedy as a person reads it: "12 mm too short and suits if max_length ... were 180 mm"."""
    facts = [change.detail for change in remedy.changes if not change.detail.startswith("if ")]
    ifs = [change.detail for change in remedy.changes if change.detail.startswith("if ")]
    wished = "suits " + " and ".join(ifs) if ifs else ""
    return ", ".join([*facts, *([wished] if wished else [])])


def _say_board(each: "WhyNot") -> None:
    if not each.obstacles:
        say(f"  {each.panel}: suits")
        return
    say(f"  {each.panel}: " + "; ".join(obstacle.detail for obstacle in each.obstacles))
    for remedy in each.remedies:
        say(f"      {told(remedy)}")


def _say_conflict(panel: str, conflict: "Conflict | None") -> None:
    if conflict is None:
        say(f"Panel {panel} can be made beside those that go before it.")
        return
    panels = [demand.detail for demand in conflict.demands if demand.what == "panel"]
    if not conflict.proved:
        say(f"No way to make {' and '.join(panels) or panel} was found in time; that proves nothing.")
    elif panels:
        say(f"Panels {' and '.join(panels)} cannot all be made from this stock.")
    else:
        say(f"Panel {panel} cannot be made from this stock.")
    if conflict.demands and not panels:
        say("These were not met together, and would be with any one of them given up:")
        for demand in conflict.demands:
            say(f"  {demand.detail}")
    if conflict.relaxations:
        say("It can be made, each of these tried:")
        for relaxation in conflict.relaxations:
            say("  " + " and ".join(change.detail for change in relaxation.changes))
    if not conflict.complete:
        say("Time ran out before everything was tried; give it more --seconds.")


def _conflict_document(conflict: "Conflict | None") -> dict[str, object]:
    if conflict is None:
        return {}
    return {
        "demands": conflict.demands,
        "proved": conflict.proved,
        "complete": conflict.complete,
        "relaxations": [each.changes for each in conflict.relaxations],
    }


def _say_suits(found: "Suits", currency: str) -> None:
    made = {each.id for each in found.best.panels if each.made}
    if found.panel in made:
        say(f"Panel {found.panel}; the best plan costs {found.best.cost:,.2f} {currency}.")
        unmade = [each.id for each in found.best.panels if not each.made]
        if unmade:
            say(f"It does not make {' and '.join(unmade)}; more --seconds may find one that does.")
    else:
        say(f"No plan that makes {found.panel} was found, so what a board adds is not known. It suits:")
        say(f"  {', '.join(each.board for each in found.suited) or 'none'}")
    if found.suited and found.panel in made:
        table(
            ("board", ">adds", ">at least", "known"),
            (
                (
                    each.board,
                    "" if each.adds is None else f"{each.adds:,.2f}",
                    f"{each.at_least:,.2f}",
                    "exactly" if each.proved else "at most" if each.adds is not None else "no plan found yet",
                )
                for each in found.suited
            ),
        )
    foreign = [each.board for each in found.unsuited if any(o.why == "species" for o in each.obstacles)]
    for each in found.unsuited:
        if each.board in foreign:
            continue
        why_not = "; ".join(obstacle.detail for obstacle in each.obstacles)
        least = f" ({told(each.remedies[0])})" if each.remedies else ""
        say(f"  {each.board}: {why_not}{least}")
    if foreign:
        say(f"Of another species: {', '.join(sorted(foreign))}.")


def _suits_document(found: "Suits") -> dict[str, object]:
    return {
        "panel": found.panel,
        "best": found.best.cost,
        "proof": found.best.status,
        "suited": [
            {"board": s.board, "adds": s.adds, "at_least": s.at_least, "proved": s.proved}
            for s in found.suited
        ],
        "unsuited": found.unsuited,
    }
