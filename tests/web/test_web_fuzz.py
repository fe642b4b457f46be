"""The interface, tried with whatever its own description allows and some of what it does not.

Nothing may end in a failure of the program: every answer is one that was asked for, or a refusal in words.
"""

import os
from typing import Any

import requests
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from served import Client

EXAMPLES = int(os.environ.get("LUNGELINE_FUZZ", "12"))
OPENING: dict[str, Any] = {"purpose": "real", "name": "Stella", "species": "horse", "weight_kg": 520.0}
PARTS = {"code", "where", "given", "allowed", "do"}


def test_no_request_makes_the_program_fail(client: Client) -> None:
    case = client.post("/api/cases", json={"body": OPENING}).json()["case"]
    client.post(
        f"/api/cases/{case}/entries", json={"uid": "first", "kind": "reading", "body": {"map_mmhg": 70.0}}
    )
    described = schemathesis.openapi.from_dict(client.get("/api/openapi.json").json())
    operations: list[Any] = [found.ok() for found in described.get_all_operations()]  # type: ignore[union-attr]  # one that is not described well fails here
    assert len(operations) >= 6
    for operation in operations:
        _try(operation, client, case)


def _try(operation: Any, client: Client, case: str) -> None:  # noqa: ANN401  its types want more than they give
    session = requests.Session()
    session.cookies = client.cookies
    # half of them in the case there is, so that more is reached than "no such case"
    asked = st.tuples(operation.as_strategy(), st.booleans())

    @settings(
        max_examples=EXAMPLES,
        deadline=None,
        derandomize=True,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(asked)
    def holds(pair: tuple[Any, bool]) -> None:
        request, inside = pair
        if inside and "case" in (request.path_parameters or {}):
            request.path_parameters["case"] = case
        answer = request.call(
            base_url=client.address, session=session, headers=dict(client.headers), timeout=30
        )
        assert answer.status_code < 500, (request.method, request.path, answer.text[:500])
        if answer.status_code >= 400 and answer.headers.get("content-type", [""])[0].startswith(
            "application/json"
        ):
            assert set(answer.json()["error"]) == PARTS, answer.text[:500]

    holds()
