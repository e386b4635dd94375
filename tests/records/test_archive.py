import csv
import io
import json
import shutil
import zipfile
from decimal import Decimal
from pathlib import Path

import pytest
from sqlalchemy import insert, select

from stockyard.errors import BadInput, StoreUnusable
from stockyard.records import migrate, open_yard
from stockyard.records.archive import export_archive, import_archive
from stockyard.records.connect import connect, yard_url
from stockyard.records.tables import Base, PictureRow
from stockyard.services.check_books import check_books
from stockyard.services.supplies import add_supply, buy_supply
from tests.conftest import NOON, at_noon
from tests.services.yards import receive
from tests.stocking import a_plan, keep_plan
from tests.stocking import receive as receive_plain


def filled(place: str) -> None:
    """A little of everything that is hard to write down: money, days, moments, documents, nothing at all."""
    with open_yard(place, clock=at_noon) as yard:
        receive(yard, r"spotted gum,2400,180,32,48.00", "blackbutt,1999.5,150,25,0.10")
        with yard.open_work(who="Ann\\Bea") as work:
            keep_plan(work, a_plan(receive_plain(work, 2, note='\\N or "quoted", ünd\nzwei Zeilen')))
            work.pieces.change("SG-0001", heart_face=None, colour_a=(51.2, 10.0, 20.25), cause=r"\N")
            work.workshop.set("nothing", None)
            work.workshop.set("long", "a plan's document of a large stock " * 10_000)
            work.commit()
        add_supply(yard.open_work, "PVA glue", kind="glue", unit="g")
        buy_supply(yard.open_work, "PVA glue", Decimal("1000.125"), cost=Decimal("14.50"), supplier="Brolga")


def everything(place: str) -> dict[str, list[tuple[object, ...]]]:
    engine = connect(yard_url(place))
    with engine.connect() as connection:
        rows = {
            each.name: [tuple(row) for row in connection.execute(select(each).order_by(*each.primary_key))]
            for each in Base.metadata.sorted_tables
        }
    engine.dispose()
    return rows


def test_a_yard_comes_out_of_its_archive_as_it_went_in(
    yard_place: str, empty_place: str, tmp_path: Path
) -> None:
    filled(yard_place)
    archive = tmp_path / "yard.zip"

    out = export_archive(yard_place, archive, now=NOON)
    back = import_archive(archive, empty_place)

    assert everything(empty_place) == everything(yard_place)
    assert (out.tables["piece"], out.tables["movement"]) == (4, 3)
    assert (back.tables, back.digest) == (out.tables, out.digest)
    with open_yard(empty_place, clock=at_noon) as yard:
        assert check_books(yard.open_work).disagreements == ()
        receive(yard, "spotted gum,2400,180,32,48.00", docket="2")  # and goes on numbering where it stopped
        with yard.open_work(reading=True) as work:
            assert work.pieces.get("SG-0004").delivery == "2"
    again = export_archive(yard_place, tmp_path / "again.zip", now=NOON)
    assert again.digest == out.digest


def test_both_databases_write_the_same_archive(
    sqlite_path: Path, empty_postgres_url: str, tmp_path: Path
) -> None:
    filled(str(sqlite_path))
    first = export_archive(sqlite_path, tmp_path / "a.zip", now=NOON)
    import_archive(tmp_path / "a.zip", empty_postgres_url)

    second = export_archive(empty_postgres_url, tmp_path / "b.zip", now=NOON)

    assert second.digest == first.digest


def test_an_archive_is_plain_text_that_any_programme_reads(sqlite_path: Path, tmp_path: Path) -> None:
    filled(str(sqlite_path))
    export_archive(sqlite_path, tmp_path / "yard.zip", now=NOON)

    with zipfile.ZipFile(tmp_path / "yard.zip") as archive:
        listed = json.loads(archive.read("archive.json"))
        pieces = list(csv.DictReader(io.StringIO(archive.read("tables/piece.csv").decode(), newline="")))
    assert [row["number"] for row in pieces] == ["SG-0001", "BB-0001", "SG-0002", "SG-0003"]
    assert (pieces[0]["value"], pieces[1]["length_mm"], pieces[0]["parent_id"]) == ("48.00", "1999.5", "\\N")
    worth = sum(Decimal(row["value"]) for row in pieces)
    assert Decimal(listed["tables"]["piece"]["sums"]["value"]) == worth == Decimal("144.10")
    assert "sign_in" not in listed["tables"]


def test_pictures_travel_along_and_are_proved(sqlite_path: Path, tmp_path: Path) -> None:
    with open_yard(sqlite_path, clock=at_noon) as yard, yard.open_work() as work:
        with work.picture_files.adding() as adding:
            names = [adding.put(content, "jpg") for content in (b"a board's face", b"a small view")]
        row = {"digest": names[0], "given_digest": names[0], "thumb_digest": names[1], "extension": "jpg"}
        sizes = {"size_bytes": 14, "width_px": 1, "height_px": 1}
        more = {"name": "face.jpg", "located": False, "at": NOON, "who": "Ann"}
        work.connection.execute(insert(PictureRow), {**row, **sizes, **more})
        work.commit()

    out = export_archive(sqlite_path, tmp_path / "yard.zip", now=NOON)
    import_archive(tmp_path / "yard.zip", tmp_path / "back.db")

    assert out.pictures == 2
    with open_yard(tmp_path / "back.db") as yard, yard.open_work(reading=True) as work:
        assert work.picture_files.read(f"{names[0]}.jpg") == b"a board's face"
    with zipfile.ZipFile(tmp_path / "yard.zip") as whole, zipfile.ZipFile(tmp_path / "bad.zip", "w") as bad:
        for name in whole.namelist():
            bad.writestr(name, b"another face" if name.endswith(f"{names[0]}.jpg") else whole.read(name))
    with pytest.raises(BadInput, match="picture"):
        import_archive(tmp_path / "bad.zip", tmp_path / "other.db")
    assert not (tmp_path / "other.db").exists()


def test_only_an_empty_yard_is_filled(yard_place: str, tmp_path: Path) -> None:
    filled(yard_place)
    export_archive(yard_place, tmp_path / "yard.zip", now=NOON)

    with pytest.raises(BadInput, match="only an empty yard is filled"):
        import_archive(tmp_path / "yard.zip", yard_place)
    with pytest.raises(BadInput, match="nothing is written over"):
        export_archive(yard_place, tmp_path / "yard.zip", now=NOON)


def test_a_yard_that_was_made_and_never_used_may_be_filled(sqlite_path: Path, tmp_path: Path) -> None:
    used = tmp_path / "used.db"
    shutil.copyfile(sqlite_path, used)
    filled(str(used))
    export_archive(used, tmp_path / "yard.zip", now=NOON)

    import_archive(tmp_path / "yard.zip", sqlite_path)

    assert everything(str(sqlite_path)) == everything(str(used))


def test_an_archive_of_an_older_yard_is_brought_up_to_date(
    sqlite_path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    filled(str(sqlite_path))
    export_archive(sqlite_path, tmp_path / "yard.zip", now=NOON)
    folder = tmp_path / "migrations"
    shutil.copytree(migrate.migrations_folder(), folder)
    (folder / "versions" / "9999_later.py").write_text(
        "import sqlalchemy as sa\nfrom alembic import op\n"
        f"revision, down_revision = 'later', {migrate.HEAD!r}\n"
        "def upgrade():\n    op.create_table('shelf', sa.Column('id', sa.Integer(), primary_key=True))\n"
        "def downgrade():\n    op.drop_table('shelf')\n"
    )
    monkeypatch.setattr(migrate, "migrations_folder", lambda: folder)
    monkeypatch.setattr(migrate, "HEAD", "later")
    monkeypatch.setattr("stockyard.records.filling.HEAD", "later")

    import_archive(tmp_path / "yard.zip", tmp_path / "new.db")

    with open_yard(tmp_path / "new.db") as yard, yard.open_work(reading=True) as work:
        assert len(work.pieces.find()) == 4


@pytest.mark.parametrize(
    ("member", "change", "complaint"),
    [
        ("tables/piece.csv", lambda text: text.replace("48.00", "84.00", 1), "table piece is not"),
        ("archive.json", lambda text: text.replace('"rows": 4', '"rows": 5'), "damaged"),
        ("archive.json", lambda text: text.replace("archive/1", "archive/2"), "format"),
        ("archive.json", lambda text: text.replace(f'"{migrate.HEAD}"', '"9999"'), "newer"),
        ("archive.json", lambda text: text[:100], "no archive of a yard"),
        ("archive.json", lambda text: "[]", "no archive of a yard"),
    ],
)
def test_a_damaged_archive_leaves_nothing_behind(
    sqlite_path: Path, tmp_path: Path, member: str, change: object, complaint: str
) -> None:
    filled(str(sqlite_path))
    export_archive(sqlite_path, tmp_path / "whole.zip", now=NOON)
    with zipfile.ZipFile(tmp_path / "whole.zip") as whole, zipfile.ZipFile(tmp_path / "bad.zip", "w") as bad:
        for name in whole.namelist():
            content = whole.read(name).decode()
            bad.writestr(name, change(content) if name == member else content)  # type: ignore[operator]

    with pytest.raises(BadInput, match=complaint):
        import_archive(tmp_path / "bad.zip", tmp_path / "new" / "yard.db")

    assert list(tmp_path.glob("new/*")) == []


def test_what_is_no_archive_is_refused(tmp_path: Path) -> None:
    (tmp_path / "words.zip").write_text("words")
    with pytest.raises(BadInput, match="no archive"):
        import_archive(tmp_path / "words.zip", tmp_path / "yard.db")
    with pytest.raises(BadInput, match="There is no archive"):
        import_archive(tmp_path / "none.zip", tmp_path / "yard.db")
    with pytest.raises(StoreUnusable, match="There is no yard"):
        export_archive(tmp_path / "yard.db", tmp_path / "yard.zip", now=NOON)
