import re

from fastapi.testclient import TestClient

from stockyard.records import Yard
from stockyard.web.app import create_app
from tests.services.yards import receive
from tests.web.conftest import HERE, post

NUMBER = re.compile(r'<span class="number">([A-Z]+-\d+)</span>')


def shown(page: str) -> list[str]:
    return NUMBER.findall(page)


def test_the_rack_lists_every_piece_with_what_they_come_to(browser: TestClient) -> None:
    page = browser.get("/rack").text
    assert shown(page) == ["BB-0001", "SG-0001", "SG-0002", "SG-0003"]
    # 2400 x 180 x 32 + 3000 x 150 x 32 + 1800 x 140 x 25 + 2100 x 120 x 25 mm
    assert "0.041 m³" in page
    assert "9.3 m run" in page
    assert "151.50 AUD" in page


def test_filters_narrow_the_list_and_the_totals(browser: TestClient) -> None:
    for query, expected in {
        "words=gum": ["SG-0001", "SG-0002", "SG-0003"],
        "words=gum sg-0002": ["SG-0002"],
        "species=blackbutt": ["BB-0001"],
        "min_length=2100&max_length=2400": ["BB-0001", "SG-0001"],
        "min_thickness=30&max_width=160": ["SG-0002"],
        "place=rack 1&order=longest": ["SG-0002", "SG-0001", "BB-0001", "SG-0003"],
        "order=dearest": ["SG-0002", "SG-0001", "SG-0003", "BB-0001"],
        "words=100%": [],
    }.items():
        page = browser.get(f"/rack?{query}").text
        assert shown(page) == expected, query
        pieces = f"{len(expected)} piece{'' if len(expected) == 1 else 's'}"
        assert pieces in page, query


def test_a_filter_half_typed_filters_nothing(browser: TestClient) -> None:
    for query in ("min_length=2x", "max_moisture=abc", "status=nonsense", "order=prettiest", "after="):
        assert len(shown(browser.get(f"/rack?{query}").text)) == 4, query


def test_an_unknown_species_is_said_with_near_names(browser: TestClient) -> None:
    answer = browser.get("/rack?species=spoted gum")
    assert answer.status_code == 404
    assert "spotted gum" in answer.text


def test_lengths_are_typed_and_shown_in_inches_for_those_who_like_them(browser: TestClient) -> None:
    post(browser, "/ways", units="in")
    page = browser.get("/rack?min_length=94").text  # 2387.6 mm
    assert shown(page) == ["SG-0001", "SG-0002"]
    assert "7&#39; 10 1/2&#34; × 7 1/16&#34; × 1 1/4&#34;" in page  # 2400 x 180 x 32 mm to a sixteenth


def test_a_long_rack_comes_in_pages_each_piece_once_in_every_order(sqlite_yard: Yard) -> None:
    receive(
        sqlite_yard, *(f"jarrah,{2000 + 100 * (n % 7)},{100 + n % 5},25,{10 + n % 3}" for n in range(150))
    )
    app = create_app(sqlite_yard.open_work, at_work=False)
    with TestClient(app, base_url=HERE) as client:
        for order in ("number", "longest", "widest", "thickest", "driest", "dearest"):
            seen: list[str] = []
            path = f"/rack?order={order}"
            pages = 0
            while path:
                page = client.get(path).text
                seen += shown(page)
                pages += 1
                further = re.search(r'data-further="([^"]+)"', page)
                path = further[1].replace("&amp;", "&") if further else ""
            assert pages == 3
            assert sorted(seen) == [f"JA-{n:04d}" for n in range(1, 151)], order


def test_the_rows_alone_are_what_the_page_holds(browser: TestClient) -> None:
    rows, page = browser.get("/rack/rows?words=gum").text, browser.get("/rack?words=gum").text
    assert "<html" not in rows
    assert " ".join(rows.split()) in " ".join(page.split())


def test_what_a_person_wrote_is_shown_as_text(sqlite_yard: Yard) -> None:
    receive(sqlite_yard, "spotted gum,2400,180,32,48.00", place="<script>alert(1)</script>")
    with TestClient(create_app(sqlite_yard.open_work, at_work=False), base_url=HERE) as client:
        page = client.get("/rack").text
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(1)" in page
