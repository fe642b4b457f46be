"""Typed readings: any subset, each with its place and the step it is rounded to."""

import pytest

from lungeline.errors import InputError, UnknownNameError
from lungeline.listen.typed import typed_readings


def test_a_reading_knows_its_place_and_step() -> None:
    at_y, at_scale, pressure = typed_readings(
        ["tidal_volume_inspired_l=5.42", "tidal_volume_inspired_l@reservoir=6", "peak_pressure_cmh2o=22.5"],
        30.0,
    )
    assert (at_y.place, at_y.reading.source, at_y.step) == ("y", "spirometer", 0.1)  # the instrument's step
    assert (at_scale.place, at_scale.reading.source, at_scale.step) == (
        "reservoir",
        "ventilator",
        1.0,
    )  # as typed
    assert (pressure.reading.value, pressure.step) == (22.5, 1.0)
    assert {each.reading.time_s for each in (at_y, at_scale, pressure)} == {30.0}


def test_other_units_are_converted_with_their_step() -> None:
    (reading,) = typed_readings(["etco2_kpa=5.0"])
    # UCUM: 1 kPa = 7.50062 mmHg; a tenth of it is less than the analyser's whole mmHg
    assert reading.reading.value == pytest.approx(37.503, abs=1e-3)
    assert reading.step == 1.0
    (coarse,) = typed_readings(["etco2_kpa=5"])
    assert coarse.step == pytest.approx(7.5006, abs=1e-3)


def test_what_was_not_there_is_missing() -> None:
    (gone,) = typed_readings(["map_mmhg=-"])
    assert (gone.reading.value, gone.reading.quality) == (None, "missing")
    assert typed_readings([]) == []


@pytest.mark.parametrize("word", ["map_mmhg", "map_mmhg=x", "map_mmhg=1e999999999", "map_mmhg=inf"])
def test_what_is_no_number_is_refused(word: str) -> None:
    with pytest.raises(InputError):
        typed_readings([word])


def test_an_unknown_reading_is_refused_with_the_nearest() -> None:
    with pytest.raises(UnknownNameError, match="etco2_mmhg"):
        typed_readings(["etco2_mmgh=40"])
