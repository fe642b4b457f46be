"""A real, signed case becomes a scenario on its record's page: without whose it was, and played elsewhere."""

import time
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from served import Client, Served

# what must not stand in the file: whose animal, its number, who was there, free text
SECRETS = ("Quicksilver", "Eigentümer", "K-4711", "A. Vet", "hemiplegia-of-nobody", "rang about")
OPENING: dict[str, Any] = {
    "purpose": "real", "name": "Quicksilver", "species": "horse", "weight_kg": 540.0,
    "owner": "Frau Eigentümer", "case_number": "K-4711", "diagnosis": "hemiplegia-of-nobody",
    "position": "dorsal",
}  # fmt: skip
FIRST: dict[str, Any] = {
    "mode": "volume", "tidal_volume_l": 6.0, "respiratory_rate_per_min": 7.0, "inspiratory_time_s": 2.0,
    "peep_cmh2o": 0.0, "fresh_gas_flow_l_min": 8.0, "fresh_gas_oxygen_fraction": 0.95,
    "vaporiser_percent": 2.5,
}  # fmt: skip
# near what such a horse shows; what the fit makes of it is tested with the fit
READING = {"etco2_mmhg": 44.0, "map_mmhg": 72.0, "peak_pressure_cmh2o": 21.0, "spo2_fraction": 0.97}


def _enter(client: Client, case: str, kind: str, body: Mapping[str, Any], ago_min: float) -> None:
    event = (datetime.now(UTC) - timedelta(minutes=ago_min)).isoformat()
    entry: dict[str, Any] = {"uid": str(uuid4()), "kind": kind, "body": dict(body), "event_time": event}
    told = client.post(f"/api/cases/{case}/entries", json=entry)
    assert told.status_code == 201, told.text


@pytest.fixture
def case(client: Client) -> str:
    """A real case of twenty minutes, not signed yet."""
    opened = str(client.post("/api/cases", json={"body": OPENING}).json()["case"])
    _enter(client, opened, "setting", FIRST, 20.0)
    for ago_min in (18.0, 14.0, 10.0, 6.0, 2.0):
        _enter(client, opened, "reading", READING, ago_min)
    _enter(client, opened, "note", {"text": "Frau Eigentümer rang about Quicksilver"}, 9.0)
    return opened


def test_a_case_nobody_signed_is_refused_and_a_signed_one_is_made_without_names(
    served: Served, client: Client, case: str
) -> None:
    page, asks = f"/rehearse/from-case/{case}/", f"/api/rehearse/from-case/{case}"
    form = {"csrfmiddlewaretoken": client.cookies["lungeline_csrf"]}
    assert page in client.get(f"/case/{case}/record/").text
    refused = client.post(page, data=form)
    assert refused.status_code == 409
    assert "signed it" in refused.text or "nobody has signed" in refused.text
    assert client.get(asks).json() == {"state": "none"}
    signed = client.post(f"/api/cases/{case}/sign", json={"role": "anaesthetist", "because": "a test"})
    assert signed.status_code == 201, signed.text
    assert "fitted to the readings" in client.post(page, data=form).text
    until = time.monotonic() + 90.0
    while (told := client.get(asks).json())["state"] == "working" and time.monotonic() < until:
        time.sleep(0.5)
    assert told["state"] == "made", told
    file = served.folder / "scenarios" / f"{told['scenario']['name']}.toml"
    text = file.read_text(encoding="utf-8")
    assert not [
        secret for secret in (*SECRETS, case, f"{datetime.now(UTC):%Y-%m}") if secret in text + file.name
    ]
    assert {it["key"] for it in told["scenario"]["replayed"]} == READING.keys()
    # made here, beside real cases; played elsewhere
    begin = {"scenario": told["scenario"]["name"]}
    assert client.post("/api/rehearse/begin", json=begin).status_code == 409
    other = served.client()
    other.post("/rehearse/here/", data={"csrfmiddlewaretoken": other.cookies["lungeline_csrf"]})
    begun = other.post("/api/rehearse/begin", json=begin)
    assert begun.status_code == 201
    other.post(f"/api/rehearse/going/{begun.json()['id']}/control", json={"do": "end"})
    # a browser of the other side does not see the case
    assert other.get(asks).status_code == 404
