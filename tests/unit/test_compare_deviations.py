"""Rounding is no deviation, a missing number is none, and size is told in bands."""

import math

import pytest

from lungeline.case import Animal, Case, Settings
from lungeline.compare import (
    Band,
    Shown,
    WaveBreath,
    deviations,
    expected_bands,
    set_values,
    shown_by_breaths,
)
from lungeline.simulate import simulate_herd

VOLUME = "tidal_volume_inspired_l"


@pytest.mark.parametrize(
    ("shown", "deviates"),
    [
        (Shown(value=7.9, step=0.1), False),  # one step of the display: both may be rounded
        (Shown(value=7.8, step=0.1), True),
        (Shown(value=7.9, step=1.0), False),  # 8 as a whole number
        (Shown(value=7.9), True),
        (Shown(value=7.7, step=0.1, error=0.2), False),
        (Shown(value=math.nan, step=0.1), False),  # a missing number is no deviation
    ],
)
def test_rounding_against_what_was_set(shown: Shown, *, deviates: bool) -> None:
    assert bool(deviations({VOLUME: shown}, {}, {VOLUME: 8.0})) is deviates


def test_size_is_told_in_bands_and_the_largest_comes_first() -> None:
    found = deviations(
        {"peak_pressure_cmh2o": Shown(value=36.0), "etco2_mmhg": Shown(value=28.0), VOLUME: Shown(value=6.0)},
        {"peak_pressure_cmh2o": Band(low=20.0, high=24.0), "etco2_mmhg": Band(low=30.0, high=40.0)},
        {VOLUME: 6.0, "peak_pressure_cmh2o": 22.0},
    )
    # arithmetic: (36 - 24) / 4 and (28 - 30) / 10; the volume is as set
    assert [(each.key, each.set_value) for each in found] == [
        ("peak_pressure_cmh2o", 22.0),
        ("etco2_mmhg", None),
    ]
    assert [each.size_bands for each in found] == pytest.approx([3.0, -0.2])


def test_expected_counts_before_set() -> None:
    # a leak of the circle makes less arrive than was set: expected, so no deviation
    shown = {VOLUME: Shown(value=5.6)}
    assert deviations(shown, {VOLUME: Band(low=5.5, high=5.8)}, {VOLUME: 6.0}) == []


def test_set_values_follow_the_mode() -> None:
    case = Case(animal=Animal(species="horse", weight_kg=500.0))
    volume = set_values(case.settings)
    assert volume[VOLUME] == case.settings.tidal_volume_l
    pressed = Settings(mode="pressure", inspiratory_pressure_cmh2o=18.0, peep_cmh2o=4.0)
    whole = Case(animal=case.animal, settings=pressed).settings
    assert set_values(whole)["peak_pressure_cmh2o"] == 22.0  # arithmetic
    alone = Case(animal=case.animal, settings=Settings(mode="spontaneous")).settings
    assert set(set_values(alone)) == {"end_expiratory_pressure_cmh2o"}


def test_expected_bands_are_those_of_the_herd() -> None:
    case = Case(animal=Animal(species="horse", weight_kg=500.0))
    bands = expected_bands(simulate_herd(case, 6, 1, 3.0), from_s=120.0)
    peak = bands["peak_pressure_cmh2o"]
    assert case.settings.peep_cmh2o < peak.low < peak.high < case.settings.pressure_limit_cmh2o


def test_doubtful_numbers_of_breaths_are_not_compared() -> None:
    sure = [
        WaveBreath(epoch="e", time_s=float(at), tidal_volume_inspired_l=5.0 + at, volume_quality="good")
        for at in range(3)
    ]
    doubtful = [WaveBreath(epoch="e", time_s=9.0, tidal_volume_inspired_l=99.0, volume_quality="doubtful")]
    shown = shown_by_breaths([*sure, *doubtful])
    assert shown[VOLUME].value == 6.0  # the middle of 5, 6, 7
    assert "peak_pressure_cmh2o" not in shown
