"""Runs a command as a person would, in this process, and says what came of it."""

import contextlib
import io
import json
from dataclasses import dataclass
from typing import Any

from stockyard.cli import main


@dataclass(frozen=True)
class Answer:
    """What a command printed and how it ended."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


def stockyard(*arguments: object, code: int | None = 0) -> Answer:
    """Run `stockyard ARGUMENTS` and expect it to end with `code` (None: do not care)."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            main([str(argument) for argument in arguments])
        except SystemExit as leaving:
            left = int(leaving.code or 0)
    answer = Answer(left, out.getvalue(), err.getvalue())
    assert code is None or left == code, f"ended with {left}:\n{answer.out}\n{answer.err}"
    return answer
