"""What a person reads off a manometer, a flowmeter and a clock, and how well."""

from dataclasses import dataclass, field, fields
from typing import Any

from lungeline.case.checks import check_record
from lungeline.case.fields import number
from lungeline.check.uncertainty import even, normal
from lungeline.errors import InputError
from lungeline.reference import figure

_HALF = 0.5


def usual(name: str) -> Any:  # noqa: ANN401  stands for a number until the record is made
    """Return the default of a field: the figure of this name for leak tests."""
    return field(default_factory=lambda: figure(f"leak_test.{name}").value, metadata=_BOUNDS[name])


_BOUNDS = {
    "needle_step_cmh2o": number(0.0, 10, "width of the needle"),
    "needle_noise_cmh2o": number(0.0, 5, "noise of the manometer"),
    "flow_step_l_min": number(0.0, 5, "step of the flowmeter"),
    "flow_error_fraction": number(0.0, 0.5, "error of the flowmeter"),
    "timing_s": number(0.0, 10, "error of the clock"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Instruments:
    """How well the instruments of a test can be read.

    needle_step_cmh2o: width of the needle or last digit; a reading lies within half of it.
    needle_noise_cmh2o: standard deviation of what else makes readings differ.
    flow_step_l_min: the same for the flowmeter.
    flow_error_fraction: standard error of the flowmeter's scale.
    timing_s: standard error of a time.
    """

    needle_step_cmh2o: float = usual("needle_step_cmh2o")
    needle_noise_cmh2o: float = usual("needle_noise_cmh2o")
    flow_step_l_min: float = usual("flow_step_l_min")
    flow_error_fraction: float = usual("flow_error_fraction")
    timing_s: float = usual("timing_s")

    def __post_init__(self) -> None:
        """Refuse what no instrument is."""
        check_record(self, "instruments")

    def pressure_error_cmh2o(self, reading: str, draw: int) -> float:
        """Return by how much one pressure reading is off, in one draw."""
        rounding = self.needle_step_cmh2o * (even(f"{reading} rounding")[draw] - _HALF)
        return rounding + self.needle_noise_cmh2o * normal(f"{reading} noise")[draw]

    def flow_ml_min(self, flow_l_min: float, reading: str, draw: int) -> float:
        """Return the flow behind a reading, in one draw; the scale is off by the same each time."""
        if flow_l_min <= 0.0:
            return 0.0
        rounding = self.flow_step_l_min * (even(f"{reading} flow")[draw] - _HALF)
        scale = 1.0 + self.flow_error_fraction * normal("scale of the flowmeter")[draw]
        return max((flow_l_min + rounding) * scale, 0.0) * ML_PER_L

    def time_s(self, seconds_s: float, reading: str, draw: int) -> float:
        """Return the time that passed, in one draw; never less than a tenth of what was read."""
        return max(seconds_s + self.timing_s * normal(f"{reading} time")[draw], seconds_s / 10.0)

    def as_inputs(self) -> dict[str, float]:
        """Return what was taken, for the reason of a number."""
        return {item.name: getattr(self, item.name) for item in fields(self)}


ML_PER_L = 1000.0


def need_above(where: str, value: float, least: float, what: str) -> None:
    """Refuse a value that is not above `least`."""
    if not value > least:
        raise InputError(where=where, given=value, allowed=f"above {least:g}", do=what)
