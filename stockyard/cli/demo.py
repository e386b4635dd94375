"""The demo: an invented workshop's year in a few seconds, told as it goes and left in a folder to look at."""

import contextlib
import io
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from stockyard.cli.plan_text import print_plan
from stockyard.cli.plans import draw_plan
from stockyard.cli.session import write_file
from stockyard.cli.show import say, table
from stockyard.errors import BadInput

if TYPE_CHECKING:
    from stockyard.services.build_demo import DemoYard
    from stockyard.services.plan_job import KeptPlan
    from stockyard.settings import OpenWork


def run_demo(folder: Path, seconds: float, *, quiet: bool) -> dict[str, object]:
    """Build the demo yard in an empty folder, plan and make its jobs, and draw them.

    seconds: for each selection. quiet: tell the story to the folder only. Returns what a script would ask.
    Raises BadInput when the folder holds something already.
    """
    from stockyard.services.build_demo import build_demo
    from stockyard.settings import open_work_on

    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise BadInput(f"{folder} holds something already; name a new folder with --folder.")
    open_work = open_work_on(folder / "yard.db")
    with _told(folder / "story.txt", quiet):
        say("A small workshop makes furniture from native hardwoods. All of it is invented.")
        yard = build_demo(open_work)
        _tell_deliveries(yard)
        _leave_inputs(folder)
        _tell_one_board(open_work)
        plans = [_carry_through(open_work, name, folder, seconds) for name in yard.jobs]
        _tell_worth(open_work)
        say()
        say(f"All of it is in {folder}: yard.db, its tallies, climate logs and jobs, drawings/, this story.")
        say(f"Look around with `stockyard --db {folder / 'yard.db'} boards`.")
    return {
        "folder": str(folder),
        "boards": sum(len(receipt.pieces) for receipt in yard.receipts),
        "deliveries": len(yard.receipts),
        "defects": yard.defects,
        "readings": yard.readings,
        "plans": [
            {
                "plan": kept.booked.number,
                "job": kept.booked.job,
                "status": kept.plan.status.value,
                "cost": float(kept.plan.cost),
                "gap": kept.plan.gap,
                "seconds": round(kept.plan.seconds, 2),
                "panels_made": sum(panel.made for panel in kept.plan.panels),
                "panels": len(kept.plan.panels),
            }
            for kept in plans
        ],
    }


def _tell_deliveries(yard: "DemoYard") -> None:
    say()
    say(
        "1. Three deliveries come in. Each supplier writes its tally in its own manner; each is read, checked"
        " against its docket and booked at landed cost, with freight shared out and tax kept apart."
    )
    table(
        ("received", "supplier", "docket", ">boards", ">timber", ">charges", ">landed", ">m3"),
        (
            (
                receipt.received_on,
                receipt.supplier,
                receipt.docket,
                len(receipt.pieces),
                receipt.purchase,
                receipt.charges,
                receipt.landed,
                f"{receipt.volume_mm3 / 1e9:.3f}",
            )
            for receipt in yard.receipts
        ),
    )
    say(
        f"2. {yard.measured} boards are laid out and measured, {yard.readings} moisture readings taken, and"
        f" {yard.defects} flaws mapped: which kind, which face, where."
    )
    if yard.photographed:
        pictures = sum(len(each.photo.pictures) for each in yard.photographed)
        say(
            f"{len(yard.photographed)} faces are photographed in {pictures} pictures and put to scale;"
            f" {yard.suggested} flaws are suggested on them, {yard.accepted} accepted so far, and the rest"
            " wait for someone to look (`stockyard photo list`)."
        )


def _tell_one_board(open_work: "OpenWork") -> None:
    from stockyard.drawings import board_text
    from stockyard.services.list_boards import list_boards
    from stockyard.services.show_board import show_board
    from stockyard.timber.rack_query import RackQuery

    rack = list_boards(open_work, RackQuery())
    most = max(
        (show_board(open_work, piece.number) for piece in rack[:12]), key=lambda sheet: len(sheet.defects)
    )
    say()
    say(f"{most.piece.number}, for one:")
    say()
    say(board_text(most.board))


def _carry_through(open_work: "OpenWork", job: str, folder: Path, seconds: float) -> "KeptPlan":
    from stockyard.services.allocate_plan import allocate_plan
    from stockyard.services.cut_plan import cut_plan
    from stockyard.services.plan_job import plan_job
    from stockyard.services.steps import complete_step

    say()
    say(f"3. {job}: which boards, cut where, laid how?")
    kept = plan_job(open_work, job, seconds=seconds)
    print_plan(kept.plan, kept.boards)
    if not kept.plan.boards:
        return kept
    drawn = draw_plan(kept, folder / "drawings")
    say(f"Drawn on {len(drawn)} sheets in drawings/.")
    steps = allocate_plan(open_work, kept.booked.number)
    say(f"{len(kept.booked.seen)} boards are promised to it; nobody else can take them now.")
    for step in steps:
        product = "demo thin CA" if step.kind.value == "stabilise" else "demo epoxy 2:1"
        complete_step(open_work, step.id or 0, product=product, batch="D-01")
    if steps:
        flaws = "One flaw" if len(steps) == 1 else f"{len(steps)} flaws"
        say(f"{flaws} stabilised or filled first, and written down with product and batch.")
    record = cut_plan(open_work, kept.booked.number)
    out = sum(piece.value for piece in record.pieces)
    say(
        f"Cut: {record.value_in:,} of timber became {len(record.staves)} staves and"
        f" {len(record.offcuts)} offcuts worth {out:,}, to the cent."
    )
    return kept


def _tell_worth(open_work: "OpenWork") -> None:
    from stockyard.services.report_holdings import report_holdings

    report = report_holdings(open_work, ("species", "status"))
    say()
    say("4. What is left, and what it stands in the books for:")
    figures = ("pieces", "gross_m3", "clear_m3", "lineal_m", "worth")
    table(
        ("species", "status", ">pieces", ">gross m3", ">clear m3", ">lineal m", f">worth, {report.currency}"),
        ((row["species"], row["status"], *(row[name] for name in figures)) for row in report.rows),
    )


def _leave_inputs(folder: Path) -> None:
    from stockyard.services import demo_yard

    for delivery in demo_yard.deliveries():
        _put(folder / "tallies" / delivery.file_name, delivery.content)
    for air in demo_yard.climates():
        _put(folder / "climate" / air.file_name, air.content)
    for job in demo_yard.jobs():
        _put(folder / "jobs" / f"{job.name}.json", job.content)
    _put(folder / "prices.csv", demo_yard.prices())


def _put(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)


@contextlib.contextmanager
def _told(path: Path, quiet: bool) -> Iterator[None]:
    """Whatever is printed meanwhile is printed, unless quiet, and kept in a file as well."""
    kept = io.StringIO()
    out = kept if quiet else _Both(sys.stdout, kept)
    with contextlib.redirect_stdout(out):
        yield
    write_file(path, kept.getvalue())


class _Both(io.TextIOBase):
    """A stream that writes to two."""

    def __init__(self, first: Any, second: io.StringIO) -> None:
        self._streams = (first, second)

    def write(self, text: str) -> int:
        for stream in self._streams:
            stream.write(text)
        return len(text)

    def flush(self) -> None:
        self._streams[0].flush()
