"""books check, books policy, backup, restore: books that add up, and copies of the yard."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.app import app
from stockyard.cli.read import day_of
from stockyard.cli.session import session_of
from stockyard.cli.show import say, say_json, table

if TYPE_CHECKING:
    from stockyard.settings import PicturesWith

books = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="Prove the books, and choose how offcuts are valued.",
    epilog="Example: stockyard books check",
)
app.add_typer(books, name="books")


@books.command("check", epilog="Example: stockyard books check")
def check(context: typer.Context) -> None:
    """Prove that everything adds up; ends with 3 and every disagreement when it does not."""
    from stockyard.services.check_books import check_books

    session = session_of(context)
    found = check_books(session.open_work())
    if session.as_json:
        say_json({"movements": found.movements, "pieces": found.pieces, "proofs": found.proofs})
    else:
        for proof in found.proofs:
            say(f"{'ok ' if not proof.against else 'NOT'} {proof.claim}")
        if found.disagreements:
            table(
                ("where", "shows", "but is"),
                ((each.where, each.shown, each.summed) for each in found.disagreements),
            )
        against = len(found.disagreements)
        say(f"{found.movements:,} movements, {found.pieces:,} pieces, {against} disagreements.")
    if found.disagreements:
        raise typer.Exit(3)


_MEANS = {
    "volume": "every usable piece by its volume",
    "relative_value": "every usable piece by what it could be sold for",
    "by_product": "offcuts at what they could be sold for, the rest on the staves",
}


@books.command("policy", epilog="Example: stockyard books policy by_product --from 2030-07-01")
def policy(
    context: typer.Context,
    choice: Annotated[
        str | None,
        typer.Argument(metavar="[POLICY]", help="volume, relative_value or by_product; none to only look."),
    ] = None,
    since: Annotated[
        str | None, typer.Option("--from", help="Boards cut from that day on, a day to come.")
    ] = None,
) -> None:
    """Show how a cut board's value is shared with its offcuts, or change it for days to come."""
    from stockyard.services.offcut_policy import choose_policy, show_policy

    session = session_of(context)
    open_work = session.open_work()
    if choice is None and since is not None:
        raise typer.BadParameter("say which policy counts from that day", param_hint="--from")
    history = (
        show_policy(open_work)
        if choice is None
        else choose_policy(open_work, choice, day_of(since, "--from"))
    )
    if session.as_json:
        say_json(history)
        return
    say(f"Boards cut today are shared by {history.today.value}: {_MEANS[history.today.value]}.")
    if history.entries:
        table(
            ("from", "policy", "chosen", "by"),
            (
                (entry.since, entry.policy.value, f"{entry.at.astimezone():%Y-%m-%d %H:%M}", entry.who)
                for entry in history.entries
            ),
        )
    else:
        say("Nothing else was ever chosen.")


@app.command(short_help="Copy the yard into a new file.", epilog="Example: stockyard backup yard-monday.db")
def backup(
    context: typer.Context,
    file: Annotated[
        Path, typer.Argument(metavar="FILE", help="A file that is not there yet; a folder with --keep.")
    ],
    keep: Annotated[
        int | None,
        typer.Option(min=1, metavar="N", help="Name the copy by date, and keep the newest N in that folder."),
    ] = None,
) -> None:
    """Copy the yard into a new file, while others may be using it."""
    from stockyard.settings import back_up, back_up_keeping, pictures_with

    session = session_of(context)
    let_go: tuple[Path, ...] = ()
    if keep is None:
        copied = back_up(session.db, file)
    else:
        copied, let_go = back_up_keeping(session.db, file, keep)
    pictures = pictures_with(copied)
    if session.as_json:
        told = {"file": str(copied), "bytes": copied.stat().st_size, "pictures": pictures}
        say_json({**told, "let_go": [str(each) for each in let_go]})
        return
    say(f"The yard is copied to {copied} ({copied.stat().st_size:,} bytes), and the copy is whole.")
    _say_pictures(pictures)
    if let_go:
        say(f"Older copies let go: {', '.join(each.name for each in let_go)}.")


@app.command(
    short_help="Make a new yard from a copy.",
    epilog="Example: stockyard restore yard-monday.db --db restored.db",
)
def restore(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A copy made by `backup`.")],
) -> None:
    """Make a new yard from a copy, where --db names; nothing that is there is written over."""
    from stockyard.settings import pictures_with
    from stockyard.settings import restore as put_back

    session = session_of(context)
    where = put_back(file, session.db)
    pictures = pictures_with(where)
    if session.as_json:
        say_json({"yard": str(where), "pictures": pictures})
    else:
        say(f"The yard in {where} is as the copy was. Prove it with `stockyard --db {where} books check`.")
        _say_pictures(pictures)


def _say_pictures(pictures: "PicturesWith") -> None:
    """Where the pictures went; nothing for a yard that never had any."""
    there = pictures.files - pictures.missing
    if there:
        say(f"Its {there:,} picture files are in {pictures.folder}; the two belong together.")
    if pictures.missing:
        say(f"{pictures.missing:,} picture files are missing or altered where it came from, and not there.")
