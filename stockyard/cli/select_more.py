"""What select tells beside one plan: other choices, and how a plan stands up to lost staves."""

from pathlib import Path
from typing import TYPE_CHECKING

import typer

from stockyard.cli.asking import problem_asked
from stockyard.cli.session import Session
from stockyard.cli.show import say, say_json, table

if TYPE_CHECKING:
    from stockyard.services.choose_plans import Choices
    from stockyard.services.problem import Asked
    from stockyard.services.put_aside import Range, Survival
    from stockyard.timber import Plan


def offer_choices(
    session: Session,
    name: str | None,
    stock: Path | None,
    job: Path | None,
    count: int,
    asked: "Asked",
    seconds: float,
) -> None:
    """Search for several good plans, keep them where there is a yard, and print them side by side."""
    from stockyard.services.choose_plans import choose_plans, choose_plans_in_yard
    from stockyard.services.problem import wishes_of

    if stock is not None:
        problem, _ = problem_asked(session, [], stock, job)
        found = choose_plans(problem, count, seconds=seconds, wishes=wishes_of(problem, asked))
        numbers: tuple[int, ...] = ()
    else:
        kept = choose_plans_in_yard(session.open_work(), name or "", count, seconds=seconds, asked=asked)
        problem, found, numbers = kept.problem, kept.choices, kept.numbers
    if session.as_json:
        from stockyard.services.choose_plans import documents_of

        documents = documents_of(found, problem)
        for number, document in zip(numbers, documents, strict=False):  # from files there are no numbers
            document["plan"] = number
        say_json({"units": found.units, "tried": found.tried, "choices": documents})
        return
    _print_choices(found, numbers, problem.stock.currency)


def _print_choices(found: "Choices", numbers: tuple[int, ...], currency: str) -> None:
    if not any(made.made for made in found.choices[0].plan.panels):
        proved = found.choices[0].plan.status.value == "infeasible"
        say("No panel can be made from this stock." if proved else "No plan was found in the time given.")
        say("`stockyard why` says what keeps boards out and panels unmade.")
        return
    table(
        (">plan" if numbers else ">no.", f">cost, {currency}", ">more", "best for"),
        (
            (
                numbers[place] if numbers else place + 1,
                f"{choice.plan.cost:,.2f}",
                f"{choice.more:,.2f}" if choice.more else "",
                ", ".join(choice.aims),
            )
            for place, choice in enumerate(found.choices)
        ),
    )
    names = [str(number) for number in numbers] or [str(n + 1) for n in range(len(found.choices))]
    table(
        ("what is counted", *(f">{'plan ' if numbers else 'no. '}{name}" for name in names)),
        (
            (unit, *(f"{choice.counts[aim]:.4g}" for choice in found.choices))
            for aim, unit in found.units.items()
        ),
    )
    for name, choice in zip(names, found.choices, strict=True):
        boards = ", ".join(cut.id for cut in choice.plan.boards)
        say(f"  {'Plan' if numbers else 'No.'} {name} cuts {boards}")
    looked = "1 plan was" if found.tried == 1 else f"{found.tried} plans were"
    say(f"{looked} looked at; none of these is bettered by another of them in cost and all counts.")


def survival(
    session: Session,
    name: str | None,
    stock: Path | None,
    job: Path | None,
    plan: "Plan",
    loss: list[str] | None,
    seconds: float,
) -> "Survival":
    """How the plan stands up to lost staves. loss: of each stave, in percent; None goes by history."""
    from stockyard.services.put_aside import losses_before, put_aside

    problem, _ = problem_asked(session, [name] if name else [], stock, job)
    history = None if stock is not None else losses_before(session.open_work())
    chance = _chances(loss or [], {board.species for board in problem.stock.boards})
    return put_aside(problem, plan, history, chance=chance, seconds=seconds)


def _chances(given: list[str], species: set[str]) -> dict[str, float] | None:
    """Chances by species from "5" (of all) and "jarrah=5"; None where nothing is given."""
    found: dict[str, float] = {}
    for text in sorted(given, key=lambda each: "=" in each):
        name, _, percent = text.rpartition("=")
        try:
            share = float(percent) / 100
        except ValueError:
            share = -1.0
        if not 0 <= share <= 0.9 or (name and name not in species):
            raise typer.BadParameter(
                f"{text!r} is no [SPECIES=]PERCENT of a species in the stock, 0 to 90", param_hint="--loss"
            )
        found |= dict.fromkeys([name] if name else species, share)
    return found or None


def print_spares(told: "Survival", plan: "Plan") -> None:
    """The chances, the spare, and what mending costs on average."""
    say()
    say(f"No stave is lost: {told.unharmed:.0%}. With its own offcuts it survives: {_between(told.alone)}.")
    if told.spare is None:
        say("No spare board was found that makes it likelier.")
    else:
        say(
            f"With {told.spare.board} put aside (worth {told.spare.value:,.2f}):"
            f" {_between(told.spare.chance)}; {len(told.spare.covers)} staves may be lost that only it mends."
        )
    say(
        f"Mending one loss at a time, the plan costs {told.expected:,.2f} {plan.currency} on average;"
        f" a loss that cannot be mended counts {told.shortfall:,.2f}."
    )
    if told.steadier is not None:
        boards = ", ".join(cut.id for cut in told.steadier.plan.boards)
        say(
            f"Another plan costs {told.steadier.plan.cost:,.2f} and {told.steadier.expected:,.2f} so: it cuts"
            f" {boards}. Have it with --prefer."
        )


def spares_document(told: "Survival") -> dict[str, object]:
    """What --spares adds to the plan in JSON."""
    steadier = told.steadier
    return {
        "unharmed": told.unharmed,
        "alone": told.alone,
        "spare": told.spare,
        "losses": told.losses,
        "expected_cost": told.expected,
        "shortfall": told.shortfall,
        "steadier": None
        if steadier is None
        else {
            "cost": steadier.plan.cost,
            "expected_cost": steadier.expected,
            "boards": [cut.id for cut in steadier.plan.boards],
        },
    }


def _between(chance: "Range") -> str:
    if chance.high - chance.low < 0.01:
        return f"{chance.low:.0%}"
    return f"{chance.low:.0%} to {chance.high:.0%}"
