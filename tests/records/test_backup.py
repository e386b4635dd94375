import contextlib
import sqlite3
from pathlib import Path

import pytest

from stockyard.errors import BadInput, Refused, StoreUnusable
from stockyard.records import Yard, open_yard
from stockyard.records.backup import back_up, pictures_with, restore
from stockyard.records.migrate import copy_aside
from stockyard.records.picture_files import folder_beside
from stockyard.timber import Face
from tests.conftest import NOON, at_noon
from tests.services.photographs import keep_photo
from tests.services.yards import SPOTTED_GUM
from tests.services.yards import receive as tally_in
from tests.stocking import receive


def numbers(place: Path) -> list[str]:
    with open_yard(place, clock=at_noon) as yard, yard.open_work(reading=True) as work:
        return [piece.number for piece in work.pieces.find()]


def test_a_copy_taken_while_someone_writes_holds_what_was_committed(
    sqlite_yard: Yard, sqlite_path: Path, tmp_path: Path
) -> None:
    with sqlite_yard.open_work() as work:
        receive(work, 2)
        work.commit()
    with sqlite_yard.open_work() as writing:
        receive(writing, 3)
        copy = back_up(sqlite_path, tmp_path / "away" / "monday.db")
        writing.commit()
    assert [path.name for path in copy.parent.iterdir()] == ["monday.db"]

    again = restore(copy, tmp_path / "new" / "yard.db")

    assert numbers(again) == ["SG-0001", "SG-0002"]
    assert len(numbers(sqlite_path)) == 5


def test_nothing_that_is_there_is_written_over(sqlite_path: Path, tmp_path: Path) -> None:
    copy = back_up(sqlite_path, tmp_path / "copy.db")
    before = copy.read_bytes()

    for again in (lambda: back_up(sqlite_path, copy), lambda: restore(copy, sqlite_path)):
        with pytest.raises(BadInput, match="there already"):
            again()

    assert copy.read_bytes() == before


def test_what_is_no_yard_is_neither_copied_nor_put_back(sqlite_path: Path, tmp_path: Path) -> None:
    letter, other, newer = tmp_path / "letter.txt", tmp_path / "other.db", tmp_path / "newer.db"
    letter.write_text("Dear supplier, " * 100)
    back_up(sqlite_path, newer)
    for path, statement in (
        (other, "CREATE TABLE recipe (name TEXT)"),
        (newer, "UPDATE alembic_version SET version_num = '9999'"),
    ):
        with contextlib.closing(sqlite3.connect(path)) as connection, connection:
            connection.execute(statement)

    for path in (letter, other, newer):
        with pytest.raises(StoreUnusable):
            restore(path, tmp_path / "new.db")
    with pytest.raises(StoreUnusable):
        back_up(other, tmp_path / "new.db")
    with pytest.raises(StoreUnusable, match="no yard"):
        back_up(tmp_path / "nowhere.db", tmp_path / "new.db")
    with pytest.raises(BadInput, match="no copy"):
        restore(tmp_path / "nowhere.db", tmp_path / "new.db")
    assert not (tmp_path / "new.db").exists()
    assert not (tmp_path / "nowhere.db").exists()


def test_a_damaged_yard_is_not_copied(sqlite_yard: Yard, sqlite_path: Path, tmp_path: Path) -> None:
    with sqlite_yard.open_work() as work:
        receive(work, 400)
        work.commit()
    sqlite_yard.close()
    whole = sqlite_path.read_bytes()
    pages = len(whole) // 4096
    sqlite_path.write_bytes(whole[: (pages - 12) * 4096] + b"\x07" * 4096 * 10 + whole[(pages - 2) * 4096 :])

    with pytest.raises(StoreUnusable, match="damaged"):
        back_up(sqlite_path, tmp_path / "copy.db")

    assert list(tmp_path.glob("*copy*")) == []


def test_a_yard_on_a_server_has_its_own_way(postgres_url: str, tmp_path: Path) -> None:
    with pytest.raises(Refused, match="pg_dump"):
        back_up(postgres_url, tmp_path / "copy.db")
    with pytest.raises(Refused, match="pg_restore"):
        restore(tmp_path / "copy.db", postgres_url)


def test_pictures_go_with_a_copy_and_come_back_with_it(sqlite_path: Path, tmp_path: Path) -> None:
    with open_yard(sqlite_path, clock=at_noon) as yard:
        board = tally_in(yard, SPOTTED_GUM).pieces[0].number
        keep_photo(yard, board, Face.A, None, b"a face")
        keep_photo(yard, board, Face.B, None, b"its other face")
        with yard.open_work(reading=True) as work, work.picture_files.adding() as adding:
            adding.put(b"of somebody who is adding just now", "jpg")

    copy = back_up(sqlite_path, tmp_path / "away" / "monday.db")
    again = restore(copy, tmp_path / "new" / "yard.db")

    for place in (copy, again):
        carried = pictures_with(place)
        assert (carried.folder, carried.files, carried.missing) == (folder_beside(place), 2, 0)
        files = [path for path in carried.folder.rglob("*") if path.is_file()]
        assert sorted(path.read_bytes() for path in files) == [b"a face", b"its other face"]
    (tmp_path / "tuesday.db.pictures").mkdir()
    (tmp_path / "tuesday.db.pictures" / "holiday.jpg").write_bytes(b"of somebody else")
    with pytest.raises(BadInput, match="there already"):
        back_up(sqlite_path, tmp_path / "tuesday.db")
    assert not (tmp_path / "tuesday.db").exists()
    assert (tmp_path / "tuesday.db.pictures" / "holiday.jpg").read_bytes() == b"of somebody else"


def test_what_a_copy_stopped_half_way_left_behind_is_no_hindrance(sqlite_path: Path, tmp_path: Path) -> None:
    with open_yard(sqlite_path, clock=at_noon) as yard:
        keep_photo(yard, tally_in(yard, SPOTTED_GUM).pieces[0].number, Face.A, None, b"a face")
    copy = back_up(sqlite_path, tmp_path / "copy.db")
    copy.rename(tmp_path / ".copy.db.part")  # as before the last step, its pictures in place
    (tmp_path / ".copy.db.part.pictures").mkdir()

    back_up(sqlite_path, copy)

    assert (pictures_with(copy).files, pictures_with(copy).missing) == (1, 0)
    assert list(tmp_path.glob(".copy*")) == []


def test_a_file_put_aside_before_an_upgrade_comes_back_with_its_yards_pictures(
    sqlite_path: Path, tmp_path: Path
) -> None:
    with open_yard(sqlite_path, clock=at_noon) as yard:
        keep_photo(yard, tally_in(yard, SPOTTED_GUM).pieces[0].number, Face.A, None, b"a face")
    aside = copy_aside(sqlite_path, NOON)

    again = restore(aside, tmp_path / "new" / "yard.db")

    assert (pictures_with(again).files, pictures_with(again).missing) == (1, 0)


def test_a_copy_says_which_pictures_were_lost_before_it_was_taken(sqlite_path: Path, tmp_path: Path) -> None:
    with open_yard(sqlite_path, clock=at_noon) as yard:
        board = tally_in(yard, SPOTTED_GUM).pieces[0].number
        keep_photo(yard, board, Face.A, None, b"a face")
        keep_photo(yard, board, Face.B, None, b"its other face")
    next(folder_beside(sqlite_path).rglob("*.jpg")).write_bytes(b"overwritten")

    copy = back_up(sqlite_path, tmp_path / "copy.db")

    assert (pictures_with(copy).files, pictures_with(copy).missing) == (2, 1)
    assert len(list(folder_beside(copy).rglob("*.jpg"))) == 1
