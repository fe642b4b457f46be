"""Verdicts on a leak, what the circle as tested has to say, refusals, and the ventilator on a test lung."""

import pytest

from lungeline.case import Animal, Case, Equipment, Profile, Settings, profile_from_toml
from lungeline.check import (
    Circuit,
    DecayLook,
    Filling,
    HeldFlow,
    Instruments,
    Judged,
    LeakLimits,
    LungTest,
    PlannedBreaths,
    RiseAndFall,
    breaths_of,
    compensating_flow,
    judge_leak,
    leak_in_use,
    limits_of_profile,
    pressure_decay,
    rise_and_fall,
    two_pressures,
    ventilator_on_lung,
)
from lungeline.errors import InputError, MissingError, OutOfRangeError, UnitError

FINE = Instruments(needle_step_cmh2o=0.1, flow_step_l_min=0.01, flow_error_fraction=0.01)
REST = Filling(fill_s=10, waited_s=300)


def judged(flow_l_min: float, limits: LeakLimits | None = None, **breaths: float) -> Judged:
    """A leak held at 30 cmH2O by fine instruments, gas at rest."""
    test = compensating_flow(HeldFlow(
        pressure_cmh2o=30, flow_l_min=flow_l_min, rises_at_l_min=flow_l_min + 0.05,
        falls_at_l_min=max(flow_l_min - 0.05, 0), circuit=Circuit(volume_l=50), filling=REST,
        instruments=FINE,
    ))  # fmt: skip
    return judge_leak(test, leak_in_use(test, PlannedBreaths(**breaths)), limits)  # type: ignore[arg-type]  # checked


def codes(found: Judged) -> set[str]:
    return {item.code for item in found.findings}


# the project's limits: 300 mL/min passes, above 1000 fails (limits.leak.project_*, an assumption)
@pytest.mark.parametrize(
    ("flow_l_min", "verdict", "code"),
    [
        (0.15, "go", "leak_passes"),
        (0.297, "caution", "leak_may_exceed"),
        (0.5, "caution", "leak_above_pass"),
        (1.1, "stop", "leak_fails"),
    ],
)
def test_a_leak_passes_only_where_its_whole_interval_does(flow_l_min: float, verdict: str, code: str) -> None:
    found = judged(flow_l_min)
    assert found.verdict == verdict
    assert code in codes(found)


def test_a_small_leak_stops_where_fresh_gas_is_smaller_yet() -> None:
    # closed form: 250 mL/min at 30 is about 31 mL/min of a ramp to 22.5 in a quarter of the time
    assert "leak_takes_fresh_gas" not in codes(judged(0.25, fresh_gas_flow_l_min=5))
    thin = judged(0.25, fresh_gas_flow_l_min=0.2)
    (finding,) = [item for item in thin.findings if item.code == "leak_takes_fresh_gas"]
    assert finding.severity == "caution"
    assert judged(0.25, fresh_gas_flow_l_min=0.1).verdict == "stop"


def test_a_leak_that_takes_the_breath_of_a_foal_stops() -> None:
    found = judged(0.9, tidal_volume_l=0.3, respiratory_rate_per_min=12, inspiratory_time_s=1.5)
    assert "leak_takes_breath" in codes(found)
    assert found.verdict == "stop"


def test_the_clinic_judges_by_its_own_limits_and_says_who_answers_for_them() -> None:
    own = limits_of_profile(
        Profile(leak_pass_ml_min=600, leak_fail_ml_min=2000, signed_by="A. Vet", signed_on="2026-05-01")
    )
    found = judged(0.5, own)
    assert found.verdict == "go"
    assert "signed by A. Vet 2026-05-01" in found.limits.rest_on
    assert "leak_limits_not_signed" not in codes(found)
    assert "leak_limits_not_signed" in codes(judged(0.5))


def test_limits_nobody_signed_are_not_taken_for_the_projects() -> None:
    own = limits_of_profile(Profile(leak_pass_ml_min=400.0, leak_limits_reason="2 L/min is usual here"))
    assert own.rest_on == "the clinic's own limits, signed by nobody (2 L/min is usual here)"
    assert LeakLimits().rest_on.startswith("this project's default, not a standard")


def test_limits_upside_down_or_misspelt_are_refused() -> None:
    with pytest.raises(OutOfRangeError, match="at or below that to fail"):
        LeakLimits(pass_ml_min=500, fail_ml_min=400)
    with pytest.raises(InputError, match="pass_ml_min"):
        profile_from_toml("leak_pas_ml_min = 300")
    with pytest.raises(UnitError):
        profile_from_toml("leak_pass_l_min = 0.3")


def test_a_profile_that_names_no_limit_signs_none() -> None:
    own = limits_of_profile(Profile(signed_by="A. Vet", signed_on="2026-05-01"))
    assert own == LeakLimits()


def test_all_keys_of_the_answer_are_there() -> None:
    told = judged(0.35).as_json()
    wanted = {
        "leak_ml_min", "leak_low_ml_min", "leak_high_ml_min", "at_pressure_cmh2o", "leak_exponent",
        "compliance_ml_cmh2o", "mean_leak_in_use_ml_min", "loss_per_breath_ml", "verdict", "findings",
    }  # fmt: skip
    assert wanted <= told.keys()
    assert all(item["sources"] for item in told["why"])


# --- what the circle as tested has to say ---------------------------------------------------------------


def look(circuit: Circuit, end_cmh2o: float = 27.0) -> DecayLook:
    return DecayLook(
        circuit=circuit, start_cmh2o=30, end_cmh2o=end_cmh2o, seconds_s=60, filling=REST, instruments=FINE
    )


def test_sample_flow_is_taken_off_the_leak() -> None:
    # arithmetic: what the monitor draws off leaves the circle, and is no leak
    without = pressure_decay(look(Circuit(volume_l=50))).leak.value
    drawn = pressure_decay(look(Circuit(volume_l=50, sample_flow_l_min=0.1)))
    assert without is not None
    assert drawn.leak.value == pytest.approx(without - 100, abs=6)
    assert "leak_test_sample_flow" in {item.code for item in drawn.findings}
    held = compensating_flow(
        HeldFlow(pressure_cmh2o=30, flow_l_min=0.3, circuit=Circuit(volume_l=50, sample_flow_l_min=0.2))
    )
    assert held.leak.value == pytest.approx(100.0)
    read = {"flow_l_min": 2.0, "rise_from_cmh2o": 25.0, "rise_to_cmh2o": 35.0, "rise_s": 30.0,
            "fall_from_cmh2o": 31.0, "fall_to_cmh2o": 29.0, "fall_s": 30.0}  # fmt: skip
    risen = rise_and_fall(RiseAndFall(**read, circuit=Circuit(sample_flow_l_min=0.1)))  # type: ignore[arg-type]  # numbers
    # mass balance: C (20 + 4) = 2000 whatever takes it, and 333 less 100 is left for the leak
    assert risen.leak.value == pytest.approx(1000 / 3 - 100, rel=0.03)


def test_a_peep_device_and_a_bag_are_told() -> None:
    found = pressure_decay(look(Circuit(volume_l=70, bag_attached=True, peep_cmh2o=5), 29.0))
    told = {item.code: item.severity for item in found.findings}
    assert told["leak_test_peep_device"] == "caution"
    assert told["leak_test_bag_attached"] == "advice"
    bare = pressure_decay(look(Circuit(volume_l=70), 29.0))
    # what a bag stretches is known so badly that the interval is several times as wide
    assert found.spread.high - found.spread.low > 3 * (bare.spread.high - bare.spread.low)


def test_cooling_after_a_fast_fill_is_no_leak() -> None:
    def leak(waited_s: float) -> float:
        test = DecayLook(
            circuit=Circuit(volume_l=50), start_cmh2o=30, end_cmh2o=27, seconds_s=30, instruments=FINE,
            filling=Filling(fill_s=3, waited_s=waited_s),
        )  # fmt: skip
        return pressure_decay(test).leak.value or 0.0

    leaks = [leak(waited_s) for waited_s in (0.0, 10.0, 30.0, 60.0, 120.0, 600.0)]
    assert leaks == sorted(leaks)
    assert leaks[0] == 0.0
    assert leaks[-1] > 300.0


def test_high_altitude_stores_more() -> None:
    # Boyle: compliance of gas goes with one over ambient pressure
    low, high = (
        Circuit(volume_l=50, hose_compliance_ml_cmh2o=0, barometric_pressure_mmhg=mmhg).stored_ml_cmh2o(0)
        for mmhg in (760, 570)
    )
    assert high / low == pytest.approx(760 / 570)


def test_readings_nobody_can_have_made_are_refused() -> None:
    with pytest.raises(InputError, match="a pressure that falls or stands"):
        pressure_decay(look(Circuit(volume_l=50), 33.0))
    with pytest.raises(InputError, match="a pressure above 0"):
        pressure_decay(look(Circuit(volume_l=50), 0.0))
    with pytest.raises(MissingError, match="neither volume nor compliance"):
        pressure_decay(look(Circuit()))
    with pytest.raises(InputError, match="between that at which the needle falls"):
        HeldFlow(pressure_cmh2o=30, flow_l_min=0.3, rises_at_l_min=0.2)
    with pytest.raises(InputError, match="two pressures, one at least"):
        two_pressures(
            HeldFlow(pressure_cmh2o=30, flow_l_min=0.3), HeldFlow(pressure_cmh2o=29, flow_l_min=0.3)
        )
    risen = {
        "flow_l_min": 2.0,
        "rise_from_cmh2o": 25.0,
        "rise_s": 30.0,
        "fall_from_cmh2o": 31.0,
        "fall_s": 30.0,
    }
    with pytest.raises(InputError, match="rises with the flow on"):
        rise_and_fall(RiseAndFall(**risen, rise_to_cmh2o=25, fall_to_cmh2o=29))  # type: ignore[arg-type]  # numbers
    with pytest.raises(InputError, match="falls or stands with the flow off"):
        rise_and_fall(RiseAndFall(**risen, rise_to_cmh2o=35, fall_to_cmh2o=33))  # type: ignore[arg-type]  # numbers


def test_a_bracket_narrows_and_a_false_one_is_told() -> None:
    told = {"pressure_cmh2o": 30.0, "flow_l_min": 0.5, "circuit": Circuit(volume_l=50), "look_s": 60.0}
    wide = compensating_flow(HeldFlow(**told)).spread  # type: ignore[arg-type]  # checked by the record
    tight = compensating_flow(HeldFlow(**told, rises_at_l_min=0.6, falls_at_l_min=0.4)).spread  # type: ignore[arg-type]  # as above
    assert tight.high - tight.low < wide.high - wide.low
    false = HeldFlow(**{**told, "look_s": 5.0}, rises_at_l_min=0.5, falls_at_l_min=0.5)  # type: ignore[arg-type]  # as above
    assert "leak_test_bracket_contradicts" in {item.code for item in compensating_flow(false).findings}


def test_something_that_opens_or_closes_with_pressure_is_told() -> None:
    def found(lower_l_min: float) -> set[str]:
        held = {"circuit": Circuit(volume_l=50), "instruments": FINE, "filling": REST, "look_s": 60.0}
        test = two_pressures(
            HeldFlow(pressure_cmh2o=15, flow_l_min=lower_l_min, **held),  # type: ignore[arg-type]  # checked
            HeldFlow(pressure_cmh2o=30, flow_l_min=1.0, **held),  # type: ignore[arg-type]  # checked
        )
        return {item.code for item in test.findings}

    assert "leak_opens_with_pressure" in found(0.1)
    assert "leak_closes_with_pressure" in found(0.95)
    assert not {"leak_opens_with_pressure", "leak_closes_with_pressure"} & found(0.6)
    assert "leak_law_not_told" in found(0.0)


# --- planned breaths ------------------------------------------------------------------------------------


def test_the_breaths_of_a_case_are_those_it_sets() -> None:
    animal = Animal(species="horse", weight_kg=500)
    volume = Case(animal=animal, settings=Settings(mode="volume", peep_cmh2o=5, tidal_volume_l=6))
    pressure = Case(
        animal=animal, settings=Settings(mode="pressure", peep_cmh2o=5, inspiratory_pressure_cmh2o=20)
    )
    assert (breaths_of(volume).shape, breaths_of(volume).tidal_volume_l) == ("ramp", 6.0)
    assert (breaths_of(pressure).shape, breaths_of(pressure).peak_pressure_cmh2o) == ("square", 25.0)
    assert breaths_of(volume, 40.0).peak_pressure_cmh2o == 40.0


def test_the_spare_gas_lasts_its_volume_over_the_leak() -> None:
    found = judged(0.3, spare_volume_l=4.0).in_use
    assert found.minutes_of_spare
    assert found.minutes_of_spare.value == pytest.approx(4000 / (found.mean_leak_in_use.value or 1))
    assert judged(0.3).in_use.minutes_of_spare is None
    with pytest.raises(OutOfRangeError, match="less than the cycle"):
        PlannedBreaths(respiratory_rate_per_min=30, inspiratory_time_s=2)


# --- test lung ------------------------------------------------------------------------------------------


def lung(**read: float) -> LungTest:
    return LungTest(set_tidal_volume_l=5, set_rate_per_min=8, set_inspiratory_time_s=2, **read)


def test_the_pressure_to_expect_is_that_of_the_lung() -> None:
    # closed form: 5 L into 0.5 L/cmH2O is 10 cmH2O at rest; flow of 2.5 L/s through 1 cmH2O·s/L adds 2.5,
    # what lies between gauge and lung a little more
    found = ventilator_on_lung(
        lung(measured_tidal_volume_l=5, measured_rate_per_min=8, measured_peak_cmh2o=12.5)
    )
    assert found.expected_peak.value is not None
    assert 12.5 <= found.expected_peak.value <= 14.0
    assert found.expected_volume.value == pytest.approx(5.0, rel=0.02)
    assert found.verdict == "go"
    (said,) = [item for item in found.findings if item.code == "lung_test_no_animal"]
    assert said.figures["animal_peak_cmh2o"] == 22.5


# delivered against set: 10 % of volume (project), 2 % of rate (common practice)
@pytest.mark.parametrize(
    ("read", "code", "verdict"),
    [
        ({"measured_tidal_volume_l": 4.4}, "lung_test_volume_wrong", "stop"),
        ({"measured_tidal_volume_l": 4.6}, "lung_test_volume_right", "caution"),
        ({"measured_rate_per_min": 8.3}, "lung_test_rate_wrong", "stop"),
        ({"measured_peak_cmh2o": 25.0}, "lung_test_pressure_high", "caution"),
        ({"measured_peak_cmh2o": 6.0}, "lung_test_pressure_low", "caution"),
        ({}, "lung_test_volume_not_read", "caution"),
    ],
)
def test_what_is_off_is_told(read: dict[str, float], code: str, verdict: str) -> None:
    found = ventilator_on_lung(lung(**read), Equipment())
    assert code in {item.code for item in found.findings}
    assert found.verdict == verdict
    assert found.as_json()["verdict"] == verdict
