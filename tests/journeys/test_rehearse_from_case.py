"""A recorded case becomes a scenario: without names, fitted, replayed within its band, left at any minute."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from lungeline.case import Breath, Case
from lungeline.cli.main import main
from lungeline.errors import MissingError, RecordError
from lungeline.rehearse import load_scenario, play
from lungeline.rehearse.scenario import Scenario, Step
from lungeline.rehearse.scenario_text import scenario_to_toml
from lungeline.rehearse.timeline import Timeline
from lungeline.rehearse.what_if import what_if
from lungeline.simulate.live import LiveCase
from lungeline.theatre import Cases, Desk, sign
from lungeline.theatre.expected import beside
from lungeline.theatre.scenario_from_case import case_as_it_went, scenario_from_case

pytestmark = pytest.mark.slow
BEGAN = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)
# what must not stand in a scenario, nor the year of the case
SECRETS = ("Quicksilver", "Frau Eigentümer", "K-4711", "A. Vet", "hemiplegia-of-nobody", "2026")
FIRST = {
    "mode": "volume", "tidal_volume_l": 6.0, "respiratory_rate_per_min": 7.0, "inspiratory_time_s": 2.0,
    "peep_cmh2o": 0.0, "fresh_gas_flow_l_min": 8.0, "fresh_gas_oxygen_fraction": 0.95,
    "vaporiser_percent": 2.5,
}  # fmt: skip
LATER = {"respiratory_rate_per_min": 9.0}
LATER_MIN, MINUTES = 15.0, 35
# not the usual animal: more dead space, wider vessels, a stiffer chest, more carbon dioxide made
UNLIKE = {
    "alveolar_dead_space_fraction": 1.7, "vascular_resistance_mmhg_min_l": 0.75,
    "chest_wall_compliance_l_cmh2o": 0.7, "carbon_dioxide_output_l_min": 1.2,
}  # fmt: skip
# what each reading errs by; assumption, near what instruments of the theatre do
NOISE = {
    "etco2_mmhg": 0.7,
    "map_mmhg": 1.5,
    "peak_pressure_cmh2o": 0.4,
    "fio2_fraction": 0.01,
    "spo2_fraction": 0.005,
}


class _Clock:
    def __init__(self) -> None:
        """Begin at the beginning."""
        self.at = BEGAN

    def __call__(self) -> datetime:
        """Tell the time."""
        return self.at


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    folder = tmp_path_factory.mktemp("clinic")
    cases = Cases(folder / "data", key_file=folder / "key" / "record.key")
    return Desk(cases=cases, author="A. Vet", device="tablet", clock=_Clock())


def _enter(desk: Desk, case: str, at_min: float, kind: str, body: Mapping[str, Any]) -> None:
    desk.enter(case, kind, body, event_time=BEGAN + timedelta(minutes=at_min))


def _opened(desk: Desk, purpose: str) -> str:
    opening = {
        "purpose": purpose, "name": "Quicksilver", "species": "horse", "weight_kg": 540.0,
        "owner": "Frau Eigentümer",
        "case_number": "K-4711", "diagnosis": "hemiplegia-of-nobody", "position": "dorsal",
    }  # fmt: skip
    case = desk.open_case(opening).case
    _enter(desk, case, 0.0, "setting", FIRST)
    _enter(desk, case, LATER_MIN, "setting", LATER)
    return case


def _true_breaths(case: Case) -> list[Breath]:
    live = LiveCase(case, multipliers=UNLIKE)
    live.advance(LATER_MIN * 60.0)
    live.set(**LATER)
    live.advance((MINUTES - LATER_MIN) * 60.0)
    return live.breaths


def _at(breaths: list[Breath], at_min: float) -> Breath:
    return [breath for breath in breaths if breath.time_s <= at_min * 60.0][-1]


def _recorded(desk: Desk, purpose: str) -> tuple[str, list[Breath]]:
    """Return a case whose readings are those of a simulated animal unlike the usual one, and its truth."""
    case = _opened(desk, purpose)
    asked = beside(desk.cases.read(case).state, BEGAN + timedelta(minutes=MINUTES), assume=True)
    assert asked is not None
    truth, draws = _true_breaths(asked.case), np.random.default_rng(7)
    for at_min in range(2, MINUTES, 3):
        breath = _at(truth, at_min)
        row = {key: getattr(breath, key) + draws.normal(0.0, sd) for key, sd in NOISE.items()}
        row["spo2_fraction"] = min(row["spo2_fraction"], 1.0)
        _enter(desk, case, float(at_min), "reading", row)
    gas = _at(truth, 25.0)
    _enter(
        desk,
        case,
        25.0,
        "gases",
        {"sample": "arterial", "paco2_mmhg": gas.paco2_mmhg, "pao2_mmhg": gas.pao2_mmhg},
    )
    _enter(desk, case, 12.0, "drug", {"drug": "ketamine", "amount_mg": 200.0, "drawn_by": "Frau Eigentümer"})
    _enter(desk, case, 13.0, "note", {"text": "Frau Eigentümer rang about Quicksilver"})
    return case, truth


@dataclass(frozen=True)
class Made:
    """A simulated case, the animal it was recorded of, and the scenario made of it."""

    case: str
    truth: list[Breath]
    scenario: Scenario
    table: list[str]


@pytest.fixture(scope="module")
def made(desk: Desk) -> Made:
    case, truth = _recorded(desk, "rehearsal")
    found = scenario_from_case(desk, case)
    return Made(case=case, truth=truth, scenario=found.scenario, table=found.table())


def _within(scenario: Scenario, truth: list[Breath], key: str, band: float) -> float:
    """Part of all minutes at which a replay lies no farther than a band from the animal that was recorded."""
    ours = list(play(scenario, scenario.model_answer)[1].breaths)
    minutes = range(2, MINUTES)
    near = [abs(getattr(_at(ours, m), key) - getattr(_at(truth, m), key)) <= band for m in minutes]
    return float(sum(near)) / len(minutes)


def test_a_replay_lies_within_the_band_it_states_and_the_usual_animal_does_not(made: Made) -> None:
    # of what errs by an rms, twice that holds 95 in 100 (normal distribution); a tenth may lie outside here
    scenario = made.scenario
    band = {it.key: 2.0 * it.rms for it in scenario.replayed}
    assert {*NOISE, "paco2_mmhg", "pao2_mmhg"} == band.keys()
    usual = scenario.model_copy(update={"own_animal": {}})
    for key in NOISE:
        assert _within(scenario, made.truth, key, band[key]) >= 0.9, key
    for key in ("etco2_mmhg", "map_mmhg"):  # what the animal was made unlike in
        assert _within(usual, made.truth, key, band[key]) <= 0.2, key


def test_the_band_stands_in_the_words_and_in_a_table(made: Made) -> None:
    told = " ".join(made.scenario.simplified)
    for it in made.scenario.replayed:
        assert it.readings == (1 if it.key in {"paco2_mmhg", "pao2_mmhg"} else len(range(2, MINUTES, 3)))
        assert "the one reading" in told if it.readings == 1 else f"{it.readings} readings" in told
    assert len(made.table) == len(made.scenario.replayed) + 1
    assert "EtCO2 of this animal lies" in told
    assert "itself simulated" in told
    assert "No plan was kept" in told


def test_nothing_tells_whose_case_it_was(made: Made) -> None:
    text = scenario_to_toml(made.scenario)
    assert not [secret for secret in SECRETS if secret in text]
    assert "ketamine" in text  # what was given is told, as it was


def test_its_file_is_the_same_scenario(made: Made, tmp_path: Path) -> None:
    path = tmp_path / "own_case.toml"
    path.write_text(scenario_to_toml(made.scenario), encoding="utf-8")
    assert load_scenario(path) == made.scenario


def test_it_can_be_left_at_any_minute(made: Made) -> None:
    scenario = made.scenario
    faster = Step.model_validate({"at_s": 600.0, "deed": "set", "with": {"respiratory_rate_per_min": 12.0}})
    found = what_if(scenario, scenario.model_answer, [faster], from_s=600.0)
    was, would = (_breaths_until(line, 600.0) for line in (found.was_line, found.would_line))
    assert was == would
    assert len(was) > 50  # 7 breaths a minute for 10 minutes
    paco2 = next(it for it in found.at_end if it.key == "paco2_mmhg")
    assert paco2.change is not None
    assert paco2.change < -2.0  # breathing faster washes carbon dioxide out


def _breaths_until(line: Timeline, until_s: float) -> list[tuple[float, float | None]]:
    track = line.of("paco2_mmhg", hidden=True)
    assert track is not None
    return [pair for pair in zip(track.times_s, track.values, strict=True) if pair[0] < until_s]


def test_a_real_case_that_nobody_signed_is_refused_and_a_signed_one_is_not(desk: Desk) -> None:
    case, _ = _recorded(desk, "real")
    with pytest.raises(RecordError, match="nobody has signed"):
        scenario_from_case(desk, case)
    sign(desk, case, role="anaesthetist", because="the rest is on paper")
    last = desk.cases.read(case).state.signatures[-1]
    assert last.body["head_count_number"] > 0
    _enter(desk, case, 30.0, "reading", {"etco2_mmhg": 199.0})  # after the signature: nobody stands for it
    went = case_as_it_went(desk.cases.read(case))
    assert not went.simulated
    assert 199.0 not in [it.value for it in went.readings]


def test_a_case_of_which_no_weight_is_known_is_refused_in_words(desk: Desk) -> None:
    case = desk.open_case({"purpose": "rehearsal", "name": "x", "species": "horse"}).case
    _enter(desk, case, 0.0, "setting", FIRST)
    with pytest.raises(MissingError, match="how heavy"):
        scenario_from_case(desk, case)


def test_it_is_made_and_played_by_the_command_line(
    made: Made,
    desk: Desk,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("LUNGELINE_DATA", str(desk.cases.path))
    monkeypatch.setenv("LUNGELINE_KEY_FILE", str(desk.cases.path.parent / "key" / "record.key"))
    out = tmp_path / "my-case.toml"
    assert main(["rehearse", "--from-case", made.case, "--out", str(out)]) == 0
    told = capsys.readouterr().out
    assert told.startswith("SIMULATED")
    assert "EtCO2" in told
    assert load_scenario(out).name == "my_case"
    assert load_scenario(out).own_animal == pytest.approx(made.scenario.own_animal)
    assert main(["rehearse", str(out), "--answer", "model"]) == 0
