"""The records that are no part of a case file: breaths, readings and blocks."""

import math

import pytest

from lungeline.case import BREATH_KEYS, Block, Breath, Reading
from lungeline.errors import InputError, UnknownNameError


def test_a_breath_from_a_row_of_numbers() -> None:
    breath = Breath.from_values({"time_s": 3, "etco2_mmhg": math.nan, "paco2_mmhg": None, "pao2_mmhg": 410.0})
    assert breath.time_s == 3
    assert breath.etco2_mmhg is None
    assert breath.paco2_mmhg is None
    assert breath.pao2_mmhg == 410
    assert list(breath.as_values()) == list(BREATH_KEYS)
    assert Breath.from_values(breath.as_values()) == breath


def test_a_breath_knows_its_keys() -> None:
    with pytest.raises(UnknownNameError, match="etco2_mmhg"):
        Breath.from_values({"time_s": 0, "etco2": 40})


def test_a_reading_is_missing_exactly_where_it_has_no_value() -> None:
    Reading(time_s=1, key="etco2_mmhg", value=40, source="monitor")
    Reading(time_s=1, key="etco2_mmhg", value=None, source="monitor", quality="missing")
    with pytest.raises(InputError, match="missing"):
        Reading(time_s=1, key="etco2_mmhg", value=None, source="monitor")
    with pytest.raises(InputError, match="missing"):
        Reading(time_s=1, key="etco2_mmhg", value=40, source="monitor", quality="missing")
    with pytest.raises(InputError, match="good, doubtful, missing"):
        Reading(time_s=1, key="etco2_mmhg", value=40, source="monitor", quality="bad")  # type: ignore[arg-type]  # that is the test


@pytest.mark.parametrize(("time_s", "value"), [(math.nan, 40.0), (1.0, math.nan), (1.0, math.inf)])
def test_a_reading_is_finite(time_s: float, value: float) -> None:
    with pytest.raises(InputError, match="finite"):
        Reading(time_s=time_s, key="etco2_mmhg", value=value, source="monitor")


@pytest.mark.parametrize(("rate_hz", "start_index"), [(0.0, 0), (math.nan, 0), (100.0, -1)])
def test_a_block_has_a_place_in_time(rate_hz: float, start_index: int) -> None:
    with pytest.raises(InputError):
        Block(
            epoch="a", channel="flow", unit="l_s", rate_hz=rate_hz, start_index=start_index, values=(1.0, 2.0)
        )
