"""The JSON interface as a script uses it."""

from fastapi.testclient import TestClient

BOX = {"kind": "crack", "face": "A", "box": [100, 20, 300, 30]}


def test_boards_come_in_pages_that_say_where_to_go_on(browser: TestClient) -> None:
    path, seen, links = "/api/boards?limit=3", [], []
    while path:
        answer = browser.get(path)
        told = answer.json()
        seen += [board["id"] for board in told["boards"]]
        links.append(answer.headers.get("link", ""))
        path = told["next"]
    assert seen == ["BB-0001", "SG-0001", "SG-0002", "SG-0003"]
    assert links[0].endswith('; rel="next"')
    assert links[1] == ""


def test_a_board_uses_the_names_of_the_interchange_files(browser: TestClient) -> None:
    board = browser.get("/api/boards/SG-0001").json()
    assert {key: board[key] for key in ("id", "species", "length", "width", "thickness", "value")} == {
        "id": "SG-0001",
        "species": "spotted gum",
        "length": 2400.0,
        "width": 180.0,
        "thickness": 32.0,
        "value": 48,
    }


def test_whoever_has_it_already_gets_no_body(browser: TestClient) -> None:
    first = browser.get("/api/boards/SG-0001")
    again = browser.get("/api/boards/SG-0001", headers={"If-None-Match": first.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")


def test_two_who_map_one_board_cannot_silently_overwrite_each_other(browser: TestClient) -> None:
    path = "/api/boards/SG-0001/defects"
    both_saw = browser.get(path).headers["etag"]

    first = browser.post(path, json=BOX, headers={"If-Match": both_saw})
    second = browser.post(path, json=BOX, headers={"If-Match": both_saw})

    assert first.status_code == 201
    assert second.status_code == 412
    assert second.json()["type"] == "/api/problems#changed-meanwhile"
    assert len(browser.get(path).json()["defects"]) == 1
    again = browser.post(path, json=BOX, headers={"If-Match": first.headers["etag"]})
    assert again.status_code == 201


def test_a_change_without_saying_what_was_seen_is_refused(browser: TestClient) -> None:
    answer = browser.post("/api/boards/SG-0001/defects", json=BOX)
    assert answer.status_code == 428


def test_a_defect_is_changed_and_taken_off(browser: TestClient) -> None:
    path = "/api/boards/SG-0001/defects"
    etag = browser.get(path).headers["etag"]
    added = browser.post(path, json=BOX, headers={"If-Match": etag})
    assert added.json()["outline"] == [[100, 20], [300, 20], [300, 30], [100, 30]]

    edited = browser.patch(f"{path}/1", json={"depth": 5}, headers={"If-Match": added.headers["etag"]})
    assert (edited.json()["depth"], edited.json()["version"]) == (5, 2)

    gone = browser.delete(f"{path}/1?because=slip", headers={"If-Match": edited.headers["etag"]})
    assert gone.status_code == 200
    assert browser.get(path).json() == {"defects": []}


def test_every_fault_is_told_with_its_place(browser: TestClient) -> None:
    etag = browser.get("/api/boards/SG-0001").headers["etag"]
    drawn = {"kind": "crack", "face": "A", "box": [100, 20, 9000, 30], "depth": 99}
    answer = browser.post("/api/boards/SG-0001/defects", json=drawn, headers={"If-Match": etag})
    assert answer.status_code == 422
    assert answer.headers["content-type"] == "application/problem+json"
    told = answer.json()
    assert set(told) == {"type", "title", "status", "detail", "faults"}
    assert {fault["where"].partition("[")[0] for fault in told["faults"]} == {"depth", "box"}


def test_unknown_keys_and_numbers_that_are_not_finite_are_refused(browser: TestClient) -> None:
    etag = browser.get("/api/boards/SG-0001").headers["etag"]
    headers = {"If-Match": etag, "Content-Type": "application/json"}
    for body in ('{"lenght": 5}', '{"length": NaN}', '{"length": 1e999}', "[]", "{"):
        answer = browser.patch("/api/boards/SG-0001", content=body, headers=headers)
        assert answer.status_code == 422, body
        assert answer.json()["faults"], body


def test_a_board_that_is_not_there_is_a_problem_with_near_names(browser: TestClient) -> None:
    told = browser.get("/api/boards/SG-0009").json()
    assert (told["status"], told["type"]) == (404, "/api/problems#not-found")
    assert "SG-0001" in told["detail"]


def test_the_description_names_every_path_and_its_problems(browser: TestClient) -> None:
    described = browser.get("/api/openapi.json").json()
    assert described["openapi"].startswith("3.1")
    assert "/api/boards/{number}/defects" in described["paths"]
    problem = described["paths"]["/api/boards/{number}"]["patch"]["responses"]["412"]
    assert "application/problem+json" in problem["content"]


def test_every_problem_that_is_told_is_listed(browser: TestClient) -> None:
    listed = {each["type"] for each in browser.get("/api/problems").json()["problems"]}
    for path in ("/api/boards/NONE", "/api/nothing", "/api/errands/0"):
        assert browser.get(path).json()["type"] in listed, path
