"""README.md keeps its word: every command in it runs, in the order in which a reader meets them."""

import json
import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
SHELL = re.findall(r"^```sh\n(.*?)^```", README, re.MULTILINE | re.DOTALL)
DOCUMENTS = [
    json.loads(block) for block in re.findall(r"^```json\n(.*?)^```", README, re.MULTILINE | re.DOTALL)
]
INSTALL, CHECKS, *TOUR = SHELL


def test_the_two_set_up_commands_are_the_ones_told() -> None:
    assert INSTALL.strip().endswith(".venv/bin/stockyard demo")
    assert CHECKS.strip() == "bash tests/run"
    assert "tests/run" in (ROOT / ".ci" / "run").read_text()


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A clone on which README's first command has run: a new virtual environment, and the demo in it."""
    clone = tmp_path_factory.mktemp("fresh") / "stockyard"
    listed = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout
    for name in filter(None, listed.split("\0")):
        if (ROOT / name).is_file():
            (clone / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(ROOT / name, clone / name)
    done = _run(INSTALL, clone)
    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-4000:]
    return clone


def test_the_first_command_installs_and_leaves_the_demo_in_its_folder(installed: Path) -> None:
    folder = installed / "demo"
    story = (folder / "story.txt").read_text(encoding="utf-8")
    assert (folder / "yard.db").stat().st_size > 0
    assert len(list((folder / "drawings").glob("*.svg"))) >= 10
    assert len(list((folder / "tallies").iterdir())) == 3
    assert all(len(line.rstrip()) <= 80 for line in story.splitlines())
    assert "not made" not in story
    assert "to the cent" in story


def test_every_command_of_the_tour_runs(installed: Path) -> None:
    for document in DOCUMENTS:
        name = document["format"].partition("/")[0].removeprefix("stockyard.")
        (installed / f"{name}.json").write_text(json.dumps(document))
    script = "set -e\n" + "\n".join(TOUR)
    done = _run(script, installed, path=installed / ".venv" / "bin")
    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-4000:]
    plan = json.loads((installed / "plan.json").read_text())
    assert (plan["format"], plan["status"]) == ("stockyard.plan/1", "optimal")
    assert (installed / "SG-0004.svg").is_file()
    assert list((installed / "drawings").glob("*.svg"))


def test_every_command_there_is_stands_in_readme() -> None:
    from tests.cli.test_commands import _commands

    told = {
        tuple(word for word in shlex.split(line)[1:3] if not word.startswith("-"))
        for block in TOUR
        for line in block.splitlines()
        if line.startswith("stockyard ")
    }
    named = {words[:1] for words in told} | told
    text = README.replace("`", "")
    missing = [
        " ".join(command)
        for command in _commands()
        if command not in named and f"stockyard {' '.join(command)}" not in text
    ]
    assert missing == []


def test_the_library_form_is_the_one_told(installed: Path) -> None:
    script = (
        "import json\n"
        "from stockyard.selection import read_job, read_stock, select\n"
        "stock, job = json.load(open('stock.json')), json.load(open('job.json'))\n"
        "plan = select(read_stock(json.dumps(stock)), read_job(json.dumps(job)))\n"
        "print(plan.status.value)"
    )
    done = subprocess.run(
        [installed / ".venv" / "bin" / "python", "-c", script],
        cwd=installed,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.stdout.strip(), done.returncode) == ("optimal", 0), done.stderr


def _run(script: str, folder: Path, path: Path | None = None) -> subprocess.CompletedProcess[str]:
    outside = {name: value for name, value in os.environ.items() if not name.startswith("STOCKYARD")}
    base = Path(sys.base_prefix) / "bin"  # the interpreter the tests' own environment was made from
    outside["PATH"] = os.pathsep.join(str(each) for each in (path, base, os.environ["PATH"]) if each)
    return subprocess.run(
        ["bash", "-c", script], cwd=folder, env=outside, capture_output=True, text=True, check=False
    )
