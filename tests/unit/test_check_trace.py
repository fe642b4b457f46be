"""Pressure traces as loggers write them, and what is no trace of a plugged circle."""

import math

import pytest

from lungeline.case import Animal, Case, Equipment
from lungeline.check import Circuit, Part, decay_of_trace, rise_and_fall_of_trace, trace_from_text, trace_of
from lungeline.errors import InputError, MissingError, UnitError
from lungeline.simulate.plugged import Fill, simulate_plugged

FLOW_L_MIN = 1.2
LEAK_ML_MIN = 300.0


def points(leak_ml_min: float = LEAK_ML_MIN, minutes: float = 5.5) -> list[tuple[float, float]]:
    """A plugged circle of 50 L filled by a steady flow for 130 s, then left alone; five points a second."""
    equipment = Equipment(circle_volume_l=50, leak_at_30_cmh2o_ml_min=leak_ml_min, leak_exponent_number=0.7)
    case = Case(animal=Animal(species="horse", weight_kg=500), equipment=equipment)
    run = simulate_plugged(case, [Fill(flow_l_min=FLOW_L_MIN, seconds_s=130)], minutes)
    return list(zip(run.time_s[::4], run.pressure_cmh2o[::4], strict=True))


def shaky(place: int) -> float:
    """Noise that is the same each time, of 0.1 cmH2O."""
    return 0.14 * math.sin(place * 12.9898)


def written(head: str, row: str = "{:.2f},{:.2f}", factor: float = 1.0) -> str:
    lines = [head, *(row.format(at, (value + shaky(n)) * factor) for n, (at, value) in enumerate(points()))]
    return "\n".join(lines)


# factors by UCUM: 1 cm[H2O] = 98.0665 Pa, 1 mm[Hg] = 133.322 Pa
@pytest.mark.parametrize(
    "text",
    [
        written("time_s,pressure_cmh2o"),
        written("t [s],Paw [cmH2O]", "{:.3f},{:.3f}"),
        written("elapsed s;P mbar", "{:.2f};{:.3f}", 0.980665).replace(".", ","),
        written("Time (s)\tAirway pressure (kPa)", "{:.2f}\t{:.4f}", 0.0980665),
        written("pressure mmHg,time", "{1:.3f},{0:.2f}", 98.0665 / 133.322),
        written("zeit_s;druck_hpa;note", "{:.2f};{:.3f};x", 0.980665),
    ],
)
def test_names_units_and_marks_of_many_loggers(text: str) -> None:
    test = decay_of_trace(trace_from_text(text), Circuit(volume_l=50), Part(at_pressure_cmh2o=30))
    assert test.spread.low <= LEAK_ML_MIN <= test.spread.high
    assert test.spread.high - test.spread.low < 120


def test_clocks_and_milliseconds_are_times() -> None:
    rows = points()
    clock = [
        f"{int(at // 3600) + 10:02d}:{int(at % 3600 // 60):02d}:{at % 60:05.2f},{p:.2f}" for at, p in rows
    ]
    as_clock = trace_from_text("\n".join(["time,pressure cmH2O", *clock]))
    as_ms = trace_from_text(
        "\n".join(["time_ms,pressure cmH2O", *(f"{1000 * at:.0f},{p:.2f}" for at, p in rows)])
    )
    dated = [f"2026-05-31T07:{40 + int(at // 60):02d}:{at % 60:05.2f},{p:.2f}" for at, p in rows]
    as_date = trace_from_text("\n".join(["timestamp,pressure cmH2O", *dated]))
    for trace in (as_clock, as_ms, as_date):
        assert trace.time_s[-1] == pytest.approx(rows[-1][0], abs=0.02)


def test_named_columns_and_units() -> None:
    text = written("a,b")
    with pytest.raises(MissingError, match="a column of time"):
        trace_from_text(text)
    trace = trace_from_text(text, time_column="a", pressure_column="b", pressure_unit="cmH2O", time_unit="s")
    assert "'b' in cmh2o" in trace.read_as
    with pytest.raises(MissingError, match="a, b"):
        trace_from_text(text, time_column="c", pressure_column="b", pressure_unit="cmH2O")
    with pytest.raises(UnitError, match="in which unit"):
        trace_from_text(written("time,pressure"))
    with pytest.raises(UnitError, match="ms, msec"):
        trace_from_text(text, time_column="a", pressure_column="b", pressure_unit="kPa", time_unit="weeks")


def test_uneven_sampling_gaps_and_holes_change_little() -> None:
    rows = points()
    uneven = [row for n, row in enumerate(rows) if n % 7 not in {2, 3} and not 1150 < n < 1210]
    lines = ["time_s,pressure_cmh2o", *(f"{at:.2f},{p + shaky(n):.2f}" for n, (at, p) in enumerate(uneven))]
    lines[500:500] = ["", "no,reading", "12.0,", "13.0,nan"]
    trace = trace_from_text("\n".join(lines))
    assert len(trace.gaps) == 1
    test = decay_of_trace(trace, Circuit(volume_l=50), Part(at_pressure_cmh2o=30))
    assert test.spread.low <= LEAK_ML_MIN <= test.spread.high


def test_the_rise_and_the_fall_of_one_trace_give_leak_and_compliance() -> None:
    trace = trace_of([(at, p + shaky(n)) for n, (at, p) in enumerate(points())])
    test = rise_and_fall_of_trace(trace, FLOW_L_MIN, Circuit(volume_l=50), Part(at_pressure_cmh2o=30))
    assert test.spread.low <= LEAK_ML_MIN <= test.spread.high
    # closed form: 50 L of gas at 1033.2 cmH2O and hoses of 4 mL/cmH2O
    assert test.compliance
    assert test.compliance.low is not None
    assert test.compliance.high is not None
    assert test.compliance.low <= 50_000 / 1033.23 + 4 <= test.compliance.high


def test_a_valve_opened_at_the_end_does_not_count() -> None:
    rows = points()
    opened = [(at, p if at < 310 else p * math.exp(-(at - 310) * 2)) for at, p in rows]
    test = decay_of_trace(
        trace_of([(at, p + shaky(n)) for n, (at, p) in enumerate(opened)]), Circuit(volume_l=50),
        Part(at_pressure_cmh2o=30),
    )  # fmt: skip
    assert test.spread.low <= LEAK_ML_MIN <= test.spread.high


def test_a_part_can_be_named() -> None:
    trace = trace_of(points())
    test = decay_of_trace(trace, Circuit(volume_l=50), Part(from_s=200, to_s=300, at_pressure_cmh2o=30))
    assert test.leak.inputs["seconds_s"] == pytest.approx(100, abs=0.5)
    with pytest.raises(InputError, match="points after"):
        decay_of_trace(trace, Circuit(volume_l=50), Part(from_s=329.5))


# --- rubbish --------------------------------------------------------------------------------------------


def test_a_flat_line_is_refused() -> None:
    with pytest.raises(InputError, match="a flat line: 100 points, all 30"):
        decay_of_trace(trace_of([(n, 30.0) for n in range(100)]), Circuit(volume_l=50))


def test_a_gauge_at_its_end_is_refused() -> None:
    clipped = [(at, min(p + shaky(n), 25.0)) for n, (at, p) in enumerate(points())]
    with pytest.raises(InputError, match="exactly 25 cmH2O, the highest"):
        decay_of_trace(trace_of(clipped), Circuit(volume_l=50))


def test_pressure_that_rises_with_the_flow_off_is_refused() -> None:
    rising = [(at, p if at < 131 else 20 + 0.03 * (at - 131)) for at, p in points(0.0)]
    part = Part(from_s=140)
    with pytest.raises(InputError, match=r"pressure that rises from 20\.\d to .* with the flow off"):
        decay_of_trace(trace_of(rising), Circuit(volume_l=50), part)


def test_a_pressure_never_raised_and_one_that_jumps_are_refused() -> None:
    with pytest.raises(InputError, match=r"never above 2\.0"):
        decay_of_trace(trace_of([(n, 1.0 + n % 2) for n in range(100)]), Circuit(volume_l=50))
    jumping = [(n, 30.0 + 9.0 * math.sin(n * 12.9898)) for n in range(400)]
    with pytest.raises(InputError, match="jumps about"):
        decay_of_trace(trace_of(jumping), Circuit(volume_l=50))


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "0 lines"),
        ("time_s,pressure_cmh2o\n1,2\n", "2 lines"),
        ("\n".join(["words only"] * 20), "two columns or more"),
        ("\n".join(["time_s,pressure_cmh2o"] + ["a,b"] * 20), "0 points"),
        ("\n".join(["time_s,pressure_cmh2o"] + ["1,2"] * 20), "1 different times"),
        ("\n".join(["time_s,pressure_cmh2o"] + [f"{100 - n},2" for n in range(20)]), "backwards"),
    ],
)
def test_what_is_no_trace_is_refused(text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        trace_from_text(text)
