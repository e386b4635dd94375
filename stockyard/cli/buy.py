"""buy: the cheapest purchase that completes a job as likely as is asked."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.app import app
from stockyard.cli.asking import JobOption, SecondsOption, StockOption, problem_asked
from stockyard.cli.session import bytes_of, session_of
from stockyard.cli.show import say, say_json, size, table

if TYPE_CHECKING:
    from stockyard.services.what_to_buy import Purchase


@app.command(
    short_help="Say what to buy where stock falls short of a job.",
    epilog="Example: stockyard buy hall-bench --prices prices.csv --chance 90 --seconds 60",
)
def buy(
    context: typer.Context,
    name: Annotated[str | None, typer.Argument(metavar="[JOB]", help="A job kept in the yard.")] = None,
    prices: Annotated[
        Path | None,
        typer.Option(help="CSV: species, length, width, thickness, price; supplier, available, flaws."),
    ] = None,
    stock: StockOption = None,
    job: JobOption = None,
    chance: Annotated[
        float, typer.Option(min=1, max=100, metavar="PERCENT", help="How likely the job is to be made.")
    ] = 90.0,
    trials: Annotated[int, typer.Option(min=5, max=100_000, help="Random draws for each purchase.")] = 60,
    seed: Annotated[int, typer.Option(help="The same seed gives the same draws.")] = 1,
    seconds: SecondsOption = 60.0,
) -> None:
    """Say the cheapest purchase from a price list that makes what the stock cannot, as likely as is asked.

    Boards are drawn at random like those bought before from the same supplier, or by the flaws that the price
    list states ("crack 0.8 150x4": so many to a square metre, of that size).
    """
    from stockyard.services.what_to_buy import bought_before, read_price_list, what_to_buy

    session = session_of(context)
    if prices is None:
        raise typer.BadParameter("give --prices, a CSV of boards that can be had")
    offers = read_price_list(bytes_of(prices))
    problem, _ = problem_asked(session, [name] if name else [], stock, job)
    history = None if stock is not None else bought_before(session.open_work())
    found = what_to_buy(
        problem, offers, history, chance=chance / 100, trials=trials, seconds=seconds, seed=seed
    )
    if session.as_json:
        say_json(_document(found, problem.stock.currency))
    else:
        _say(found, problem.stock.currency, chance)


def _say(found: "Purchase", currency: str, asked: float) -> None:
    if not found.lacking:
        say("Nothing needs to be bought: the stock makes every panel.")
        return
    say(f"The stock does not make: {', '.join(found.lacking)}.")
    if not found.lines:
        say("No purchase was found in the time given that would do; give it more --seconds.")
        return
    table(
        (">boards", "species", "size, mm", "from", ">each", "flaws drawn from"),
        (
            (
                each.count,
                each.offer.species,
                size(each.offer.length_mm, each.offer.width_mm, each.offer.thickness_mm),
                each.offer.supplier,
                f"{each.offer.price:,.2f}",
                each.like,
            )
            for each in found.lines
        ),
    )
    chance = found.chance
    say(f"Together {found.price:,.2f} {currency}.")
    say(
        f"They complete the job in {chance.good} of {chance.trials} fresh trials, {chance.share:.0%}"
        f" ({chance.low:.0%} to {chance.high:.0%}, 95 % interval; seed {found.seed})."
    )
    if not found.likely:
        say(f"That is short of the {asked:g} % asked for.")
    if not found.cheapest:
        say("Time ran out before every cheaper purchase was tried.")


def _document(found: "Purchase", currency: str) -> dict[str, object]:
    return {
        "lacking": found.lacking,
        "buy": found.lines,
        "price": found.price,
        "currency": currency,
        "chance": {
            "share": found.chance.share,
            "good": found.chance.good,
            "trials": found.chance.trials,
            "low": found.chance.low,
            "high": found.chance.high,
        },
        "likely_enough": found.likely,
        "cheapest": found.cheapest,
        "seed": found.seed,
    }
