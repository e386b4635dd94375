"""The lock that checks run with: everything the project asks for, at a version it takes, each by its hash."""

import re
import tomllib
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parent.parent
LOCK = (ROOT / ".ci" / "requirements.txt").read_text(encoding="utf-8")
LOCKED = {
    canonicalize_name(name): (version, hashes)
    for name, version, hashes in re.findall(
        r"^([\w.-]+)==([^\s;]+)[^\n]*?\\\n((?: +--hash=sha256:[0-9a-f]{64}(?: \\)?\n?)+)", LOCK, re.MULTILINE
    )
}


def asked_for() -> list[Requirement]:
    told = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    project, build = told["project"], told["build-system"]["requires"]
    extras = [
        line for name in ("postgres", "test", "parquet") for line in project["optional-dependencies"][name]
    ]
    return [Requirement(line) for line in [*project["dependencies"], *extras, *build]]


def test_everything_asked_for_is_locked_at_a_version_that_will_do() -> None:
    """Lock anew as DEVELOPERS.md says after changing what pyproject.toml asks for."""
    wrong = []
    for wanted in asked_for():
        found = LOCKED.get(canonicalize_name(wanted.name))
        if found is None or not wanted.specifier.contains(found[0], prereleases=True):
            wrong.append(f"{wanted} is locked as {found and found[0]}")
    assert wrong == []


def test_every_line_of_the_lock_is_a_version_with_its_hashes_and_names_no_place() -> None:
    named = re.findall(r"^[A-Za-z][\w.-]*", LOCK, re.MULTILINE)
    assert len(named) > 100
    assert {canonicalize_name(name) for name in named} == set(LOCKED)
    assert "://" not in LOCK
    assert "index" not in LOCK


def test_the_checks_install_from_the_lock() -> None:
    script = (ROOT / "tests" / "run").read_text(encoding="utf-8")
    assert "--require-hashes -r .ci/requirements.txt" in script
