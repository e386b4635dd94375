"""Texts and templates agree: none is missing, none is left over."""

import re
from pathlib import Path

import pytest

import stockyard.web
from stockyard.errors import Broken
from stockyard.web.screens import every_screen
from stockyard.web.texts import catalogue, counted, text

WEB = Path(stockyard.web.__file__).parent
SOURCES = {
    path: path.read_text(encoding="utf-8")
    for folder, kind in (("templates", "*.html"), (".", "*.py"))
    for path in (WEB / folder).rglob(kind)
    if path != WEB / "__init__.py"  # whose examples are of a screen that is not there
}
ASKED = re.compile(r"""(?<![.\w])(?:t|text|tn|counted)\(f?["']([a-z_.]+)["']([^)~]*)""")
BUILT = re.compile(r"""(?<![.\w])(?:t|text)\(f?["']([a-z_]+(?:\.[a-z_]+)*)\.["{]""")


def test_every_text_asked_for_is_there() -> None:
    missing = [
        f"{path.name}: {key}"
        for path, source in SOURCES.items()
        for key, _ in ASKED.findall(source)
        if not key.endswith(".") and key not in catalogue() and f"{key}.other" not in catalogue()
    ]
    assert missing == []


def test_every_text_there_is_is_asked_for() -> None:
    everything = "\n".join(SOURCES.values())
    whole = {key for source in SOURCES.values() for key, _ in ASKED.findall(source)}
    starts = {key for source in SOURCES.values() for key in BUILT.findall(source)}
    starts |= {key.rstrip(".") for key in whole if key.endswith(".")}
    unused = [
        key
        for key in catalogue()
        if key not in whole
        and key.removesuffix(".one").removesuffix(".other") not in whole
        and key.rpartition(".")[0] not in starts
        and not key.endswith(".entry")
        and f'"{key.rpartition(".")[2]}"' not in everything
    ]
    assert unused == []


def test_every_screen_in_the_navigation_has_its_word() -> None:
    assert all(text(f"{screen.name}.entry") for screen in every_screen() if screen.entry)


def test_a_text_that_counts_says_one_or_many() -> None:
    assert counted("rack.pieces", 1) == "1 piece"
    assert counted("rack.pieces", 100_000) == "100,000 pieces"


def test_a_missing_text_is_a_fault_of_ours() -> None:
    with pytest.raises(Broken, match=r"rack\.nonsense"):
        text("rack.nonsense")


def test_no_template_holds_script_or_style_of_its_own() -> None:
    inline = re.compile(r"<script(?![^>]*\bsrc=)|<style|\sstyle=|\son[a-z]+=|javascript:", re.IGNORECASE)
    assert [
        path.name for path, source in SOURCES.items() if path.suffix == ".html" and inline.search(source)
    ] == []


def test_every_form_that_posts_carries_its_token() -> None:
    without = [
        path.name
        for path, source in SOURCES.items()
        if path.suffix == ".html"
        for form in re.findall(r'<form[^>]*method="post".*?</form>', source, re.DOTALL)
        if "csrf(visit)" not in form
    ]
    assert without == []


def test_no_page_style_or_script_names_another_site() -> None:
    files = [*(WEB / "templates").rglob("*.html"), *(WEB / "static").iterdir()]
    outside = re.compile(r"""(?:https?:)?//(?!www\.w3\.org/)[a-z0-9-]+\.[a-z]""", re.IGNORECASE)
    assert len(files) > 20
    assert [file.name for file in files if outside.search(file.read_text(encoding="utf-8"))] == []
