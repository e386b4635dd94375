"""The house keeps its own rules: the tree told is the tree there is, and nothing private leaks into it."""

import ast
import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import stockyard.errors

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "stockyard"


def _tracked() -> list[Path]:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True)
    return [ROOT / name for name in listed.stdout.splitlines() if (ROOT / name).is_file()]


def test_developers_page_draws_the_rooms_there_are() -> None:
    told = set(re.findall(r"^ {6}(\w+)(?:/|\.py) ", (ROOT / "DEVELOPERS.md").read_text(), re.MULTILINE))
    rooms = {path.parent.name for path in PACKAGE.glob("*/__init__.py")}
    modules = {path.stem for path in PACKAGE.glob("*.py")} - {"__init__", "__main__"}
    assert told == rooms | modules


def test_top_level_holds_only_the_agreed_entries() -> None:
    agreed = {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "LICENSE",
        "stockyard",
        "migrations",
        "tests",
        "sample_images",
        ".ci",
        ".gitignore",
    }
    assert {path.relative_to(ROOT).parts[0] for path in _tracked()} <= agreed


def test_error_tree_in_the_docstring_is_the_tree_of_classes() -> None:
    drawn = re.findall(r"^[ │├└─]*(\b[A-Z]\w+)  ", stockyard.errors.__doc__ or "", re.MULTILINE)
    classes = {
        name
        for name, value in vars(stockyard.errors).items()
        if isinstance(value, type) and issubclass(value, stockyard.errors.StockyardError)
    }
    assert set(drawn) == classes


def test_no_module_grows_past_four_hundred_lines() -> None:
    long = {
        str(path.relative_to(ROOT)): lines
        for path in PACKAGE.rglob("*.py")
        if (lines := len(path.read_text().splitlines())) > 400
    }
    assert long == {}


def test_every_public_name_says_what_it_is() -> None:
    silent = [
        f"{path.relative_to(ROOT)}:{node.lineno} {node.name}"
        for path in PACKAGE.rglob("*.py")
        for node in _public(ast.parse(path.read_text(encoding="utf-8")))
        if not ast.get_docstring(node)
    ]
    assert silent == []


def _public(scope: ast.Module | ast.ClassDef) -> Iterator[ast.FunctionDef | ast.ClassDef]:
    """Public functions and classes of a module, and public methods of public classes."""
    for node in scope.body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            yield node
            if isinstance(node, ast.ClassDef):
                yield from _public(node)


def test_nothing_in_the_tree_names_a_machine_or_a_registry() -> None:
    private = re.compile(
        r"/(?:work|root|home|farm)/|pypi\.org|files\.pythonhosted|registry\.npmjs|deb\.debian"
    )
    here = Path(__file__).resolve()
    found = []
    for path in _tracked():
        if path.resolve() == here or path.suffix in {".jpg", ".png", ".onnx", ".xlsx", ".pdf"}:
            continue
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            if private.search(line):
                found.append(f"{path.relative_to(ROOT)}:{number}: {line.strip()[:80]}")
    assert found == []
