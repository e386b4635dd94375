import shutil
from datetime import timedelta
from importlib import metadata
from pathlib import Path
from types import SimpleNamespace

import pytest

from stockyard.drawings import fonts
from stockyard.records import Yard, open_yard
from stockyard.services import errands
from stockyard.services.look_over import Finding, look_over_programme, look_over_yard
from tests.conftest import NOON, at_noon
from tests.records.test_move import with_a_picture
from tests.services.yards import receive


def told(found: list[Finding]) -> dict[str, Finding]:
    return {each.what: each for each in found}


def test_what_is_as_it_should_be_is_fine(yard: Yard, tmp_path: Path) -> None:
    receive(yard, "spotted gum,2400,180,32,48.00")
    found = look_over_programme() + look_over_yard(yard.open_work, tmp_path)
    assert [each for each in found if not each.fine] == []
    assert told(found)["records"].told.startswith("1 pieces and 1 movements")


def test_a_library_too_old_or_missing_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    real = metadata.version

    def version(name: str) -> str:
        if name == "shapely":
            raise metadata.PackageNotFoundError(name)
        return "1.0" if name == "numpy" else real(name)

    monkeypatch.setattr(metadata, "version", version)
    found = told(look_over_programme())["versions"]
    assert not found.fine
    assert "numpy is 1.0" in found.told
    assert "shapely is missing" in found.told


def test_fonts_and_a_reader_that_are_not_there_are_named(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    fonts.font_name.cache_clear()
    monkeypatch.setattr(fonts, "files", lambda package: tmp_path / package)
    monkeypatch.setenv("STOCKYARD_READER", str(tmp_path / "reader.onnx"))
    found = told(look_over_programme())
    fonts.font_name.cache_clear()
    assert (found["fonts"].fine, found["reader of faces"].fine) == (False, False)
    assert "pip install matplotlib" in found["fonts"].told


def test_pictures_that_are_gone_are_counted(sqlite_path: Path, tmp_path: Path) -> None:
    name = with_a_picture(sqlite_path)
    with open_yard(sqlite_path, clock=at_noon) as yard:
        assert told(look_over_yard(yard.open_work, tmp_path))["pictures"].fine
        next(tmp_path.rglob(name)).unlink()
        found = told(look_over_yard(yard.open_work, tmp_path))["pictures"]
    assert not found.fine
    assert found.told.startswith("1 of 1 files")


def test_a_disk_that_is_nearly_full_and_a_clock_that_went_back_are_told(
    sqlite_yard: Yard, sqlite_path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    receive(sqlite_yard, "spotted gum,2400,180,32,48.00")
    monkeypatch.setattr(shutil, "disk_usage", lambda _: SimpleNamespace(free=999_000_000))
    with open_yard(sqlite_path, clock=lambda: NOON - timedelta(days=30)) as yard:
        found = told(look_over_yard(yard.open_work, tmp_path))
    assert (found["disk"].fine, found["clock"].fine) == (False, False)
    assert "999 MB are free" in found["disk"].told
    assert "2026-03-02 12:00" in found["clock"].told


def test_errands_that_nobody_does_are_told(yard_place: str, tmp_path: Path) -> None:
    with open_yard(yard_place, clock=at_noon) as yard:
        errands.ask_for(yard.open_work, "select", {"job": "shelf"})
        fresh = told(look_over_yard(yard.open_work, tmp_path))["errands"]
    with open_yard(yard_place, clock=lambda: NOON + timedelta(minutes=11)) as yard:
        stale = told(look_over_yard(yard.open_work, tmp_path))["errands"]
    assert (fresh.fine, fresh.told.startswith("1 under way")) == (True, True)
    assert (stale.fine, "stockyard serve" in stale.told) == (False, True)
