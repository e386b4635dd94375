from datetime import timedelta
from pathlib import Path

import pytest

from stockyard.errors import BadInput, Refused
from stockyard.records import open_yard
from stockyard.records.backup import restore
from stockyard.records.copies import back_up_keeping
from stockyard.services.check_books import check_books
from tests.conftest import NOON, at_noon
from tests.records.test_move import with_a_picture
from tests.services.yards import receive


def test_of_a_week_of_copies_the_newest_three_are_kept_and_each_gives_the_yard_of_its_day(
    sqlite_path: Path, tmp_path: Path
) -> None:
    picture, folder = with_a_picture(sqlite_path), tmp_path / "copies"
    for day in range(7):
        with open_yard(sqlite_path, clock=at_noon) as yard:
            receive(yard, "spotted gum,2400,180,32,48.00", docket=str(day))
        back_up_keeping(sqlite_path, folder, 3, NOON + timedelta(days=day))

    copies = sorted(folder.glob("*.db"))
    assert [each.name for each in copies] == [f"yard-2026030{day}-120000.db" for day in (6, 7, 8)]
    assert sorted(folder.iterdir()) == sorted([*copies, *(Path(f"{each}.pictures") for each in copies)])
    for boards, each in zip((5, 6, 7), copies, strict=True):
        back = restore(each, tmp_path / f"back-{boards}.db")
        with open_yard(back) as yard, yard.open_work(reading=True) as work:
            assert len(work.pieces.find()) == boards
            assert work.picture_files.read(picture) == b"a board's face"
            assert check_books(yard.open_work).disagreements == ()


def test_only_dated_copies_of_this_yard_are_let_go(sqlite_path: Path, tmp_path: Path) -> None:
    folder = tmp_path / "copies"
    folder.mkdir()
    others = ["yard-monday.db", "other-20200101-120000.db", "yard-20200101-120000.txt", "yard.db"]
    for name in others:
        (folder / name).write_text("kept")
    (folder / "yard-20200101-120000.db").write_text("let go")
    (folder / "yard-20190101-120000.db.pictures").mkdir()

    _, let_go = back_up_keeping(sqlite_path, folder, 1, NOON)

    assert [each.name for each in let_go] == ["yard-20200101-120000.db"]
    assert sorted(each.name for each in folder.iterdir()) == sorted([*others, "yard-20260302-120000.db"])


def test_a_clock_that_went_backwards_never_costs_the_new_copy(sqlite_path: Path, tmp_path: Path) -> None:
    first, _ = back_up_keeping(sqlite_path, tmp_path / "copies", 1, NOON)
    second, let_go = back_up_keeping(sqlite_path, tmp_path / "copies", 1, NOON - timedelta(days=400))
    assert let_go == (first,)
    assert list((tmp_path / "copies").iterdir()) == [second]


def test_a_copy_that_fails_lets_nothing_go(sqlite_path: Path, tmp_path: Path) -> None:
    folder = tmp_path / "copies"
    kept, _ = back_up_keeping(sqlite_path, folder, 1, NOON)
    before = sqlite_path.read_bytes()
    sqlite_path.write_bytes(before[:4096] + b"\xff" * 4096 + before[8192:])

    with pytest.raises(Refused):
        back_up_keeping(sqlite_path, folder, 1, NOON + timedelta(days=1))

    assert list(folder.iterdir()) == [kept]


def test_what_cannot_be_meant_is_refused(sqlite_path: Path, tmp_path: Path) -> None:
    for folder, keep, complaint in ((tmp_path / "copies", 0, "1 or more"), (sqlite_path, 2, "is a file")):
        with pytest.raises(BadInput, match=complaint):
            back_up_keeping(sqlite_path, folder, keep, NOON)
