"""How long a person waits in the app: from choosing a picture to its corners, from keeping it to suggestions.

python -m tests.figures.tap_to_suggestions

A rendered 12 megapixel picture of a 2.4 m board, at phone width on this machine's own browser and server. The
second wait is set against the same work done by the services alone, in the same run.
"""

import sys
import tempfile
from pathlib import Path
from time import perf_counter

from playwright.sync_api import Page, sync_playwright

from stockyard.records import open_yard, upgrade
from stockyard.services.add_photo import GivenPicture, add_photo
from stockyard.services.suggest_defects import Boards, suggest_defects
from stockyard.timber.defect import Face
from tests.figures.record import record
from tests.photos.render.board import draw_board
from tests.photos.render.photograph import Shot, photograph
from tests.services.yards import receive
from tests.web.in_browser.conftest import FLAGS, PHONE, served

SEED = 40_001
CARDS = (0, 1, 2, 3)
PATIENCE_MS = 120_000


def main(rounds: int = 3) -> None:
    """Measures each wait on a new board, and records the middle of the rounds."""
    drawn = draw_board(SEED, "spotted gum", 2400, 180, mm_per_px=0.3)
    content = photograph(drawn, "A", Shot((4000, 3000), turn=4, noise=0.012, quality=95, cards=CARDS)).content
    corners, kept, alone = [], [], []
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        place, file = Path(folder) / "yard.db", Path(folder) / "face.jpg"
        upgrade(place)
        with open_yard(place) as yard:
            rows = ["spotted gum,2400,180,32,48"] * 2 * rounds
            boards = [piece.number for piece in receive(yard, *rows).pieces]
        browser = play.chromium.launch(executable_path="/usr/bin/chromium", args=list(FLAGS))
        with served(place, at_work=True) as address:
            for turn in range(rounds):
                # A picture stands for one face only, so each round has one that differs in its last byte.
                file.write_bytes(content + bytes([turn + 1]))
                page = browser.new_page(viewport=PHONE)
                waits = _in_the_app(page, f"{address}/photograph/{boards[turn]}", file)
                corners.append(waits[0])
                kept.append(waits[1])
                page.close()
        browser.close()
        with open_yard(place) as yard:
            for turn in range(rounds):
                number = boards[rounds + turn]
                begun = perf_counter()
                picture = GivenPicture(content + bytes([200 + turn]), "face.jpg")
                add_photo(yard.open_work, number, Face.A, [picture])
                suggest_defects(yard.open_work, Boards((number,)))
                alone.append(perf_counter() - begun)
    middle = rounds // 2
    on = "12 megapixels, 2.4 m with cards"
    record("corners shown after a picture is chosen", on, sorted(corners)[middle], "s", seeds=str(SEED))
    record("suggestions shown after it is kept", on, sorted(kept)[middle], "s", seeds=str(SEED))
    ratio = sorted(kept)[middle] / sorted(alone)[middle]
    record(
        "suggestions shown after it is kept", on, ratio, "x", baseline="the services alone", seeds=str(SEED)
    )


def _in_the_app(page: Page, address: str, file: Path) -> tuple[float, float]:
    """Seconds from choosing to corners, and from keeping to being told of suggestions."""
    page.goto(address)
    begun = perf_counter()
    page.locator("#chosen").set_input_files(file)
    page.locator("#corners .handle").nth(3).wait_for(timeout=PATIENCE_MS)
    chosen = perf_counter() - begun
    page.get_by_role("button", name="Keep", exact=True).click()
    begun = perf_counter()
    page.locator('#uploads li[data-state="kept"]').wait_for(timeout=PATIENCE_MS)
    return chosen, perf_counter() - begun


if __name__ == "__main__":
    main(*(int(each) for each in sys.argv[1:]))
