from fastapi.testclient import TestClient

from stockyard.records import Yard
from stockyard.web.app import create_app
from tests.services.yards import receive
from tests.web.conftest import HERE


def test_each_place_is_shown_with_what_it_comes_to(sqlite_yard: Yard) -> None:
    receive(sqlite_yard, "jarrah,2000,100,25,20.00", "jarrah,1000,100,50,30.00", place="rack 1")
    receive(sqlite_yard, *["jarrah,2000,100,25,10.00"] * 40, docket="2", place="rack 2")
    with TestClient(create_app(sqlite_yard.open_work, at_work=False), base_url=HERE) as client:
        page = client.get("/rack/shelves").text
    first, second = page.split("<section")[1:]
    # 2000 x 100 x 25 + 1000 x 100 x 50 mm is 0.010 m3
    assert "2 pieces, 0.010 m³, 3.0 m, 50.00 AUD" in first
    assert first.count("<rect") == 2
    assert "40 pieces" in second
    assert "36 of 40 shown" in second
    assert 'href="/rack?place=rack%202"' in second
