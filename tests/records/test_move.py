import shutil
import threading
from decimal import Decimal
from pathlib import Path

import pytest
from sqlalchemy import create_engine, insert, text

from stockyard.errors import BadInput, Broken, StoreUnusable
from stockyard.records import move, open_yard
from stockyard.records.archived_tables import Archived, TableTally, text_of
from stockyard.records.connect import connect, yard_url
from stockyard.records.migrate import Standing, standing
from stockyard.records.move import move_yard
from stockyard.records.tables import PictureRow
from stockyard.services.check_books import check_books
from stockyard.services.people import add_person, sign_in, whose_sign_in
from stockyard.timber.person import Role
from tests.conftest import NOON, at_noon
from tests.records.test_archive import everything, filled
from tests.services.yards import receive


def with_a_picture(place: str | Path) -> str:
    """Have one picture on record and in its folder. Returns its file's name."""
    with open_yard(place, clock=at_noon) as yard, yard.open_work() as work:
        with work.picture_files.adding() as adding:
            digest = adding.put(b"a board's face", "jpg")
        row = {"digest": digest, "given_digest": digest, "thumb_digest": digest, "extension": "jpg"}
        sizes = {"size_bytes": 14, "width_px": 1, "height_px": 1}
        more = {"name": "face.jpg", "located": False, "at": NOON, "who": "Ann"}
        work.connection.execute(insert(PictureRow), {**row, **sizes, **more})
        work.commit()
    return f"{digest}.jpg"


def standing_of(place: str) -> Standing:
    engine = connect(yard_url(place))
    try:
        return standing(engine)
    finally:
        engine.dispose()


def test_a_yard_goes_to_a_server_and_back_to_a_file_with_all_it_holds(
    sqlite_path: Path, empty_postgres_url: str, tmp_path: Path
) -> None:
    filled(str(sqlite_path))
    name = with_a_picture(sqlite_path)
    with open_yard(sqlite_path) as yard:
        add_person(yard.open_work, "Robin", Role.MAKER, "a long enough one")
        token = sign_in(yard.open_work, "Robin", "a long enough one", "")
    before, pictures = everything(str(sqlite_path)), tmp_path / "pictures"

    there = move_yard(sqlite_path, empty_postgres_url, now=NOON, target_pictures=pictures)
    back = move_yard(empty_postgres_url, str(tmp_path / "back.db"), now=NOON, pictures=pictures)

    assert everything(empty_postgres_url) == everything(str(tmp_path / "back.db")) == before
    assert back.tables == there.tables
    told = {each.name: each for each in there.tables}
    assert (told["piece"].rows, told["piece"].sums["value"]) == (4, Decimal("144.10"))
    assert {name for name in told if told[name].rows} == {name for name, rows in before.items() if rows}
    for place, folder in ((empty_postgres_url, pictures), (tmp_path / "back.db", None)):
        with open_yard(place, clock=at_noon, pictures=folder) as yard:
            assert check_books(yard.open_work).disagreements == ()
            with yard.open_work(reading=True) as work:
                assert work.picture_files.read(name) == b"a board's face"
            receive(yard, "spotted gum,2400,180,32,48.00", docket="2")
    with open_yard(empty_postgres_url) as yard:
        who = whose_sign_in(yard.open_work, token)
        assert who is not None
        assert who.name == "Robin"


def test_a_database_that_sorts_as_a_dictionary_gives_the_same_proof() -> None:
    """Servers sort text by their own locale; here, a column that takes small and large letters as one."""
    shape = Archived("fact", (("name", "text"),), ("name",))
    engine = create_engine("sqlite://")
    told = []
    with engine.begin() as connection:
        for order in ("BINARY", "NOCASE"):
            connection.execute(text("DROP TABLE IF EXISTS fact"))
            connection.execute(text(f"CREATE TABLE fact (name TEXT COLLATE {order} PRIMARY KEY)"))
            connection.execute(text("INSERT INTO fact VALUES ('b'), ('A'), ('C')"))
            told.append(b"".join(text_of(connection, shape, TableTally())))
    engine.dispose()
    assert told == [b"name\nA\nC\nb\n"] * 2


@pytest.mark.parametrize("made_before", [False, True])
def test_a_proof_that_fails_leaves_the_target_as_it_was(
    empty_place: str,
    sqlite_template: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    made_before: bool,
) -> None:
    source = tmp_path / "source.db"
    shutil.copyfile(sqlite_template, source)
    filled(str(source))
    with_a_picture(source)
    if made_before:
        open_yard(empty_place).close()
    stands = standing_of(empty_place) if made_before or "://" in empty_place else Standing.EMPTY
    wrong = TableTally.as_json

    def one_less(tally: TableTally) -> dict[str, object]:
        told = wrong(tally)
        return {**told, "rows": told["rows"] - 1} if told["rows"] == 4 and "value" in told["sums"] else told

    monkeypatch.setattr(move.TableTally, "as_json", one_less)
    counted = iter(range(1000))
    monkeypatch.setattr(
        move.TableTally, "as_json", lambda tally: one_less(tally) if next(counted) % 2 else wrong(tally)
    )

    with pytest.raises(Broken, match="nothing was kept"):
        move_yard(source, empty_place, now=NOON, target_pictures=tmp_path / "pictures")

    assert list(tmp_path.rglob("*.jpg")) == list((tmp_path / "source.db.pictures").rglob("*.jpg"))
    if "://" in empty_place or made_before:
        assert standing_of(empty_place) is stands
    else:
        assert not Path(empty_place).exists()


def test_only_an_empty_place_is_moved_to_and_only_what_is_there_is_moved(
    yard_place: str, tmp_path: Path
) -> None:
    filled(yard_place)
    before = everything(yard_place)
    other = tmp_path / "other.db"
    with open_yard(other, clock=at_noon) as yard:
        receive(yard, "spotted gum,2400,180,32,48.00")

    with pytest.raises(BadInput, match="only an empty yard is filled"):
        move_yard(other, yard_place, now=NOON)
    with pytest.raises(BadInput, match="where it is"):
        move_yard(yard_place, yard_place, now=NOON)
    with pytest.raises(StoreUnusable, match="There is no yard"):
        move_yard(tmp_path / "none.db", yard_place, now=NOON)
    assert everything(yard_place) == before


def test_a_picture_that_is_lost_or_has_nowhere_to_go_stops_the_move(
    sqlite_path: Path, empty_postgres_url: str, tmp_path: Path
) -> None:
    name = with_a_picture(sqlite_path)
    with pytest.raises(BadInput, match="STOCKYARD_PICTURES"):
        move_yard(sqlite_path, empty_postgres_url, now=NOON)
    next(tmp_path.rglob(name)).unlink()
    with pytest.raises(StoreUnusable, match=r"photo check"):
        move_yard(sqlite_path, empty_postgres_url, now=NOON, target_pictures=tmp_path / "pictures")
    assert standing_of(empty_postgres_url) is Standing.EMPTY


def test_of_two_moves_to_one_place_one_gets_in(
    sqlite_path: Path, tmp_path: Path, empty_postgres_url: str
) -> None:
    filled(str(sqlite_path))
    said: list[str] = []
    start = threading.Barrier(2)

    def go() -> None:
        start.wait()
        try:
            move_yard(sqlite_path, empty_postgres_url, now=NOON)
        except BadInput as refusal:
            said.append(refusal.message)
        else:
            said.append("moved")

    both = [threading.Thread(target=go) for _ in range(2)]
    for each in both:
        each.start()
    for each in both:
        each.join()

    assert sorted("moved" if each == "moved" else "refused" for each in said) == ["moved", "refused"]
    assert everything(empty_postgres_url) == everything(str(sqlite_path))
