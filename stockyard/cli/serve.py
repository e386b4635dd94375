"""serve, people: the workshop app, and who may use it over the network."""

import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from stockyard.cli.app import app
from stockyard.cli.session import session_of
from stockyard.cli.show import say, say_json, table

if TYPE_CHECKING:
    from stockyard.timber.person import Role

people = typer.Typer(no_args_is_help=True, help="Who may use the yard over the network.")
app.add_typer(people, name="people", epilog="Example: stockyard people list")


@app.command(short_help="Open the yard as a web app.", epilog="Example: stockyard serve --demo")
def serve(
    context: typer.Context,
    host: Annotated[str, typer.Option(help="Address to listen on; others only once people are added.")] = (
        "127.0.0.1"
    ),
    port: Annotated[int, typer.Option(min=1, max=65535, help="Port to listen on.")] = 8421,
    demo: Annotated[bool, typer.Option("--demo", help="Show an invented yard, gone afterwards.")] = False,
    certificate: Annotated[Path | None, typer.Option(help="PEM certificate, for https.")] = None,
    key: Annotated[Path | None, typer.Option(help="PEM key of the certificate.")] = None,
    workers: Annotated[
        int, typer.Option(min=1, max=64, help="Processes that share the work; for a yard on PostgreSQL.")
    ] = 1,
    log_requests: Annotated[
        bool, typer.Option("--log-requests", help="Log every request, not only what goes wrong.")
    ] = False,
) -> None:
    """Open the yard as a web app and a JSON interface, on this machine only unless --host says otherwise."""
    from stockyard.web import serving

    session = session_of(context)
    scheme = "http" if certificate is None else "https"
    shown = f"[{host}]" if ":" in host else host
    where = f"{scheme}://{shown}:{port}/"

    def opening() -> None:
        say(f"The {'demo yard' if demo else 'yard'} opens at {where} (stop with Ctrl-C).")

    more: dict[str, Any] = {
        "certificate": certificate,
        "key": key,
        "opening": opening,
        "log_requests": log_requests,
    }
    if demo:
        if workers > 1:
            raise typer.BadParameter("the demo yard is served by one process", param_hint="--workers")
        say("Building the demo yard...")
        with serving.demo_yard() as open_work:
            serving.serve(open_work, host, port, **more)
        return
    if session.db is not None:
        os.environ["STOCKYARD_DB"] = session.db
    serving.serve(session.open_work(), host, port, workers=workers, **more)


@people.command("add", epilog="Example: stockyard people add Robin --role reader")
def add(
    context: typer.Context,
    name: Annotated[str, typer.Argument(help="As it is written beside every change.")],
    role: Annotated[str, typer.Option(help="maker (looks and changes) or reader (looks).")] = "maker",
    password_file: Annotated[
        Path | None, typer.Option(help="Read the password from this file instead of asking.")
    ] = None,
) -> None:
    """Let a person sign in; asks for their password."""
    from stockyard.services.people import add_person

    session = session_of(context)
    person = add_person(session.open_work(), name, _role(role), _password(password_file))
    if session.as_json:
        say_json(person)
    else:
        say(f"{person.name} may sign in as a {person.role.value}.")


@people.command("list", epilog="Example: stockyard people list")
def list_all(context: typer.Context) -> None:
    """List everyone who may sign in, or could once."""
    from stockyard.services.people import list_people

    session = session_of(context)
    found = list_people(session.open_work())
    if session.as_json:
        say_json(found)
        return
    table(
        ("name", "role", "may sign in", "since", "added by"),
        (
            (
                each.name,
                each.role.value,
                "no" if each.has_left else "yes",
                each.at and each.at.date(),
                each.who,
            )
            for each in found
        ),
    )


@people.command("change", epilog="Example: stockyard people change Robin --role maker")
def change(
    context: typer.Context,
    name: Annotated[str, typer.Argument(help="Whom.")],
    role: Annotated[str | None, typer.Option(help="maker or reader.")] = None,
    password: Annotated[bool, typer.Option("--password", help="Ask for a new password.")] = False,
    password_file: Annotated[Path | None, typer.Option(help="Read the new password from this file.")] = None,
    left: Annotated[
        bool | None, typer.Option("--left/--back", help="May no longer sign in, or may again.")
    ] = None,
) -> None:
    """Change a person's role or password, or note that they have left; ends all their sign-ins."""
    from stockyard.services.people import change_person

    session = session_of(context)
    new = _password(password_file) if password or password_file else None
    person = change_person(
        session.open_work(),
        name,
        role=None if role is None else _role(role),
        password=new,
        has_left=left,
    )
    if session.as_json:
        say_json(person)
    else:
        say(f"{person.name}: {person.role.value}{', has left' if person.has_left else ''}.")


def _role(word: str) -> "Role":
    from stockyard.timber.person import Role

    if word not in set(Role):
        raise typer.BadParameter(f"{word!r} is neither maker nor reader", param_hint="--role")
    return Role(word)


def _password(file: Path | None) -> str:
    if file is None:
        return str(typer.prompt("Password", hide_input=True, confirmation_prompt=True))
    from stockyard.cli.session import bytes_of

    return bytes_of(file).decode("utf-8").rstrip("\r\n")
