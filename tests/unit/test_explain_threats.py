"""Life threats: told at once, never from a missing number, and never muted by anything else."""

import pytest

from lungeline.case import Animal, Case
from lungeline.explain.assumed import assumed
from lungeline.explain.excluding import Seen, excluded_by, word_for
from lungeline.explain.measured import Measured, measured, typed
from lungeline.explain.threats import Threats, threats
from lungeline.words import say

SETTINGS = Case(animal=Animal(species="horse", weight_kg=500.0)).settings
WELL = {
    "etco2_mmhg": 40.0,
    "peak_pressure_cmh2o": 20.0,
    "end_expiratory_pressure_cmh2o": 5.0,
    "tidal_volume_expired_l": 5.0,
    "spo2_fraction": 0.96,
    "fio2_fraction": 0.95,
    "map_mmhg": 75.0,
}


def read(now: dict[str, float], before: dict[str, float] | None = None) -> Measured:
    readings = [*typed(before or {}, 0.0), *typed(now, 60.0)]
    return measured(readings, assumed(), 0.0 if before else None)


def told(now: dict[str, float], before: dict[str, float] | None = None) -> Threats:
    return threats(read(now, before), SETTINGS)


def test_a_well_animal_is_under_no_threat_and_safe() -> None:
    found = told(WELL, WELL)
    assert found.findings == ()
    assert found.oxygenation_safe


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"etco2_mmhg": 2.0}, "threat_no_carbon_dioxide"),
        ({"peak_pressure_cmh2o": 6.0}, "threat_no_pressure"),
        ({"end_expiratory_pressure_cmh2o": 11.0}, "threat_pressure_climbs"),
        ({"tidal_volume_expired_l": 2.0}, "threat_half_volume"),
        ({"spo2_fraction": 0.85}, "threat_saturation"),
        ({"spo2_fraction": 0.91}, "threat_saturation"),
        ({"pao2_mmhg": 50.0}, "threat_arterial_oxygen"),
        ({"fio2_fraction": 0.25}, "threat_inspired_oxygen"),
        ({"fio2_fraction": 0.70}, "threat_inspired_oxygen"),
        ({"map_mmhg": 30.0}, "threat_no_flow"),
    ],
)
def test_each_threat_is_told_with_an_action_and_forbids_stopping_breath(
    changed: dict[str, float], code: str
) -> None:
    found = told({**WELL, **changed}, WELL)
    assert [each.code for each in found.findings] == [code]
    assert found.findings[0].severity == "stop"
    assert "…" not in say(found.findings[0]).says
    assert say(found.findings[0]).do
    assert not found.oxygenation_safe


def test_one_reading_alone_is_enough_for_its_threat() -> None:
    assert [each.code for each in told({"etco2_mmhg": 0.0}).findings] == ["threat_no_carbon_dioxide"]


def test_a_missing_number_is_no_threat_and_no_safety() -> None:
    found = told({"map_mmhg": 75.0})
    assert found.findings == ()
    assert not found.oxygenation_safe


def test_a_lethal_cause_is_not_unlikely_before_something_excludes_it() -> None:
    cause = assumed().causes["disconnection"]
    blind = Seen(measured=read({"map_mmhg": 75.0}), settings=SETTINGS, answers={})
    assert word_for(cause, 0.001, blind, assumed()) == "not excluded"
    seeing = Seen(measured=read(WELL), settings=SETTINGS, answers={})
    assert excluded_by(cause, seeing, assumed()) == "carbon_dioxide_and_pressure"
    assert word_for(cause, 0.001, seeing, assumed()) == "unlikely"


def test_an_answer_excludes_too() -> None:
    cause = assumed().causes["cardiac_arrest"]
    for answer, excluding in (("strong", "feel_pulse:strong"), ("none", "")):
        seen = Seen(measured=read({"etco2_mmhg": 20.0}), settings=SETTINGS, answers={"feel_pulse": answer})
        assert excluded_by(cause, seen, assumed()) == excluding


def test_words_follow_chances() -> None:
    seen = Seen(measured=read(WELL), settings=SETTINGS, answers={})
    cause = assumed().causes["cuff_leak"]
    assert [word_for(cause, p, seen, assumed()) for p in (0.6, 0.2, 0.02)] == [
        "likely",
        "possible",
        "unlikely",
    ]
    assert word_for(cause, 0.9, seen, assumed(), enough=False) == "possible"
