from pathlib import Path

import pytest

from stockyard.errors import BadInput, Refused
from stockyard.records import Yard
from stockyard.web.serving import of_this_machine, serve


@pytest.mark.parametrize(
    ("host", "only_here"),
    [("127.0.0.1", True), ("localhost", True), ("::1", True), ("[::1]", True), ("0.0.0.0", False),
     ("::", False), ("192.168.1.20", False), ("workshop.example", False)],
)  # fmt: skip
def test_only_loopback_is_this_machine(host: str, only_here: bool) -> None:
    assert of_this_machine(host) is only_here


def test_a_yard_without_people_is_not_opened_to_the_network(sqlite_yard: Yard) -> None:
    with pytest.raises(Refused, match="stockyard people add"):
        serve(sqlite_yard.open_work, "0.0.0.0", 0)


def test_https_needs_both_halves(sqlite_yard: Yard) -> None:
    with pytest.raises(BadInput, match="its key"):
        serve(sqlite_yard.open_work, certificate=Path("cert.pem"))
