"""The commands of the accounts as a person uses them: consumables, costs, prices, buying, origin, archive."""

from pathlib import Path

import pytest

from stockyard.records import open_yard
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.cut_plan import cut_plan
from tests.cli.command import Answer, stockyard
from tests.services.yards import SPOTTED_GUM, receive
from tests.stocking import a_plan, keep_plan


@pytest.fixture
def db(tmp_path: Path) -> Path:
    """A yard with three boards, two of them cut for hall-bench by plan 1."""
    with open_yard(tmp_path / "yard.db") as yard:
        numbers = [piece.number for piece in receive(yard, *[SPOTTED_GUM] * 3).pieces]
        with yard.open_work() as work:
            plan = keep_plan(work, a_plan(numbers[:2]))
            work.commit()
        allocate_plan(yard.open_work, plan)
        cut_plan(yard.open_work, plan)
    return tmp_path / "yard.db"


def run(db: Path, *words: object, code: int = 0) -> Answer:
    answer = stockyard("--db", db, *words, code=code)
    if "--json" not in words:
        assert max((len(line) for line in answer.out.splitlines() if "/" not in line), default=0) <= 80
    return answer


def test_glue_is_bought_used_and_counted(db: Path) -> None:
    run(db, "supply", "add", "PVA glue", "--kind", "glue", "--unit", "g")
    run(db, "supply", "buy", "PVA glue", "4 kg", "--cost", "58", "--from", "Brolga Fixings")
    told = run(db, "supply", "use", "pva glue", "250g", "--job", "hall-bench", "--json").json
    assert (told["quantity"], told["worth"]) == (3750, 54.37)  # 58.00 less 250 g of 4,000, 3.63
    assert "3,700 g on the shelf" in run(db, "supply", "count", "PVA glue", "3.7kg", "--because", "x").out
    assert "3,700 g" in run(db, "supply", "list").out
    assert "hall-bench" in run(db, "supply", "show", "PVA glue").out
    assert "PVA glue" in run(db, "supply", "use", "PVB glue", "1g", "--job", "hall-bench", code=2).err
    litres = ("supply", "buy", "PVA glue", "4 l", "--cost", "1", "--from", "B")
    assert "number of g" in run(db, *litres, code=2).err


def test_a_finished_job_is_held_to_its_quote(db: Path) -> None:
    assert "Kept" in run(db, "quote", "hall-bench", "--minutes", "60", "--keep").out
    run(db, "job", "time", "hall-bench", "90", "--note", "all of it")
    run(db, "job", "time", "hall-bench", "15", "--take-back")
    told = run(db, "finish", "1").out
    assert "from 2 staves" in told
    cost = run(db, "job", "cost", "hall-bench", "--json").json
    assert cost["minutes"] == 75
    assert cost["quoted"] > 0
    assert {line["what"] for line in cost["lines"]} >= {"timber", "labour"}
    assert "Came to" in run(db, "job", "cost", "hall-bench").out
    assert "no staves left" in run(db, "finish", "1", code=3).err


def test_costs_are_added_and_prices_held_to(db: Path) -> None:
    assert (
        "12.00 AUD for drying" in run(db, "books", "cost", "12", "--for", "drying", "--place", "rack 1").out
    )
    looked = run(db, "books", "value", "2500", "--because", "price list", "--check", "--json").json
    assert (looked["booked"], looked["looked_at"]) == (False, 3)
    assert "written down" in run(db, "books", "value", "2500", "--because", "price list").out
    assert "reason" in run(db, "board", "SG-0003", "--sells-for", "90", code=2).err
    run(db, "board", "SG-0003", "--sells-for", "900", "--because", "scarce")
    assert "0 disagreements" in run(db, "books", "check").out


def test_what_a_buyer_asks_is_answered(db: Path) -> None:
    assert "3,472.22" in run(db, "prices", "--species", "spotted gum").out  # 48.00 for 0.013824 m3
    assert "hall-bench" in run(db, "recovery", "--by", "job").out
    assert run(db, "recovery", "--json").json[0]["boards"] == 2
    assert "has a plan" in run(db, "needs").out
    assert "LOW" in run(db, "reorder", "--species", "spotted gum", "--thickness", "32", "--at", "20").out
    assert run(db, "reorder", "--json").json[0]["there"] == 2.4
    for wrong in (("--at", "3"), ("--species", "spotted gum"), ("--species", "spotted gum", "--at", "3")):
        run(db, "reorder", *wrong, code=2)
    run(db, "moisture", "add", "SG-0003", "11")
    left = ("panels", "1000x160x24", "--species", "spotted gum", "--staves", "1", "--stave-width", "160")
    assert run(db, *left, "--seconds", "10", "--json").json["made"] == 2
    assert "can be made" in run(db, *left, "--seconds", "10").out
    run(db, "panels", "1000x160", "--species", "spotted gum", code=2)
    run(db, "panels", "1000x160x24", "--species", "spotted gum", "--show", "none", code=2)


def test_where_a_jobs_wood_came_from_is_told_and_stated(db: Path, tmp_path: Path) -> None:
    assert "Riverbend" in run(db, "job", "trace", "hall-bench").out
    assert run(db, "job", "trace", "hall-bench", "--json").json["boards"][0]["docket"] == "1"
    assert "Materials statement" in run(db, "job", "statement", "hall-bench").out
    run(db, "job", "statement", "hall-bench", "--out", tmp_path / "statement.txt")
    assert "docket 1" in (tmp_path / "statement.txt").read_text()


def test_a_yard_leaves_and_comes_back(db: Path, tmp_path: Path) -> None:
    out = run(db, "export", tmp_path / "yard.zip", "--json").json
    back = run(tmp_path / "other.db", "import", tmp_path / "yard.zip", "--json").json
    assert (back["digest"], back["tables"]) == (out["digest"], out["tables"])
    assert run(tmp_path / "other.db", "boards", "--json").json == run(db, "boards", "--json").json
    assert "nothing is written over" in run(db, "export", tmp_path / "yard.zip", code=2).err
    assert "empty yard" in run(db, "import", tmp_path / "yard.zip", code=2).err
