"""Beside a real machine, over the interface: typed, refused in words, told what must be set."""

from collections.abc import Iterator
from typing import Any

import pytest
from served import Client, Served, demo_in, serving

GOOD: dict[str, Any] = {
    "respiratory_rate_per_min": 12.0, "tidal_volume_l": 5.5, "peak_pressure_cmh2o": 22.0, "peep_cmh2o": 0.0,
    "inspiratory_time_s": 3.0, "fresh_gas_oxygen_fraction": 0.95,
}  # fmt: skip


@pytest.fixture(scope="module")
def school(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A server that holds demonstrations alone."""
    with serving(demo_in(tmp_path_factory.mktemp("bench") / "data"), "--demo") as running:
        yield running


@pytest.fixture
def learner(school: Served) -> Client:
    return school.client()


@pytest.fixture
def place(learner: Client) -> Iterator[str]:
    """Where a rehearsal beside a machine is."""
    told = learner.post("/api/rehearse/begin", json={"scenario": "auto_peep", "bench": True})
    assert told.status_code == 201, told.text
    place = f"/api/rehearse/going/{told.json()['id']}"
    yield place
    learner.post(f"{place}/control", json={"do": "end"})


def _typed(client: Client, place: str, *, turned: bool = False, **typed: float | str | bool) -> Any:  # noqa: ANN401  an answer of requests
    return client.post(f"{place}/bench", json={"typed": typed, "turned": turned})


def test_it_waits_is_typed_and_what_is_turned_counts(learner: Client, place: str) -> None:
    told = learner.get(place).json()
    assert told["waits"]
    assert told["now_s"] == 0.0
    refused = learner.post(f"{place}/control", json={"do": "step", "value": 10})
    assert refused.status_code == 400
    assert "Type in first" in refused.json()["error"]["do"]
    assert _typed(learner, place, **GOOD).status_code == 201
    learner.post(f"{place}/control", json={"do": "step", "value": 30})
    told = learner.get(place).json()
    assert not told["waits"]
    assert told["now_s"] >= 30.0
    assert told["bench"]["typed"]["tidal_volume_l"] == 5.5
    assert told["log"] == []
    assert _typed(learner, place, turned=True, respiratory_rate_per_min=6.0, inspiratory_time_s=2.0).ok
    assert learner.get(place).json()["log"][-1]["with"] == {
        "respiratory_rate_per_min": 6.0,
        "inspiratory_time_s": 2.0,
    }


def test_nonsense_is_refused_in_words_and_the_settings_panel_too(learner: Client, place: str) -> None:
    refused = _typed(learner, place, respiratory_rate_per_min=12.0)
    assert refused.status_code == 400
    assert "volume delivered" in refused.json()["error"]["given"]
    assert _typed(learner, place, **GOOD).ok
    refused = _typed(learner, place, tidal_volume_l=0.02)  # a twentieth of a litre for 22 cmH2O
    assert "misread" in refused.json()["error"]["do"]
    assert learner.get(place).json()["bench"]["typed"]["tidal_volume_l"] == 5.5
    refused = learner.post(f"{place}/deeds", json={"deed": "set", "with": {"peep_cmh2o": 3.0}})
    assert refused.json()["error"]["allowed"] == "the real machine"


def test_what_somebody_else_turned_is_told(learner: Client, place: str) -> None:
    assert _typed(learner, place, **GOOD).ok
    learner.post(f"{place}/hands", json={"do": "set", "with": {"peep_cmh2o": 8.0}})
    assert learner.get(place).json()["bench"]["to_set"] == {"peep_cmh2o": 8.0}
    page = learner.get(place.replace("/api/rehearse/going", "/rehearse") + "/").text
    assert 'id="bench-fields"' in page
    assert 'id="set-fields"' not in page


def test_it_is_looked_back_on_as_it_was(learner: Client, place: str) -> None:
    assert _typed(learner, place, **GOOD).ok
    learner.post(f"{place}/control", json={"do": "step", "value": 40})
    assert _typed(learner, place, turned=True, respiratory_rate_per_min=6.0).ok
    learner.post(f"{place}/control", json={"do": "step", "value": 20})
    learner.post(f"{place}/control", json={"do": "end"})
    name = place.rpartition("/")[2]
    told = learner.get(f"/api/rehearse/played/{name}").json()
    assert [it["deed"] for it in told["timeline"]["acts"]] == ["set"]
    assert told["settings"]["respiratory_rate_per_min"] == 6.0
    assert next(it for it in learner.get("/api/rehearse/played").json()["played"] if it["id"] == name)[
        "bench"
    ]
