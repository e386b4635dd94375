"""Adds photographs and is killed in the middle, again and again: python -m tests.services.killed PLACE ...

Run as a program of its own: everything is loaded once, then each victim is forked, sets out on a real
`stockyard photo add` and gets SIGKILL, at a certain step or after a random time. After each death a line of
JSON says what was found before anything was swept, and what after.
"""

import itertools
import json
import os
import random
import signal
import sys
import time
from pathlib import Path

import stockyard.photos.scale
import stockyard.services.preview_photo  # noqa: F401  # loaded before anyone is forked
from stockyard.cli import main
from stockyard.records import open_yard
from stockyard.records.unit_of_work import UnitOfWork
from stockyard.services.check_photos import check_photos


def die_at(step: int) -> None:
    """Have this process killed after that step of writing: forcing, renaming, making folders, committing."""
    count = itertools.count(1)

    def counted(act):
        def acts(*given, **named):
            done = act(*given, **named)
            if next(count) == step:
                os.kill(os.getpid(), signal.SIGKILL)
            return done

        return acts

    os.fsync, os.replace, os.mkdir = counted(os.fsync), counted(os.replace), counted(os.mkdir)
    UnitOfWork.commit = counted(UnitOfWork.commit)


def victim(place: str, board: str, picture: Path, step: int | None, wait_s: float) -> bool:
    """Fork one, kill it, and say whether it died of it."""
    pid = os.fork()
    if pid == 0:
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        if step is not None:
            die_at(step)
        try:
            main(["--db", place, "photo", "add", board, "--face", "A", str(picture)])
        finally:
            os._exit(0)
    if step is None:
        time.sleep(wait_s)
        os.kill(pid, signal.SIGKILL)
    return os.WIFSIGNALED(os.waitpid(pid, 0)[1])


def found(place: str) -> dict[str, object]:
    """What there is, before and after anyone sweeps."""
    with open_yard(place) as yard:
        with yard.open_work(reading=True) as work:
            names, files = work.photos.file_names(), work.picture_files
            photos = len(work.photos.standing()) and work.photos.get(1).number
        before = files.look_through(names)
        after = check_photos(yard.open_work)
        left = [path for path in files.folder.rglob("*") if path.is_file()] if files.folder.exists() else []
        return {
            "photos": photos,
            "missing": len(before.missing),
            "altered": len(before.altered),
            "orphans": len(before.unrecorded),
            "sound": after.sound,
            "recorded": len(names),
            "left": len(left),
        }


def run(place: str, board: str, folder: Path, timed: int, seed: int) -> None:
    """Kill at every step until one comes through alive, then `timed` times at random."""
    rng = random.Random(seed)
    content = (folder / "face.jpg").read_bytes()
    died, number, took_s = True, 0, 1.0
    while died or timed:
        number += 1
        step = number if died else None
        timed -= not died
        picture = folder / f"face-{number}.jpg"
        # Bytes after the end of a JPEG change its digest and not the picture.
        picture.write_bytes(content + number.to_bytes(4, "big"))
        began = time.monotonic()
        killed = victim(place, board, picture, step, rng.uniform(0, took_s))
        if died and not killed:
            took_s = time.monotonic() - began
        print(json.dumps({"step": step, "died": killed, **found(place)}), flush=True)
        died = died and killed


if __name__ == "__main__":
    run(sys.argv[1], sys.argv[2], Path(sys.argv[3]), int(sys.argv[4]), int(sys.argv[5]))
