"""What a leak means once an animal is ventilated: gas lost, breath lost, time until it shows."""

from dataclasses import dataclass, field
from typing import Any, Literal, get_args

from lungeline.case import Case, Reasoned
from lungeline.case.checks import check_record
from lungeline.case.fields import choice, number
from lungeline.check.leak_found import LeakTest
from lungeline.check.readings import ML_PER_L
from lungeline.check.uncertainty import Spread
from lungeline.errors import OutOfRangeError
from lungeline.physics.constants import SECONDS_PER_MINUTE
from lungeline.physics.leaks import leak_ml_min
from lungeline.physics.leaks_in_use import breath_leak_ml_min, inspiratory_loss_ml, ramp_leak_ml_min
from lungeline.reference import figure

Shape = Literal["square", "ramp"]
_PRACTICE = "practice.horse_500kg."


def _as_practised(name: str, bounds: dict[str, Any]) -> Any:  # noqa: ANN401  stands for a number until made
    return field(default_factory=lambda: figure(_PRACTICE + name).value, metadata=bounds)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedBreaths:
    """The breaths a leak is weighed against; those of a horse of 500 kg as commonly practised where not told.

    shape: square where the pressure is set, ramp where a volume flows in evenly.
    inspiratory_time_s: pause included.
    spare_volume_l: gas in the reservoir beyond one breath, None where not planned.
    """

    peak_pressure_cmh2o: float = _as_practised("peak_pressure_cmh2o", number(1, 120, "peak pressure"))
    peep_cmh2o: float = field(default=0.0, metadata=number(0, 50, "PEEP"))
    respiratory_rate_per_min: float = _as_practised("respiratory_rate_per_min", number(1, 80, "rate"))
    inspiratory_time_s: float = _as_practised("inspiratory_time_s", number(0.2, 25, "inspiratory time"))
    tidal_volume_l: float = _as_practised("tidal_volume_l", number(0.02, 40, "tidal volume"))
    fresh_gas_flow_l_min: float = field(
        default_factory=lambda: figure("circle.fresh_gas.late_horses_l_min").value,
        metadata=number(0.05, 100, "fresh gas flow"),
    )
    spare_volume_l: float | None = field(default=None, metadata=number(0, 80, "spare volume"))
    shape: Shape = field(default="ramp", metadata=choice(get_args(Shape), "shape of the breath"))

    def __post_init__(self) -> None:
        """Refuse breaths longer than their cycle, and pressures upside down."""
        check_record(self, "planned")
        if self.inspiratory_time_s >= self.cycle_s or self.peep_cmh2o > self.peak_pressure_cmh2o:
            raise OutOfRangeError(
                where="planned.inspiratory_time_s",
                given=f"{self.inspiratory_time_s:g} s, PEEP {self.peep_cmh2o:g} cmH2O",
                allowed=f"less than the cycle of {self.cycle_s:g} s, and a PEEP below the peak",
                do="Correct time, rate or PEEP.",
            )

    @property
    def cycle_s(self) -> float:
        """Time of one breath [s]."""
        return SECONDS_PER_MINUTE / self.respiratory_rate_per_min

    def during_breath(self, leak: float, at_cmh2o: float, law: float) -> tuple[float, float]:
        """Return the mean leak in inspiration and in expiration [mL/min]."""
        low = float(leak_ml_min(self.peep_cmh2o, leak, at_cmh2o, law))
        if self.shape == "square":
            return float(leak_ml_min(self.peak_pressure_cmh2o, leak, at_cmh2o, law)), low
        return float(ramp_leak_ml_min(self.peep_cmh2o, self.peak_pressure_cmh2o, leak, at_cmh2o, law)), low


def breaths_of(case: Case, peak_pressure_cmh2o: float | None = None) -> PlannedBreaths:
    """Return the breaths a case plans.

    peak_pressure_cmh2o: to expect; in mode pressure it follows from the settings, else common practice's.
    """
    settings = case.settings
    set_peak = (
        settings.peep_cmh2o + settings.inspiratory_pressure_cmh2o if settings.mode == "pressure" else None
    )
    usual = figure(_PRACTICE + "peak_pressure_cmh2o").value + settings.peep_cmh2o
    return PlannedBreaths(
        peak_pressure_cmh2o=peak_pressure_cmh2o or set_peak or usual,
        peep_cmh2o=settings.peep_cmh2o,
        respiratory_rate_per_min=settings.respiratory_rate_per_min,
        inspiratory_time_s=settings.inspiratory_time_s + settings.pause_s,
        tidal_volume_l=settings.tidal_volume_l,
        fresh_gas_flow_l_min=settings.fresh_gas_flow_l_min,
        spare_volume_l=settings.spare_volume_l,
        shape="square" if settings.mode == "pressure" else "ramp",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class LeakInUse:
    """What the leak costs. minutes_of_spare is None where no spare volume is planned or nothing leaks."""

    mean_leak_in_use: Reasoned
    loss_per_breath: Reasoned
    share_of_fresh_gas: Reasoned
    share_of_tidal_volume: Reasoned
    minutes_of_spare: Reasoned | None

    @property
    def numbers(self) -> tuple[Reasoned, ...]:
        """Every number of it."""
        found = (self.mean_leak_in_use, self.loss_per_breath, self.share_of_fresh_gas,
                 self.share_of_tidal_volume, self.minutes_of_spare)  # fmt: skip
        return tuple(item for item in found if item is not None)

    def as_json(self) -> dict[str, Any]:
        """Return the numbers as a plain object."""
        told: dict[str, Any] = {}
        for item in self.numbers:
            stem, unit = _parted(item)
            told[f"{stem}_{unit}"], told[f"{stem}_low_{unit}"], told[f"{stem}_high_{unit}"] = (
                item.value, item.low, item.high,
            )  # fmt: skip
        return told


def _parted(item: Reasoned) -> tuple[str, str]:
    name = item.name.rpartition(".")[2]
    return name.removesuffix(f"_{item.unit}"), item.unit


def leak_in_use(test: LeakTest, breaths: PlannedBreaths) -> LeakInUse:
    """Return what the leak of a test costs while an animal breathes so; intervals cover a law not known."""
    mean, lost = _mean_and_lost(test, breaths)
    spare_l = breaths.spare_volume_l
    inputs = _inputs(test, breaths)
    fresh, breath = ML_PER_L * breaths.fresh_gas_flow_l_min, ML_PER_L * breaths.tidal_volume_l
    return LeakInUse(
        mean_leak_in_use=_number(
            "mean_leak_in_use_ml_min", mean, "leak over pressure, mean over a breath", inputs
        ),
        loss_per_breath=_number("loss_per_breath_ml", lost, "leak in inspiration × its time", inputs),
        share_of_fresh_gas=_number(
            "share_of_fresh_gas_fraction", mean.times(1.0 / fresh), "mean leak ÷ fresh gas flow", inputs
        ),
        share_of_tidal_volume=_number(
            "share_of_tidal_volume_fraction", lost.times(1.0 / breath), "loss ÷ tidal volume", inputs
        ),
        minutes_of_spare=None if spare_l is None or mean.value <= 0.0 else _spare(spare_l, mean, inputs),
    )


def _mean_and_lost(test: LeakTest, breaths: PlannedBreaths) -> tuple[Spread, Spread]:
    least, middle, most = test.laws
    leak, at = test.spread, test.at_pressure_cmh2o

    def both(flow: float, law: float) -> tuple[float, float]:
        inspired, expired = breaths.during_breath(flow, at, law)
        mean = breath_leak_ml_min(inspired, expired, breaths.inspiratory_time_s, breaths.cycle_s)
        return float(mean), float(inspiratory_loss_ml(inspired, breaths.inspiratory_time_s))

    value = both(leak.value, middle)
    lows, highs = ([both(flow, law) for law in (least, middle, most)] for flow in (leak.low, leak.high))
    mean, lost = (
        Spread(value=value[part], low=min(end[part] for end in lows), high=max(end[part] for end in highs))
        for part in (0, 1)
    )
    return mean, lost


def _number(name: str, spread: Spread, formula: str, inputs: dict[str, float | str | None]) -> Reasoned:
    return Reasoned(
        name=f"check.{name}", value=spread.value, low=spread.low, high=spread.high, formula=formula,
        inputs=inputs, basis="derived", sources=("case", "common-practice"),
    )  # fmt: skip


def _spare(spare_l: float, mean: Spread, inputs: dict[str, float | str | None]) -> Reasoned:
    """Return how long the spare gas lasts if nothing else changes: no fresh gas is added for the leak."""
    spare_ml = spare_l * ML_PER_L
    return Reasoned(
        name="check.spare_lasts_minutes",
        value=spare_ml / mean.value,
        low=spare_ml / mean.high,
        high=spare_ml / mean.low if mean.low > 0.0 else None,
        formula="spare volume ÷ mean leak; fresh gas just meets what the animal takes up",
        inputs=inputs,
        basis="derived",
        sources=("case", "common-practice"),
    )


def _inputs(test: LeakTest, breaths: PlannedBreaths) -> dict[str, float | str | None]:
    return {
        "leak_ml_min": test.leak.value,
        "at_pressure_cmh2o": test.at_pressure_cmh2o,
        "leak_exponent_number": test.laws[1],
        "peak_pressure_cmh2o": breaths.peak_pressure_cmh2o,
        "peep_cmh2o": breaths.peep_cmh2o,
        "respiratory_rate_per_min": breaths.respiratory_rate_per_min,
        "inspiratory_time_s": breaths.inspiratory_time_s,
        "tidal_volume_l": breaths.tidal_volume_l,
        "fresh_gas_flow_l_min": breaths.fresh_gas_flow_l_min,
        "spare_volume_l": breaths.spare_volume_l,
        "shape": breaths.shape,
    }
