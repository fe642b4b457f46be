"""`lungeline explain`: readings in, causes and one test out, refusals for what cannot be used."""

import json
from pathlib import Path
from typing import Any

import pytest

from lungeline.cli.main import main

CASE = '[animal]\nspecies = "horse"\nweight_kg = 500\n'
BEFORE = [
    "peak_pressure_cmh2o=18", "end_expiratory_pressure_cmh2o=5", "tidal_volume_inspired_l=5",
    "tidal_volume_expired_l=5", "etco2_mmhg=36", "fico2_mmhg=0", "fio2_fraction=0.95",
    "inspired_agent_fraction=0.015", "end_tidal_agent_fraction=0.0125", "spo2_fraction=0.96", "map_mmhg=65",
]  # fmt: skip


@pytest.fixture(name="case")
def _case(tmp_path: Path) -> str:
    file = tmp_path / "case.toml"
    file.write_text(CASE, encoding="utf-8")
    return str(file)


def with_changes(**changes: float) -> list[str]:
    names = [word.partition("=")[0] for word in BEFORE]
    return [
        f"{name}={changes[name]}" if name in changes else word
        for name, word in zip(names, BEFORE, strict=True)
    ]


def explained(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    assert main(["explain", *words, "--json"]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def test_falling_agent_with_all_else_equal_is_the_vaporiser(
    case: str, capsys: pytest.CaptureFixture[str]
) -> None:
    now = with_changes(inspired_agent_fraction=0.009, end_tidal_agent_fraction=0.0095)
    found = explained(capsys, case, "--before", *BEFORE, "--readings", *now)
    first = found["causes"][0]
    assert first["code"] == "vaporiser_empty"
    assert {"code", "probability", "for", "against", "action"} <= set(first)
    assert "agent" in first["for"][0]["reading"]
    assert sum(each["probability"] for each in found["causes"]) == pytest.approx(1.0)
    assert found["threats"] == []
    assert found["basis"] == "assumed"


def test_one_test_is_proposed_and_its_answer_changes_the_ranking(
    case: str, capsys: pytest.CaptureFixture[str]
) -> None:
    now = with_changes(fico2_mmhg=8, etco2_mmhg=44)
    asked = [case, "--before", *BEFORE, "--readings", *now]
    first = explained(capsys, *asked)
    assert {"code", "expected_bits", "instructions"} <= set(first["next_test"])
    assert first["next_test"]["expected_bits"] > 0.0

    def chance(found: dict[str, Any]) -> float:
        return float(next(c["probability"] for c in found["causes"] if c["code"] == "inspiratory_valve_open"))

    then = explained(capsys, *asked, "--answer", "look_at_valves=inspiratory_stays_open")
    assert chance(then) > max(chance(first), 0.5)
    tests = [then["next_test"], *then["other_tests"]]
    assert "look_at_valves" not in [each["code"] for each in tests if each]


def test_a_threat_is_the_first_line_and_no_test_stops_breathing(
    case: str, capsys: pytest.CaptureFixture[str]
) -> None:
    now = with_changes(spo2_fraction=0.80, peak_pressure_cmh2o=30)
    words = [case, "--before", *BEFORE, "--readings", *now]
    assert main(["explain", *words]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("STOP: Saturation is 80 %")
    assert lines[1].startswith("  -> ")
    found = explained(capsys, *words)
    proposed = [each for each in (found["next_test"], *found["other_tests"]) if each]
    assert proposed
    assert not any(each["interrupts_ventilation"] for each in proposed)


def test_one_reading_is_not_enough_and_it_says_which_would_help(
    case: str, capsys: pytest.CaptureFixture[str]
) -> None:
    found = explained(capsys, case, "--readings", "etco2_mmhg=40")
    assert not found["enough"]
    assert not found["compared_with_before"]
    assert found["helpful_readings"]
    assert found["helpful_readings"][0]["reading"] != "etco2_mmhg"


def test_carbon_dioxide_in_every_breath_leaves_no_room_for_an_arrest(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "cow.toml"
    file.write_text(
        '[animal]\nspecies = "cattle"\nweight_kg = 600\n[settings]\nmode = "spontaneous"\n', "utf-8"
    )
    found = explained(
        capsys, str(file), "--readings", "etco2_mmhg=60", "spo2_fraction=0.85", "peak_pressure_cmh2o=1"
    )
    codes = {each["code"] for each in found["causes"]}
    assert "cardiac_arrest" not in codes
    assert "regurgitation_bloat" in codes
    assert "ventilator_stopped" not in codes


def test_a_table_with_the_time_of_the_change(
    case: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "readings.csv"
    head = "time_min,map_mmhg,peak_pressure_cmh2o,etco2_mmhg,tidal_volume_expired_l"
    file.write_text(f"{head}\n0,70,18,36,5\n10,70,18,36,5\n15,41,18,36,5\n", encoding="utf-8")
    found = explained(capsys, case, "--readings", str(file), "--changed-at", "12")
    codes = [each["code"] for each in found["causes"][:2]]
    assert "pressure_transducer_error" in codes


@pytest.mark.parametrize(
    "words",
    [
        ["--readings", "no_such=1"],
        ["--readings", "none.csv"],
        ["--readings", "etco2_mmhg=40", "--answer", "feel_pulse"],
        ["--readings", "etco2_mmhg=40", "--answer", "feel_pulse=odd"],
        ["--readings", "etco2_mmhg=40", "--answer", "no_such=odd"],
        ["--readings", "etco2_mmhg=-"],
        ["--readings", "etco2_mmhg=40", "--seed", "-1"],
        ["--readings", "a.csv", "b.csv"],
    ],
)
def test_what_cannot_be_used_is_refused(
    case: str, words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["explain", case, *words]) == 2
    assert "Traceback" not in capsys.readouterr().err


def test_the_animal_is_fitted_and_looked_ahead_in_what_was_read_while_all_was_well(
    case: str, capsys: pytest.CaptureFixture[str]
) -> None:
    before = [*BEFORE, "paco2_mmhg=50", "pao2_mmhg=250"]
    asked = [case, "--before", *before, "--readings", *with_changes(etco2_mmhg=37)]
    found = explained(capsys, *asked, "--ahead", "leave", "respiratory_rate_per_min=9", "--minutes", "20")
    assert {"numbers", "runs_dropped", "blood_gas"} <= set(found["fitted"])
    leave, faster = found["ahead"]
    assert (leave["choice"], faster["choice"]) == ("leave", "respiratory_rate_per_min=9")
    assert leave["minutes"][-1] == 20.0
    last = [each["bands"]["paco2_mmhg"] for each in (leave, faster)]
    assert all(band["low"][-1] < band["middle"][-1] < band["high"][-1] for band in last)
    assert last[1]["middle"][-1] < last[0]["middle"][-1]


def test_fit_alone_shows_no_forecast_and_text_says_what_was_not_read(
    case: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["explain", case, "--readings", *BEFORE, "--fit"]) == 0
    text = capsys.readouterr().out
    assert "This animal, as far as the readings move it" in text
    assert "No blood gas among the readings" in text


@pytest.mark.parametrize("choice", ["faster", "respiratory_rate_per_min=fast", "no_such_setting=3"])
def test_a_choice_that_cannot_be_read_is_refused(
    case: str, choice: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["explain", case, "--readings", *BEFORE, "--ahead", choice]) != 0
    assert choice.partition("=")[0] in capsys.readouterr().err
