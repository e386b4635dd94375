"""Users are killed, the clock goes back, the disk fills up: the yard is whole afterwards, or as before."""

import json
import os
import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import pytest

from stockyard.errors import BadInput, Refused
from stockyard.records import Yard, open_yard
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.check_books import check_books
from stockyard.services.cut_plan import cut_plan
from stockyard.services.dispose_board import dispose_board
from stockyard.services.release_plan import release_plan
from tests.conftest import NOON, at_noon
from tests.services.yards import receive
from tests.stocking import a_plan, keep_plan

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize(("few", "acts"), [(24, 8), (9, 3)], ids=["sqlite", "postgresql"])
def test_whoever_is_killed_leaves_all_of_it_or_nothing(
    request: pytest.FixtureRequest, tmp_path: Path, few: int, acts: int
) -> None:
    """SIGKILL at random steps and times of every act that writes; STOCKYARD_KILLS says how many."""
    place = str(request.getfixturevalue("sqlite_path" if acts == 8 else "postgres_url"))
    kills, folder = int(os.environ.get("STOCKYARD_KILLS", few)), tmp_path / "copies"
    folder.mkdir()

    done = subprocess.run(
        [sys.executable, "-m", "tests.services.struck", place, folder, str(kills), "7"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.returncode == 0, done.stderr[-3000:]
    lines = [json.loads(line) for line in done.stdout.splitlines()]
    assert len(lines) == kills
    assert len({line["act"] for line in lines}) == acts
    assert sum(line["died"] for line in lines) > kills / 2, "most were killed in the middle"
    assert [line for line in lines if line["wrong"]] == []


def test_a_clock_that_goes_back_breaks_no_books(yard_place: str) -> None:
    """A month back and on again: each act is done or politely refused, and everything still adds up."""
    with open_yard(yard_place, clock=at_noon) as yard:
        receive(yard, *["spotted gum,2400,180,32,48.00"] * 4)
        with yard.open_work() as work:
            plan = keep_plan(work, a_plan(["SG-0001", "SG-0002"]))
            work.commit()
        allocate_plan(yard.open_work, plan)
    refused = 0
    for days in (-30, 0, -1, 1):
        with open_yard(yard_place, clock=lambda days=days: NOON + timedelta(days=days)) as yard:
            for act in (
                lambda yard: release_plan(yard.open_work, plan),
                lambda yard: allocate_plan(yard.open_work, plan),
                lambda yard: dispose_board(yard.open_work, "SG-0004", reason="split"),
                lambda yard, days=days: receive(yard, "blackbutt,2100,120,25,22.50", docket=f"clock {days}"),
            ):
                try:
                    act(yard)
                except (Refused, BadInput):
                    refused += 1
            assert check_books(yard.open_work).disagreements == ()
    assert refused > 0
    with open_yard(yard_place, clock=at_noon) as yard:
        cut_plan(yard.open_work, plan)
        assert check_books(yard.open_work).disagreements == ()


FULL = """
import resource, signal, sys
resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[1]), int(sys.argv[1])))
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
from stockyard.cli import main
main(sys.argv[2:])
"""


@pytest.mark.parametrize("act", ["backup", "export", "move-to", "upgrade"])
def test_a_disk_that_fills_up_under_a_copy_leaves_nothing_of_it(
    sqlite_yard: Yard, sqlite_path: Path, tmp_path: Path, act: str
) -> None:
    """No file may grow past a limit, as on a full disk."""
    from stockyard.records.connect import yard_url
    from stockyard.records.migrate import revisions, run_to

    receive(sqlite_yard, *["spotted gum,2400,180,32,48.00"] * 300)
    sqlite_yard.close()
    if act == "upgrade":
        run_to(yard_url(sqlite_path), revisions()[-2])
    before = names_in(tmp_path)
    words = {"backup": ["new.db"], "export": ["new.zip"], "move-to": ["new.db"], "upgrade": []}[act]
    limit = "20000" if act == "export" else "60000"

    done = subprocess.run(
        [sys.executable, "-c", FULL, limit, "--db", sqlite_path, act, *(tmp_path / word for word in words)],
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.returncode in (2, 3), done.stdout + done.stderr
    assert "Traceback" not in done.stderr
    assert names_in(tmp_path) == before


def names_in(folder: Path) -> list[str]:
    """Every file, but for those in which SQLite keeps the open yard's newest pages."""
    return sorted(path.name for path in folder.rglob("*") if not path.name.startswith("yard.db-"))
