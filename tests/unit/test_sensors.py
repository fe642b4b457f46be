"""What instruments show: place, fault, bias, noise, display, missing; and the same for curves."""

import math
from dataclasses import replace
from statistics import fmean, stdev
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lungeline.case import Animal, Breath, Case, Reading, Settings
from lungeline.errors import InputError, OutOfRangeError, UnknownNameError
from lungeline.reference import figure, figures
from lungeline.simulate import start
from lungeline.simulate.curves import SEEN_CHANNELS, MeasuredCurves
from lungeline.simulate.faults import FAULTS
from lungeline.simulate.instruments import blood_gas_instruments, counting, usual_instruments
from lungeline.simulate.sensors import (
    MEASURABLE,
    NO_ERRORS,
    Instrument,
    InstrumentPlace,
    Limbs,
    diluted,
    measure,
)

BREATH = Breath(
    time_s=60.0,
    set_tidal_volume_l=6.5,
    tidal_volume_inspired_l=6.2,
    tidal_volume_expired_l=5.0,
    respiratory_rate_per_min=6.0,
    peak_pressure_cmh2o=21.0,
    etco2_mmhg=40.0,
    fio2_fraction=0.98,
    end_tidal_agent_fraction=0.018,
    mac_multiple=1.2,
    spo2_fraction=0.998,
    map_mmhg=72.0,
)


def shown(
    breath: Breath, instrument: Instrument, errors: dict[str, float] | None = None, limbs: Limbs | None = None
) -> float:
    (reading,) = measure(breath, [instrument], errors or {}, np.random.default_rng(1), limbs=limbs or Limbs())
    assert reading.value is not None
    return reading.value


def fine(key: str, place: InstrumentPlace, **more: float) -> Instrument:
    """Return an instrument without noise, bias or steps."""
    return replace(Instrument(key=key, source="test", place=place), **more)  # type: ignore[arg-type]  # floats only


# --- place ----------------------------------------------------------------------------------------------


INSPIRED_Y = fine("tidal_volume_inspired_l", "y")
STROKE = fine("tidal_volume_inspired_l", "reservoir")
EXPIRED_Y = fine("tidal_volume_expired_l", "y")
EXPIRED_LIMB = fine("tidal_volume_expired_l", "expiratory limb")


def settled_breath(fault: str = "") -> tuple[Breath, float]:
    """Return the last of some breaths, and what a leak of 1 L/s at 1 cmH2O would lose during it."""
    settings = Settings(tidal_volume_l=6.5, respiratory_rate_per_min=6.0, peep_cmh2o=0.0)
    live = start(
        Case(animal=Animal(species="horse", weight_kg=500.0), settings=settings), trace_rate_hz=100.0
    )
    if fault:
        live.fault(fault)
    live.advance(121.0)
    breath = live.breaths[-1]
    first = round(breath.time_s * 100.0)
    pressures = np.concatenate(live.traces)[first : first + 1000, 0]
    # the leak law of a case that says nothing else: flow grows with pressure to the power 0.7
    return breath, float(np.sum(np.maximum(pressures, 0.0) ** 0.7) / 100.0)


KEPT_L = (
    0.1  # the animal keeps some of each breath: oxygen used less CO2 given, and agent, some 0.03 L of each
)


def test_the_y_sees_a_leak_at_the_cuff_and_the_reservoir_does_not() -> None:
    (sound, _), (leaking, lost) = settled_breath(), settled_breath("cuff_leak")
    difference_l = [shown(b, INSPIRED_Y) - shown(b, EXPIRED_Y) for b in (sound, leaking)]
    assert abs(difference_l[0]) < KEPT_L
    # severity 1 loses 0.06 L/s at 1 cmH2O: the law summed over the pressure curve of the same breath
    assert difference_l[1] == pytest.approx(0.06 * lost, abs=KEPT_L)
    assert 0.06 * lost > 5 * KEPT_L
    assert shown(sound, STROKE) == shown(leaking, STROKE) == 6.5


def test_a_leak_of_the_circle_lies_between_reservoir_and_y() -> None:
    (sound, _), (leaking, lost) = settled_breath(), settled_breath("circuit_leak")
    on_the_way_l = [shown(b, STROKE) - shown(b, INSPIRED_Y) for b in (sound, leaking)]
    # severity 1 loses 0.04 L/s at 1 cmH2O: part while the stroke is on its way, the rest on the way back
    assert 0.0 < on_the_way_l[1] - on_the_way_l[0] < 0.04 * lost
    assert abs(shown(leaking, INSPIRED_Y) - shown(leaking, EXPIRED_Y)) < KEPT_L


def test_a_stroke_cut_short_by_the_pressure_limit_is_not_shown_as_set() -> None:
    assert shown(BREATH, STROKE, limbs=Limbs(pressure_limit_cmh2o=20.0)) == 6.2
    assert shown(BREATH, STROKE, limbs=Limbs(pressure_limit_cmh2o=22.0)) == 6.5
    assert shown(replace(BREATH, set_tidal_volume_l=None), STROKE) == 6.2


def test_a_hose_that_is_off_leaves_the_stroke_and_takes_what_comes_back() -> None:
    off = Limbs(attached=False)
    assert [shown(BREATH, it, limbs=off) for it in (STROKE, EXPIRED_LIMB, EXPIRED_Y)] == [6.5, 0.0, 5.0]
    assert shown(BREATH, STROKE, limbs=Limbs(attached=False, strokes=False)) == 0.0


def test_at_the_machine_the_peak_holds_the_resistance_of_the_limb() -> None:
    limbs = Limbs(inspiratory_resistance_cmh2o_s_l=0.5, inspiratory_flow_l_s=2.5)
    # 21 + 0.5 cmH2O·s/L x 2.5 L/s = 22.25, arithmetic
    assert shown(BREATH, fine("peak_pressure_cmh2o", "machine"), limbs=limbs) == 22.25
    assert shown(BREATH, fine("peak_pressure_cmh2o", "y"), limbs=limbs) == 21.0


# --- faults of instruments ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "expected"),
    [
        ("etco2_mmhg", 28.0),  # 0.7 x 40
        ("fio2_fraction", 0.74879),  # 0.7 x 0.98 + 0.3 x 0.2093
        ("end_tidal_agent_fraction", 0.0126),  # 0.7 x 0.018
        ("mac_multiple", 0.84),  # 0.7 x 1.2
    ],
)
def test_air_in_the_sample_line_thins_what_the_analyser_sees_and_nothing_else(
    key: str, expected: float
) -> None:
    leak = {"sample_air_fraction": 0.3}
    assert shown(BREATH, fine(key, "sample line"), leak) == pytest.approx(expected, rel=1e-9)
    assert shown(BREATH, fine(key, "y"), leak) == getattr(BREATH, key)
    assert shown(BREATH, EXPIRED_Y, leak) == 5.0


@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_a_diluted_sample_lies_between_gas_and_air(oxygen_fraction: float, air_fraction: float) -> None:
    mixed = diluted(oxygen_fraction, "fio2_fraction", air_fraction)
    low, high = sorted((oxygen_fraction, figure("atmosphere.oxygen_fraction").value))
    assert low - 1e-12 <= mixed <= high + 1e-12


def test_a_volume_sensor_that_reads_low_does_so_wherever_it_sits() -> None:
    low = {"expired_volume_factor": 0.65}
    assert shown(BREATH, EXPIRED_Y, low) == shown(BREATH, EXPIRED_LIMB, low) == pytest.approx(3.25)
    assert shown(BREATH, INSPIRED_Y, low) == 6.2


def test_a_transducer_too_high_may_show_less_than_nothing() -> None:
    line = fine("map_mmhg", "animal")
    assert shown(BREATH, line, {"arterial_pressure_offset_mmhg": -30.0}) == 42.0
    assert shown(replace(BREATH, map_mmhg=10.0), line, {"arterial_pressure_offset_mmhg": -30.0}) == -20.0


def test_what_faults_do_to_instruments_is_known_to_them() -> None:
    live = start(Case(animal=Animal(species="horse", weight_kg=500.0)), trace_rate_hz=0.0)
    of_sensors = [code for code, fault in FAULTS.items() if fault.domain == "sensor"]
    changed: set[str] = set()
    for code in of_sensors:
        live.fault(code)
        assert live.sensor_errors.keys() <= NO_ERRORS.keys()
        assert live.sensor_errors.items() - NO_ERRORS.items(), code
        changed |= live.sensor_errors.keys()
        live.fault(code, 0.0)
    assert changed == NO_ERRORS.keys()


def test_an_error_that_no_instrument_knows_is_refused() -> None:
    with pytest.raises(UnknownNameError, match="sample_air_fraction"):
        measure(BREATH, [], {"sample_air": 0.1}, np.random.default_rng(1))


# --- bias, noise, display -------------------------------------------------------------------------------


def test_the_display_shows_7_9_for_8() -> None:
    eight = replace(BREATH, tidal_volume_expired_l=8.0)
    assert shown(eight, replace(EXPIRED_Y, bias=-0.06, display_step=0.1)) == 7.9
    assert shown(eight, replace(EXPIRED_Y, bias=-0.04, display_step=0.1)) == 8.0


@given(st.floats(0.0, 60.0), st.sampled_from([0.01, 0.1, 0.5, 1.0]))
def test_a_display_is_off_by_half_its_step_at_most_and_shows_only_steps(true_l: float, step_l: float) -> None:
    found = shown(replace(BREATH, tidal_volume_expired_l=true_l), replace(EXPIRED_Y, display_step=step_l))
    assert abs(found - true_l) <= step_l / 2 + 1e-8
    assert math.isclose(found / step_l, round(found / step_l), abs_tol=1e-6)


def test_the_noise_has_the_size_it_says() -> None:
    noisy = replace(EXPIRED_Y, noise_sd=0.03, noise_fraction=0.008, bias=0.1)
    generator = np.random.default_rng(7)
    readings = measure(BREATH, [noisy] * 4000, {}, generator)
    values = [reading.value for reading in readings if reading.value is not None]
    # independent parts add as squares: (0.03² + (0.008 x 5)²)^0.5 = 0.05; five standard errors of mean and SD
    assert fmean(values) == pytest.approx(5.1, abs=5 * 0.05 / math.sqrt(4000))
    assert stdev(values) == pytest.approx(0.05, abs=5 * 0.05 / math.sqrt(2 * 4000))


def test_no_share_is_above_one_and_no_volume_below_zero() -> None:
    assert shown(BREATH, fine("spo2_fraction", "animal", bias=0.05)) == 1.0
    assert shown(BREATH, replace(EXPIRED_Y, bias=-9.0)) == 0.0
    below = fine("peak_pressure_cmh2o", "y", bias=-30.0)
    assert shown(BREATH, below) == -9.0


def test_a_number_comes_after_its_delay() -> None:
    late = fine("etco2_mmhg", "sample line", delay_s=3.0)
    # six a minute: the breath that began at 60 s ends at 70 s
    assert measure(BREATH, [late], {}, np.random.default_rng(1))[0].time_s == 73.0
    assert measure(BREATH, [late], {}, np.random.default_rng(1), ended_s=66.0)[0].time_s == 69.0


# --- missing --------------------------------------------------------------------------------------------


def test_what_is_off_gives_a_reading_without_a_value_and_changes_no_other() -> None:
    noisy = [replace(it, noise_sd=1.0) for it in (INSPIRED_Y, EXPIRED_Y, STROKE)]
    on = measure(BREATH, noisy, {}, np.random.default_rng(3))
    noisy[0] = replace(noisy[0], missing=True)
    off = measure(BREATH, noisy, {}, np.random.default_rng(3))
    assert off[0] == Reading(
        time_s=70.0, key="tidal_volume_inspired_l", value=None, source="test", quality="missing"
    )
    assert off[1:] == on[1:]


def test_a_breath_without_the_number_gives_a_missing_reading() -> None:
    (reading,) = measure(
        replace(BREATH, etco2_mmhg=None), [fine("etco2_mmhg", "y")], {}, np.random.default_rng(1)
    )
    assert (reading.value, reading.quality) == (None, "missing")


# --- what there is --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "place"), [("tidal_volume_expired_l", "reservoir"), ("etco2_mmhg", "animal"), ("map_mmhg", "y")]
)
def test_an_instrument_in_the_wrong_place_is_refused(key: str, place: InstrumentPlace) -> None:
    with pytest.raises(InputError, match=key):
        fine(key, place)


@pytest.mark.parametrize("key", ["shunt_fraction", "set_tidal_volume_l", "alveolar_pressure_cmh2o"])
def test_what_no_instrument_sees_has_none(key: str) -> None:
    with pytest.raises(UnknownNameError):
        fine(key, "y")


@pytest.mark.parametrize(
    "wrong",
    [{"delay_s": -1.0}, {"noise_sd": math.nan}, {"noise_fraction": -0.1}, {"display_step": math.inf},
     {"bias": math.nan}],
)  # fmt: skip
def test_an_impossible_instrument_is_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(OutOfRangeError, match=next(iter(wrong))):
        fine("tidal_volume_expired_l", "y", **wrong)


def test_the_usual_instruments_cover_what_is_commonly_measured() -> None:
    usual, blood = usual_instruments(), blood_gas_instruments()
    assert {it.key for it in (*usual, counting(), *blood)} == MEASURABLE.keys()
    assert {it.place for it in blood} == {"syringe"}
    assert not {it.key for it in usual} & {it.key for it in blood}
    assert len({(it.key, it.place) for it in usual}) == len(usual)


def test_the_pulse_oximeter_reads_low_as_published() -> None:
    (oximeter,) = (it for it in usual_instruments() if it.key == "spo2_fraction")
    assert oximeter.bias == pytest.approx(-0.037)  # Whitehair et al. 1990: 3.7 % low at the tongue


def test_a_spirometer_stays_within_its_published_limits() -> None:
    """Ambrisko et al. 2014: within 10 %; 1.96 SD of scatter and half a step, at 5 L."""
    (spirometer,) = (it for it in usual_instruments() if it.key == "tidal_volume_expired_l")
    assert 1.96 * spirometer.noise_fraction + spirometer.display_step / 2 / 5.0 < 0.10


def test_every_size_of_an_instrument_says_that_it_is_assumed() -> None:
    sizes = [item for name, item in figures().items() if name.startswith("instruments.")]
    assert sizes
    assert {item.basis for item in sizes} == {"assumption"}


# --- curves ---------------------------------------------------------------------------------------------

CHANNELS = ("pressure_cmh2o", "flow_l_s", "co2_mmhg", "oxygen_fraction")


def ramp(samples: int) -> "np.ndarray[Any, np.dtype[np.float64]]":
    steps = np.arange(samples, dtype=float)
    return np.column_stack([steps, np.where(steps % 2 == 0, 1.0, -1.0), steps, np.full(samples, 0.9)])


def test_gas_curves_lag_and_the_others_do_not() -> None:
    measured = MeasuredCurves(CHANNELS, 3).measured(ramp(6), {})
    assert measured[:, 0].tolist() == [0.0, 1.0, 2.0, 3.0, 4.0, 5.0]
    assert measured[:, 2].tolist() == [0.0, 0.0, 0.0, 0.0, 1.0, 2.0]


@given(st.integers(0, 12), st.integers(0, 20))
def test_stretches_of_a_curve_join_without_a_seam(cut: int, delay: int) -> None:
    errors = {"sample_air_fraction": 0.2, "expired_volume_factor": 0.7}
    whole = MeasuredCurves(CHANNELS, delay).measured(ramp(12), errors)
    parted = MeasuredCurves(CHANNELS, delay)
    joined = np.concatenate([parted.measured(part, errors) for part in (ramp(12)[:cut], ramp(12)[cut:])])
    assert joined.tolist() == whole.tolist()


def test_a_fault_shows_on_the_curve_as_on_the_number() -> None:
    errors = {"sample_air_fraction": 0.3, "expired_volume_factor": 0.65}
    measured = MeasuredCurves(CHANNELS, 0).measured(ramp(4), errors)
    assert measured[:, 1].tolist() == [1.0, -0.65, 1.0, -0.65]
    assert measured[3, 2] == pytest.approx(diluted(3.0, "etco2_mmhg", 0.3))
    assert measured[3, 3] == pytest.approx(diluted(0.9, "fio2_fraction", 0.3))


def test_nobody_measures_the_pressure_in_the_alveoli() -> None:
    assert not {"alveolar_pressure_cmh2o", "volume_l"} & set(SEEN_CHANNELS)
