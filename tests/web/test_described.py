"""Everything the OpenAPI description allows, and much it does not, asked of the JSON interface at random."""

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
import schemathesis
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from hypothesis.errors import Unsatisfiable
from requests import Request
from schemathesis import GenerationMode
from schemathesis.checks import FailureGroup, not_a_server_error
from schemathesis.specs.openapi.checks import content_type_conformance, status_code_conformance

from stockyard.records import open_yard, upgrade
from stockyard.services.jobs import add_job
from stockyard.services.plan_job import plan_job
from stockyard.web.app import create_app
from tests.services.yards import receive
from tests.web.conftest import HERE, ROWS, token_in
from tests.web.test_errands import JOB

EXAMPLES = int(os.environ.get("STOCKYARD_ASKED", "5"))
"""How often each operation is asked in each mode; STOCKYARD_ASKED=N before pytest says otherwise."""

CHECKS = [not_a_server_error, status_code_conformance, content_type_conformance]
_ASKED = ("method", "url", "headers", "params", "json", "data", "files", "cookies")
KNOWN: dict[str, list[Any]] = {
    "number": ["SG-0001", "SG-0002", "BB-0001", "1", "2"],
    "name": ["shelf", "stock", "worth", "journal"],
    "job": ["shelf"],
    "photo": ["1"],
    "face": ["A", "B"],
    "place": ["shop", "rack 1"],
}


@pytest.fixture(scope="module")
def asked(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """The app on a yard with a few boards, a job and its plan; what fails inside comes back as an answer."""
    path: Path = tmp_path_factory.mktemp("asked") / "yard.db"
    upgrade(path)
    with open_yard(path) as yard:
        receive(yard, *ROWS)
        add_job(yard.open_work, JOB)
        plan_job(yard.open_work, "shelf", seconds=5)
        app = create_app(yard.open_work, at_work=False)
        with TestClient(app, base_url=HERE, raise_server_exceptions=False) as client:
            client.post("/api/stocktakes", json={"place": "rack 1"})
            yield client


@pytest.mark.parametrize("mode", list(GenerationMode), ids=lambda mode: mode.value)
def test_no_answer_is_a_server_error_or_one_that_is_not_described(
    asked: TestClient, mode: GenerationMode
) -> None:
    described = schemathesis.openapi.from_dict(asked.get("/api/openapi.json").json())
    token = token_in(asked.get("/").text)
    wrong: dict[str, str] = {}
    operations = [found.ok() for found in described.get_all_operations()]
    assert len(operations) > 30
    for operation in operations:
        try:
            cases = operation.as_strategy(generation_mode=mode)

            @settings(
                max_examples=EXAMPLES,
                derandomize=True,
                deadline=None,
                database=None,
                phases=[Phase.explicit, Phase.generate],
                suppress_health_check=list(HealthCheck),
            )
            @given(case=cases, known=st.booleans(), which=st.integers(0, 99), seen=st.booleans())
            def ask(case: schemathesis.Case, known: bool, which: int, seen: bool) -> None:
                if known:
                    for name in case.path_parameters or {}:
                        if some := KNOWN.get(name):
                            case.path_parameters[name] = some[which % len(some)]
                answer = _sent(asked, case, token, seen)
                case.validate_response(answer, checks=CHECKS)

            ask()
        except Unsatisfiable:
            assert mode is GenerationMode.NEGATIVE  # there is nothing about it to be said wrongly
        except (Exception, FailureGroup) as fault:
            wrong[operation.label] = f"{type(fault).__name__}: {fault}"[:1500]
    if wrong:
        pytest.fail("\n\n".join(f"{label}\n{told}" for label, told in wrong.items()), pytrace=False)


def _sent(client: TestClient, case: schemathesis.Case, token: str, seen: bool) -> Any:
    """The answer to a case, asked as a script that has seen the board as it is, or that has not."""
    asked = {key: value for key, value in case.as_transport_kwargs(base_url=HERE).items() if key in _ASKED}
    headers = {**dict(asked.pop("headers", None) or {}), "X-CSRF-Token": token}
    number = (case.path_parameters or {}).get("number")
    if seen and isinstance(number, str):
        board = client.get(f"/api/boards/{quote(number, safe='')}")
        if "etag" in board.headers:
            headers["If-Match"] = board.headers["etag"]
    ready = Request(headers=headers, **asked).prepare()
    body = ready.body.encode() if isinstance(ready.body, str) else ready.body
    answer = client.request(
        str(ready.method), str(ready.url), headers=dict(ready.headers.items()), content=body or b""
    )
    answer.request.read()  # the checks want to say what was sent
    return answer
