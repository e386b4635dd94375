"""The command line: parse, call a service, print. Holds no rule of the yard.

Heavy libraries load inside the command that needs them, so that `stockyard --help` starts at once.
"""

import os
import sys
from collections.abc import Sequence
from typing import NoReturn

from stockyard.errors import StockyardError

_GLOBAL_FLAGS = ("--json",)
_GLOBAL_OPTIONS = ("--db",)


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run one command and leave with its exit code: 0 done, 2 bad input, 3 refused, 1 a fault of ours."""
    from stockyard.cli.commands import asked_for

    given = global_options_first(sys.argv[1:] if arguments is None else arguments)
    try:
        asked_for(given)(given, prog_name="stockyard")
    except StockyardError as error:
        from stockyard.cli.show import complain

        complain(error, as_json="--json" in given)
        sys.exit(error.exit_code)
    except BrokenPipeError:
        # Whoever read our output has gone (`stockyard boards | head`); say nothing more, not even at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)
    sys.exit(0)


def global_options_first(arguments: Sequence[str]) -> list[str]:
    """The arguments with --db and --json moved in front, so that they may stand anywhere on the line.

    What follows a bare `--` is left alone.
    """
    front: list[str] = []
    rest: list[str] = []
    waiting = list(arguments)
    while waiting:
        word = waiting.pop(0)
        if word == "--":
            rest += [word, *waiting]
            break
        if word in _GLOBAL_FLAGS or word.startswith(tuple(f"{name}=" for name in _GLOBAL_OPTIONS)):
            front.append(word)
        elif word in _GLOBAL_OPTIONS:
            front += [word, *waiting[:1]]
            waiting = waiting[1:]
        else:
            rest.append(word)
    return front + rest
