"""Every fault shows what its list of signs says it shows.

The case is the one the signs are written for: a settled horse on its back, ventilated by volume, too deep
to breathe for itself, with no pressure limit reached. Thresholds: a sign that is up or down moves by a
hundredth of the value or more, and by no less than FLOOR; one that is equal moves by no more than two
hundredths.
"""

from functools import cache
from statistics import fmean

import pytest
from numpy.random import default_rng

from lungeline.case import Animal, Breath, Case, Settings
from lungeline.errors import OutOfRangeError, UnknownNameError
from lungeline.simulate.faults import FAULTS, RunValues, apply_fault, fault
from lungeline.simulate.live import LiveCase
from lungeline.simulate.sensors import MEASURABLE, Instrument, measure

SETTLED_S = 2400.0
LATER_S = 600.0
LOOKED_AT_S = 60.0
LEAST_SHARE = 0.01
MOST_SHARE = 0.02
FLOOR = {"fico2_mmhg": 1.0, "trapped_volume_l": 0.05, "own_breaths_per_min": 2.0}
DEEP = Case(
    animal=Animal(species="horse", weight_kg=500),
    settings=Settings(
        tidal_volume_l=6.5,
        respiratory_rate_per_min=5.5,
        vaporiser_percent=3.0,
        spare_volume_l=8.0,
        pressure_limit_cmh2o=60.0,
    ),
)
# What shows at once, and what only a severe fault does: see the severity law of each.
THRESHOLD_FAULTS = {"light_plane", "auto_peep", "spare_volume_too_small", "circuit_leak", "cuff_leak"}


@cache
def settled_state() -> bytes:
    live = LiveCase(DEEP)
    live.advance(SETTLED_S)
    return live.state()


def shown(breath: Breath, errors: dict[str, float], key: str) -> float | None:
    """A value as an instrument without noise shows it under these errors."""
    if key not in MEASURABLE:
        value: float | None = getattr(breath, key)
        return value
    instrument = Instrument(key=key, source="monitor", place=MEASURABLE[key][0])
    return measure(breath, [instrument], errors, default_rng(0))[0].value


@cache
def values_with(code: str, severity_fraction: float) -> dict[str, float]:
    """Means over the last minute of ten, under a fault ("" for none)."""
    live = LiveCase(DEEP)
    live.restore(settled_state())
    if code:
        live.fault(code, severity_fraction)
    live.advance(LATER_S)
    last = [b for b in live.breaths if b.time_s > SETTLED_S + LATER_S - LOOKED_AT_S]
    means = {}
    for key in {key for item in FAULTS.values() for key in item.signs}:
        values = [value for b in last if (value := shown(b, live.sensor_errors, key)) is not None]
        if values:
            means[key] = fmean(values)
    return means


SIGNS = [(code, key, sign) for code, fault in FAULTS.items() for key, sign in fault.signs.items()]


@pytest.mark.parametrize(("code", "key", "sign"), SIGNS)
def test_signs_hold_at_full_severity(code: str, key: str, sign: str) -> None:
    before, after = values_with("", 0.0)[key], values_with(code, 1.0)[key]
    moved = after - before
    if sign == "equal":
        assert abs(moved) <= MOST_SHARE * abs(before)
    else:
        least = max(LEAST_SHARE * abs(before), FLOOR.get(key, 0.0))
        assert (moved if sign == "up" else -moved) >= least, f"{before:.4g} became {after:.4g}"


@pytest.mark.parametrize(("code", "key", "sign"), SIGNS)
def test_signs_are_not_contradicted_at_low_severity(code: str, key: str, sign: str) -> None:
    before, after = values_with("", 0.0)[key], values_with(code, 0.3)[key]
    moved = after - before
    slack = MOST_SHARE * abs(before) + (1e-6 if code in THRESHOLD_FAULTS else 0.0)
    if sign == "equal":
        assert abs(moved) <= MOST_SHARE * abs(before)
    else:
        assert (moved if sign == "up" else -moved) >= -slack, f"{before:.4g} became {after:.4g}"


@pytest.mark.parametrize("code", [code for code, fault in FAULTS.items() if fault.domain != "sensor"])
def test_every_fault_shows_something(code: str) -> None:
    before, after = values_with("", 0.0), values_with(code, 1.0)
    largest = max(
        abs(after[key] - before[key]) / max(abs(before[key]), 1.0) for key in before if key in after
    )
    assert largest > 0.05


@pytest.mark.parametrize("code", [code for code, fault in FAULTS.items() if fault.domain == "sensor"])
def test_a_sensors_fault_changes_nothing_but_what_is_shown(code: str) -> None:
    truths = []
    for severity_fraction in (0.0, 1.0):
        live = LiveCase(DEEP)
        live.restore(settled_state())
        live.fault(code, severity_fraction)
        live.advance(120.0)
        truths.append(live.state())
        assert bool(live.sensor_errors) == bool(severity_fraction)
    assert truths[0] == truths[1]


def test_cuff_leaks_show_at_the_y_and_circuit_leaks_do_not() -> None:
    live = LiveCase(DEEP)
    gaps = {}
    for code in ("cuff_leak", "circuit_leak"):
        live.restore(settled_state())
        live.fault(code)
        live.advance(120.0)
        live.fault(code, 0.0)
        last = live.breaths[-1]
        assert last.tidal_volume_inspired_l is not None
        assert last.tidal_volume_expired_l is not None
        gaps[code] = (
            last.tidal_volume_inspired_l - last.tidal_volume_expired_l
        ) / last.tidal_volume_inspired_l
    assert gaps["cuff_leak"] > 0.2
    assert gaps["circuit_leak"] < 0.02


def values() -> RunValues:
    """All the numbers of a run, each 1, so that a change shows as a factor."""
    live = LiveCase(DEEP)
    found = live._values  # noqa: SLF001 - the numbers a fault may change
    return RunValues(
        dict.fromkeys(found.animal, 1.0),
        dict.fromkeys(found.circuit, 1.0),
        dict.fromkeys(found.ventilator, 1.0),
    )


@pytest.mark.parametrize("code", FAULTS)
def test_severity_nothing_changes_nothing(code: str) -> None:
    touched, untouched = values(), values()
    apply_fault(touched, code, 0.0)
    changed = {
        (group, name)
        for group in ("animal", "circuit", "ventilator")
        for name, value in getattr(touched, group).items()
        if value != pytest.approx(getattr(untouched, group).get(name, 0.0))
    }
    # switches are set to their clean position, which is 0 for a valve that leaks or sticks
    assert {name for _, name in changed} <= {
        "expiratory_valve_shut", "inspiratory_valve_shut", "inspiratory_valve_open_fraction",
        "expiratory_valve_open_fraction", "absorber_bypass_fraction", "makeup_flow_l_s", "pause_s",
        "inspiratory_time_s",
    }  # fmt: skip


@pytest.mark.parametrize("code", FAULTS)
def test_a_fault_touches_only_numbers_a_run_has(code: str) -> None:
    touched, known = values(), values()
    apply_fault(touched, code, 1.0)
    for group in ("animal", "circuit", "ventilator"):
        assert set(getattr(touched, group)) == set(getattr(known, group))


@pytest.mark.parametrize("code", FAULTS)
def test_every_fault_is_fully_described(code: str) -> None:
    described = fault(code)
    assert described.code == code
    assert described.title[0].isupper()
    assert described.severity_law
    assert described.signs
    keys = {name for name in Breath.__dataclass_fields__ if name != "time_s"}
    assert set(described.signs) <= keys


@pytest.mark.parametrize("severity_fraction", [-0.01, 1.01, float("nan")])
def test_severity_outside_its_range_is_refused(severity_fraction: float) -> None:
    with pytest.raises(OutOfRangeError, match=r"faults\.cuff_leak\.severity"):
        apply_fault(values(), "cuff_leak", severity_fraction)


def test_an_unknown_code_is_refused() -> None:
    with pytest.raises(UnknownNameError, match="pneumothorax"):
        fault("pnumothorax")
