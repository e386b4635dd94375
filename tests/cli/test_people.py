from pathlib import Path

from tests.cli.command import stockyard


def test_people_are_added_listed_and_changed(tmp_path: Path) -> None:
    db, secret = tmp_path / "yard.db", tmp_path / "secret"
    secret.write_text("a long enough one\n")
    added = stockyard("--db", db, "people", "add", "Robin", "--password-file", secret)
    assert added.out == "Robin may sign in as a maker.\n"
    stockyard("--db", db, "people", "add", "Kim", "--role", "reader", "--password-file", secret)

    changed = stockyard("--db", db, "people", "change", "kim", "--role", "maker", "--left")
    assert changed.out == "Kim: maker, has left.\n"

    listed = stockyard("--db", db, "people", "list", "--json").json
    assert [(each["name"], each["role"], each["has_left"]) for each in listed] == [
        ("Kim", "maker", True),
        ("Robin", "maker", False),
    ]
    assert "password" not in listed[0]


def test_a_short_password_is_refused_and_nobody_is_added(tmp_path: Path) -> None:
    db, secret = tmp_path / "yard.db", tmp_path / "secret"
    secret.write_text("short")
    answer = stockyard("--db", db, "people", "add", "Robin", "--password-file", secret, code=2)
    assert "10 to 200 characters" in answer.err
    assert stockyard("--db", db, "people", "list", "--json").json == []


def test_the_network_is_refused_while_nobody_has_to_sign_in(tmp_path: Path) -> None:
    answer = stockyard("--db", tmp_path / "yard.db", "serve", "--host", "0.0.0.0", code=3)
    assert "stockyard people add" in answer.err
    assert answer.out == ""
