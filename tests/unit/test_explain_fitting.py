"""Fitting an animal and looking ahead: what readings tell is found, what they do not is not shown."""

import math
from dataclasses import replace

import numpy as np
import pytest

from lungeline.case import Animal, Case, Change, Disconnect, Reading, Settings, Start
from lungeline.errors import InputError, OutOfRangeError, SimulationError
from lungeline.explain import Choice, Fitted, fit, look_ahead
from lungeline.explain.fitting import FITTED
from lungeline.explain.shown import looker
from lungeline.explain.trial import Trial

SETTINGS = Settings(
    tidal_volume_l=6.5, respiratory_rate_per_min=6.0, peep_cmh2o=5.0, fresh_gas_flow_l_min=6.0,
    pressure_limit_cmh2o=60.0,
)  # fmt: skip
CASE = Case(animal=Animal(species="horse", weight_kg=500.0), settings=SETTINGS)
MORE_CO2 = {"carbon_dioxide_output_l_min": 1.3}
READ = ("paco2_mmhg", "etco2_mmhg", "pao2_mmhg", "peak_pressure_cmh2o", "map_mmhg", "fio2_fraction")
_KEPT: dict[str, Fitted] = {}


def read(multipliers: dict[str, float], keys: tuple[str, ...] = READ) -> list[Reading]:
    """What an animal shows after 20, 25 and 30 min, by instruments that err in nothing."""
    live = Trial(CASE, dt_s=0.05, multipliers=multipliers)
    look = looker(live.rows(1800.0), {})
    return [
        Reading(time_s=at_s, key=key, value=look(at_s)[key], source="typed")
        for at_s in (1200.0, 1500.0, 1800.0)
        for key in keys
    ]


def fitted() -> Fitted:
    if not _KEPT:
        _KEPT["it"] = fit(CASE, read(MORE_CO2))
    return _KEPT["it"]


def test_what_the_readings_move_is_found_within_its_band() -> None:
    number = next(it for it in fitted().numbers if it.name == "carbon_dioxide_output_l_min")
    # the animal was made with 1.3 times the usual output
    assert number.low <= 1.3 * number.usual <= number.high
    assert number.value > 1.1 * number.usual
    assert number.left_fraction < 0.8


def test_what_the_readings_do_not_move_is_not_shown() -> None:
    told = {it.name for it in fit(CASE, read({}, ("map_mmhg",))).numbers}
    assert "airway_resistance_cmh2o_s_l" not in told
    assert "carbon_dioxide_output_l_min" not in told
    assert all(it.left_fraction <= 0.8 for it in fitted().numbers)


def test_the_fitted_animal_shows_what_was_read() -> None:
    ahead = look_ahead(fitted(), [Choice(name="leave")], minutes=5.0)[0]
    gas = next(it.value for it in read(MORE_CO2) if it.key == "paco2_mmhg" and it.time_s == 1800.0)
    assert gas is not None
    band = ahead.bands["paco2_mmhg"]
    assert band.low[0] <= gas <= band.high[0]


def test_a_run_that_is_no_number_is_dropped_openly(monkeypatch: pytest.MonkeyPatch) -> None:
    once, readings = Trial.follow, read({})

    def breaks(self: Trial, changes: tuple[Change, ...], until_s: float) -> np.ndarray:
        if self.number("haemoglobin_g_dl") > 11.6:  # only where that number is tried higher
            raise SimulationError(where="simulation", given="nan", allowed="numbers", do="Report it.")
        return once(self, changes, until_s)

    monkeypatch.setattr(Trial, "follow", breaks)
    found = fit(CASE, readings)
    assert found.dropped > 0
    assert len(found.others) < len(FITTED)
    assert any(it.code == "fit_runs_dropped" for it in found.findings())
    assert all(math.isfinite(it.value) for it in found.numbers)


def test_nothing_to_fit_is_refused() -> None:
    with pytest.raises(InputError):
        fit(CASE, [])
    with pytest.raises(InputError):
        fit(CASE, [Reading(time_s=0.0, key="spare_volume_l", value=3.0, source="typed")])


def test_without_a_blood_gas_the_band_is_wider_and_that_is_said() -> None:
    none = fit(CASE, read(MORE_CO2, tuple(key for key in READ if key not in {"paco2_mmhg", "pao2_mmhg"})))
    assert [it.code for it in none.findings()] == ["ahead_no_gas"]

    def width(it: Fitted) -> float:
        band = look_ahead(it, [Choice(name="leave")], minutes=10.0)[0].bands["paco2_mmhg"]
        return float(band.high[-1] - band.low[-1])

    assert width(none) > width(fitted())


def test_each_choice_goes_where_it_must() -> None:
    def rate(per_min: float) -> Choice:
        changes = (Change(at_min=0.0, settings={"respiratory_rate_per_min": per_min}),)
        return Choice(name=f"{per_min}", changes=changes)

    slow, same, fast, stopped = look_ahead(fitted(), [
        rate(4.0), Choice(name="leave"), rate(9.0),
        Choice(name="stop", changes=(Change(at_min=0.0, settings={"ventilator_on": False}),)),
    ], minutes=20.0)  # fmt: skip
    co2 = [float(it.bands["paco2_mmhg"].middle[-1]) for it in (fast, same, slow, stopped)]
    assert co2[0] < co2[1] < co2[2] < co2[3]
    for it in (slow, same, fast, stopped):
        for band in it.bands.values():
            there = np.isfinite(band.middle)  # a stopped ventilator shows nothing until the animal breathes
            assert there.any()
            assert (band.low <= band.middle)[there].all()
            assert (band.middle <= band.high)[there].all()


def test_looking_ahead_twice_gives_the_same() -> None:
    first, again = (look_ahead(fitted(), [Choice(name="leave")], minutes=5.0)[0] for _ in range(2))
    assert first.as_json() == again.as_json()


def test_a_band_widens_with_time() -> None:
    band = look_ahead(fitted(), [Choice(name="leave")], minutes=30.0)[0].bands["paco2_mmhg"]
    assert band.high[-1] - band.low[-1] > band.high[0] - band.low[0]


@pytest.mark.parametrize(("count", "minutes"), [(0, 30.0), (5, 30.0), (1, 0.0), (1, 90.0)])
def test_too_many_choices_or_too_far_is_refused(count: int, minutes: float) -> None:
    with pytest.raises(OutOfRangeError):
        look_ahead(fitted(), [Choice(name="leave")] * count, minutes=minutes)


@pytest.mark.slow
def test_a_long_case_is_fitted_from_its_middle_on_not_as_if_just_connected() -> None:
    induced = replace(CASE, start=Start(state="induced"))
    readings = [replace(it, time_s=it.time_s + 7200.0) for it in read(MORE_CO2)]
    late, early = fit(induced, readings), fit(induced, read(MORE_CO2))
    assert (late.case.start.state, early.case.start.state) == ("settled", "induced")
    told = {it.name: it for it in late.numbers}
    produced = told["carbon_dioxide_output_l_min"]
    assert produced.value > 1.1 * produced.usual  # what is unlike is found, after two hours too


@pytest.mark.slow
def test_what_comes_after_a_time_is_left_and_a_spell_off_the_circle_ends_there() -> None:
    trial = Trial(CASE, dt_s=0.05, multipliers={})
    trial.follow(
        [
            Change(at_min=1.0, manoeuvre=Disconnect(minutes=5.0)),
            Change(at_min=9.0, settings={"peep_cmh2o": 15.0}),
        ],
        120.0,
    )
    assert trial.time_s == pytest.approx(120.0, abs=0.2)
    assert trial.settings.peep_cmh2o == SETTINGS.peep_cmh2o
