"""What a person reads off a real ventilator on a rubber lung and types in, and what of it is refused."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal, get_args

from lungeline.case.checks import check_record, checked_table
from lungeline.case.fields import choice, described, number, switch
from lungeline.case.settings import Settings
from lungeline.errors import InputError, MissingError

Drive = Literal["volume", "pressure"]
# Rubber lungs and big bags, litres a cmH2O: what lies outside is a slip of unit or gauge; assumption.
_STIFFEST_L_CMH2O, _SOFTEST_L_CMH2O = 0.002, 5.0
_LARGEST_ML_KG = 40.0  # as of a case; more is a slip of unit
_SECONDS_PER_MINUTE, _ML_PER_L = 60.0, 1000.0
_SAME = 1e-6  # of a setting typed and one that stands
NEEDED = (
    "respiratory_rate_per_min", "tidal_volume_l", "peak_pressure_cmh2o", "peep_cmh2o", "inspiratory_time_s",
    "fresh_gas_oxygen_fraction",
)  # fmt: skip
# Where on the machine each is read, for the sheet of the bench and the page.
WHERE: Mapping[str, str] = {
    "respiratory_rate_per_min": "counted at the reservoir over a whole minute",
    "tidal_volume_l": "scale of the reservoir, or spirometer at the Y",
    "peak_pressure_cmh2o": "highest the pressure gauge reaches in a breath",
    "peep_cmh2o": "pressure gauge at the end of the breath out",
    "inspiratory_time_s": "from the first movement to the turn, by a watch",
    "fresh_gas_oxygen_fraction": "flowmeters: oxygen as a part of all gas, air counted as 21 %",
    "fresh_gas_flow_l_min": "flowmeters, added up",
    "vaporiser_percent": "the dial; the vaporiser itself stays empty",
    "drives": "what the machine holds: the volume of a breath, or its pressure",
    "ventilator_on": "its switch",
}


def _may(low: float, high: float, label: str) -> Any:  # noqa: ANN401  a field of a dataclass
    return field(default=None, metadata=number(low, high, label))


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchReadings:
    """What the real machine does on the rubber lung, as far as it was typed.

    drives: whether the machine holds the volume of a breath or its pressure; the animal is then given the
    same volume, or the same pressure. ventilator_on: whether it runs at all.
    """

    respiratory_rate_per_min: float | None = _may(1, 80, "rate")
    tidal_volume_l: float | None = _may(0.02, 40, "volume delivered")
    peak_pressure_cmh2o: float | None = _may(1, 120, "peak pressure")
    peep_cmh2o: float | None = _may(0, 50, "PEEP")
    inspiratory_time_s: float | None = _may(0.2, 15, "inspiratory time")
    fresh_gas_oxygen_fraction: float | None = _may(0.21, 1, "oxygen dialled")
    fresh_gas_flow_l_min: float | None = _may(0, 100, "fresh gas flow")
    vaporiser_percent: float | None = _may(0, 18, "vaporiser")
    drives: Drive = field(default="volume", metadata=choice(get_args(Drive), "holds volume or pressure"))
    ventilator_on: bool = field(default=True, metadata=switch("ventilator runs"))

    def __post_init__(self) -> None:
        """Refuse what no machine does."""
        check_record(self, "bench")

    @property
    def lung_compliance_l_cmh2o(self) -> float | None:
        """Compliance of the rubber lung these readings imply; None where one of them is missing."""
        volume_l, peak, peep = self.tidal_volume_l, self.peak_pressure_cmh2o, self.peep_cmh2o
        if volume_l is None or peak is None or peep is None or peak <= peep:
            return None
        return volume_l / (peak - peep)

    def settings(self) -> dict[str, Any]:
        """Return what the simulated animal's machine is set to by them."""
        if not self.ventilator_on:
            return {"ventilator_on": False} | self._gas()
        told = {
            "ventilator_on": True,
            "mode": self.drives,
            "respiratory_rate_per_min": self.respiratory_rate_per_min,
            "inspiratory_time_s": self.inspiratory_time_s,
            "pause_s": 0.0,
            "peep_cmh2o": self.peep_cmh2o,
        } | self._gas()
        if self.drives == "volume":
            return told | {"tidal_volume_l": self.tidal_volume_l}
        return told | {
            "inspiratory_pressure_cmh2o": (self.peak_pressure_cmh2o or 0.0) - (self.peep_cmh2o or 0.0)
        }

    def _gas(self) -> dict[str, Any]:
        names = ("fresh_gas_oxygen_fraction", "fresh_gas_flow_l_min", "vaporiser_percent")
        return {name: getattr(self, name) for name in names if getattr(self, name) is not None}


@dataclass(frozen=True, slots=True, kw_only=True)
class Typed:
    """Something typed beside a real machine: when [s since the learner took over], and what.

    turned: whether the learner turned the machine, so that it counts as done; else it was only read.
    given: what it changed with the animal.
    """

    at_s: float
    typed: Mapping[str, Any]
    turned: bool
    given: Mapping[str, Any]

    @property
    def hand(self) -> str:
        """What it was to the animal: set by nobody's deed, or typed alone."""
        return "typed" if self.turned or not self.given else "set"

    def as_json(self) -> dict[str, Any]:
        """Return it as a plain object, from which it can be typed again."""
        return {"at_s": self.at_s, "typed": dict(self.typed), "turned": self.turned}


def apart(settings: Settings, readings: BenchReadings) -> dict[str, Any]:
    """Return what of the readings is not so with the animal, as settings."""
    return {
        key: value for key, value in readings.settings().items() if not _same(getattr(settings, key), value)
    }


def not_typed() -> MissingError:
    """Return the refusal to go on before anything was typed."""
    return MissingError(
        where="bench",
        given="no readings",
        allowed="what the real machine delivers",
        do="Type in first: " + "; ".join(WHERE) + ".",
    )


def _same(stands: object, typed: object) -> bool:
    if isinstance(stands, bool | str) or isinstance(typed, bool | str):
        return stands == typed
    if not isinstance(stands, int | float) or not isinstance(typed, int | float):
        return False
    return abs(stands - typed) <= _SAME


def read_bench(before: BenchReadings | None, typed: Mapping[str, Any], weight_kg: float) -> BenchReadings:
    """Return all that is typed so far with what was typed now. Raises InputError for what cannot be."""
    docs = described(BenchReadings)
    kept = {name: getattr(before, name) for name in docs} if before else {}
    known = {
        key: value for key, value in (kept | checked_table(docs, typed, "bench")).items() if value is not None
    }
    found = BenchReadings(**known)
    if found.ventilator_on:
        _check_there(found)
        _check_time(found)
        _check_pressure(found)
        _check_volume(found, weight_kg)
    return found


def _check_there(it: BenchReadings) -> None:
    missing = [key for key in NEEDED if getattr(it, key) is None]
    if missing:
        docs = described(BenchReadings)
        raise MissingError(
            where="bench",
            given="nothing for " + ", ".join(docs[key].label for key in missing),
            allowed=", ".join(docs[key].label for key in NEEDED),
            do="Read it off the machine and type it: "
            + "; ".join(f"{key}: {WHERE[key]}" for key in missing)
            + ".",
        )


def _check_time(it: BenchReadings) -> None:
    breath_s = _SECONDS_PER_MINUTE / (it.respiratory_rate_per_min or 1.0)
    if (it.inspiratory_time_s or 0.0) >= breath_s:
        raise InputError(
            where="bench.inspiratory_time_s",
            given=f"{it.inspiratory_time_s:g} s in at {it.respiratory_rate_per_min:g} breaths a minute",
            allowed=f"less than the whole breath of {breath_s:.3g} s",
            do="Count the breaths over a whole minute again, and time one breath in.",
        )


def _check_pressure(it: BenchReadings) -> None:
    compliance = it.lung_compliance_l_cmh2o
    if compliance is None:
        raise InputError(
            where="bench.peak_pressure_cmh2o",
            given=f"a peak of {it.peak_pressure_cmh2o:g} cmH2O at a PEEP of {it.peep_cmh2o:g} cmH2O",
            allowed="a peak above PEEP",
            do="Read the gauge at its highest and at the end of the breath out; look whether the lung is on.",
        )
    if not _STIFFEST_L_CMH2O <= compliance <= _SOFTEST_L_CMH2O:
        rise = (it.peak_pressure_cmh2o or 0.0) - (it.peep_cmh2o or 0.0)
        raise InputError(
            where="bench.tidal_volume_l",
            given=f"{it.tidal_volume_l:g} L for a rise of {rise:g} cmH2O, {compliance:.3g} L/cmH2O",
            allowed=f"a rubber lung of {_STIFFEST_L_CMH2O:g} to {_SOFTEST_L_CMH2O:g} L/cmH2O",
            do="One of volume, peak and PEEP is misread, or in another unit: read all three in one breath.",
        )


def _check_volume(it: BenchReadings, weight_kg: float) -> None:
    ml_kg = (it.tidal_volume_l or 0.0) * _ML_PER_L / weight_kg
    if ml_kg > _LARGEST_ML_KG:
        raise InputError(
            where="bench.tidal_volume_l",
            given=f"{it.tidal_volume_l:g} L for {weight_kg:g} kg, {ml_kg:.3g} mL/kg",
            allowed=f"at most {_LARGEST_ML_KG:g} mL/kg",
            do="Give litres, or take a scenario with an animal of that size.",
        )
