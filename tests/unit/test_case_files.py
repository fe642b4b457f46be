"""Case files: read, written, read again."""

import json
from pathlib import Path

import pytest

from lungeline.case import (
    Case,
    FaultEvent,
    Recruitment,
    case_from_json,
    case_from_toml,
    case_to_json,
    case_to_toml,
    load_case,
)
from lungeline.errors import InputError, MissingError

EXAMPLES = sorted((Path(__file__).resolve().parents[2] / "examples").glob("*.toml"))
SHORTEST = '[animal]\nspecies = "horse"\nweight_kg = 500\n'
FULL = r"""
title = "A \"difficult\" colic – π \u007f"

[animal]
species = "horse"
weight_kg = 562.5
position = "left lateral"
condition = "colic"

[place]
barometric_pressure_mmhg = 690

[start]
state = "induced"
circle_oxygen_fraction = 0.4

[equipment]
leak_at_30_cmh2o_ml_min = 300
leak_place = "cuff"
holds_baseline = true

[settings]
mode = "pressure"
inspiratory_pressure_cmh2o = 22
peep_cmh2o = 0

[[changes]]
at_min = 20
manoeuvre = "recruitment"
pressures_cmh2o = [40, 60.5]

[[changes]]
at_min = 10
mode = "assisted"
trigger_flow_l_min = 8

[[faults]]
code = "cuff_leak"
at_min = 30
severity = 0.25
until_min = 40
"""


def test_a_full_file_is_read() -> None:
    case = case_from_toml(FULL)
    assert case.title == 'A "difficult" colic – π \x7f'
    assert case.animal.weight_kg == 562.5
    assert case.start.injectable_mac_multiple == 0.8
    assert case.equipment.holds_baseline is True
    assert case.changes[0].settings == {"mode": "assisted", "trigger_flow_l_min": 8.0}
    assert case.changes[1].manoeuvre == Recruitment(pressures_cmh2o=(40.0, 60.5), hold_s=12.0)
    assert case.faults == (FaultEvent(code="cuff_leak", at_min=30, severity_fraction=0.25, until_min=40),)


@pytest.mark.parametrize("text", [SHORTEST, FULL])
def test_written_and_read_again_it_is_the_same(text: str) -> None:
    case = case_from_toml(text)
    assert case_from_toml(case_to_toml(case)) == case
    assert case_from_json(json.dumps(case_to_json(case), allow_nan=False)) == case
    assert case_from_json(case_to_json(case)) == case


def test_toml_stays_as_short_as_it_was_and_shows_the_rules_as_comments() -> None:
    lines = case_to_toml(case_from_toml(SHORTEST)).splitlines()
    assert lines[:3] == ["[animal]", 'species = "horse"', "weight_kg = 500"]
    assert "# tidal_volume_l = 5  (rule of thumb, common-practice)" in lines
    assert not [line for line in lines[5:] if line and not line.startswith("#")]


def test_json_is_complete_and_keeps_numbers_as_they_were() -> None:
    form = case_to_json(case_from_toml(SHORTEST))
    assert form["schema"] == "lungeline.case/1"
    assert form["settings"]["tidal_volume_l"] == 5
    assert "tidal_volume_l" in form["assumed_settings"]
    assert form["place"] == {"altitude_m": 0.0, "barometric_pressure_mmhg": None}
    form["settings"]["tidal_volume_l"] = 5.5  # an older rule of thumb, kept in a record
    assert case_from_json(form).settings.tidal_volume_l == 5.5
    assert "tidal_volume_l" in case_from_json(form).assumed_settings


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{", "Correct that place"),
        ("[" * 100000, "too deep"),
        ("[]", "one object"),
        ("{}", "lungeline.case/1"),
        ('{"schema": "lungeline.case/9"}', "lungeline.case/1"),
        ('{"schema": "lungeline.case/1", "schema": "lungeline.case/1"}', "twice"),
        ('{"schema": "lungeline.case/1", "assumed_settings": 3}', "a list of names"),
        ('{"schema": "lungeline.case/1", "animal": {"species": "horse", "weight_kg": NaN}}', "not a number"),
    ],
)
def test_json_that_is_no_case_is_refused(text: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        case_from_json(text)


def test_files_are_loaded_by_their_ending(tmp_path: Path) -> None:
    case = case_from_toml(FULL)
    (tmp_path / "case.toml").write_text(case_to_toml(case), encoding="utf-8-sig")  # as some editors save
    (tmp_path / "case.json").write_text(json.dumps(case_to_json(case)), encoding="utf-8")
    assert load_case(tmp_path / "case.toml") == load_case(str(tmp_path / "case.json")) == case


def test_files_that_cannot_be_read_are_refused(tmp_path: Path) -> None:
    with pytest.raises(MissingError, match="a file that exists"):
        load_case(tmp_path / "none.toml")
    with pytest.raises(InputError, match="a readable file"):
        load_case(tmp_path)
    with pytest.raises(InputError, match="readable"):
        load_case("a\0b.toml")
    (tmp_path / "latin.toml").write_bytes('title = "Stute Märchen"'.encode("latin-1"))
    with pytest.raises(InputError, match="UTF-8"):
        load_case(tmp_path / "latin.toml")
    (tmp_path / "large.toml").write_bytes(b"#" * 1_000_001)
    with pytest.raises(InputError, match="at most 1 MB"):
        load_case(tmp_path / "large.toml")


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_example_is_a_case_with_a_title(path: Path) -> None:
    case = load_case(path)
    assert isinstance(case, Case)
    assert case.title
    assert case_from_toml(case_to_toml(case)) == case


def test_there_are_examples() -> None:
    assert {"demo", "foal", "pony"} <= {path.stem for path in EXAMPLES}
