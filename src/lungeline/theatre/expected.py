"""What should happen beside the case: an animal like it, with what was set and when, as a band of many."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, TypeAlias

import numpy as np

from lungeline.case import Case, Change, Settings, case_from_json
from lungeline.case.fields import described
from lungeline.explain import assumed, channels
from lungeline.explain.measured import reading_sd
from lungeline.plan.course import planned_case
from lungeline.record import CaseState, Item
from lungeline.reference import species_status
from lungeline.simulate.herd import simulate_herd
from lungeline.theatre.case_clock import minutes_between

ANIMALS = 16  # enough for a band that is looked at
_STEP_S, _AHEAD_MIN, _LONGEST_MIN, _ROUND_MIN = 0.02, 10.0, 480.0, 10.0
KEYS = (
    "peak_pressure_cmh2o", "etco2_mmhg", "fio2_fraction", "spo2_fraction", "end_tidal_agent_fraction",
    "map_mmhg", "heart_rate_per_min", "tidal_volume_expired_l", "spare_volume_l", "respiratory_rate_per_min",
)  # fmt: skip
_SHARES = (10.0, 50.0, 90.0)
_SURE = 2.0  # standard errors of a reading
_Line: TypeAlias = "np.ndarray[tuple[int], np.dtype[np.float64]]"
_INTO_ANOTHER_STATE = frozenset({"agent"})  # a vaporiser of another agent is another case


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """The case as it is to be run beside the real one. began: its minute 0. minutes: how far."""

    case: Case
    began: datetime
    minutes: float

    @property
    def key(self) -> str:
        """Return a name that another question does not have."""
        return repr((self.case, self.began, self.minutes))


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """By key, 10 %, middle and 90 % of animals like this one, every minute from `began`."""

    began: datetime
    at_min: Sequence[float]
    values: Mapping[str, Mapping[str, Sequence[float | None]]]

    def as_json(self) -> dict[str, Any]:
        """Return it as a plain object."""
        values = {key: {end: list(line) for end, line in band.items()} for key, band in self.values.items()}
        return {
            "began": self.began.isoformat(timespec="seconds"),
            "at_min": list(self.at_min),
            "animals": ANIMALS,
            "values": values,
        }


def beside(state: CaseState, now: datetime) -> Beside | None:
    """Return what to run beside a case: the planned one, from when it was connected, with what was set since.

    None where no plan was kept, or nothing has been set yet: then nothing is expected, and nothing is shown.
    """
    plans = [item for item in state.items if item.kind == "plan" and not item.struck]
    settings = [item for item in state.items if item.kind == "setting" and not item.struck]
    if not plans or not settings:
        return None
    planned = case_from_json(plans[-1].body["case"])
    began = settings[0].event_time
    elapsed = minutes_between(began, now) + _AHEAD_MIN
    minutes = min(max(_ROUND_MIN, -(-elapsed // _ROUND_MIN) * _ROUND_MIN), _LONGEST_MIN)
    first = _settings(planned.settings, settings[0].body)
    case = planned_case(planned, first, tuple(_changes(settings[1:], began, minutes)))
    return Beside(case=case, began=began, minutes=minutes)


def expected(asked: Beside) -> Expected:
    """Run it and return the bands."""
    validated = species_status(asked.case.animal.species).validated
    herd = simulate_herd(asked.case, ANIMALS, 1, asked.minutes, dt_s=_STEP_S, validated=validated)
    values = {}
    for key in KEYS:
        low, middle, high = herd.percentiles(key, _SHARES).values()
        room = _room(key, middle)
        values[key] = {"low": _line(low - room), "middle": _line(middle), "high": _line(high + room)}
    return Expected(began=asked.began, at_min=(herd.times_s / 60.0).tolist(), values=values)


def _room(key: str, middle: _Line) -> _Line:
    """Return by how much a reading may lie outside the animals and still say nothing: what instruments do."""
    if key not in channels():
        return np.zeros_like(middle)
    told = assumed()
    spreads = (reading_sd(key, 0.0 if np.isnan(each) else float(each), 1, told) for each in middle)
    return np.array([_SURE * math.hypot(*spread) for spread in spreads])


def _settings(planned: Settings, body: Mapping[str, Any]) -> Settings:
    return replace(planned, **_known(body))


def _changes(items: Sequence[Item], began: datetime, minutes: float) -> list[Change]:
    """Return what was set later; one change a moment, as a case wants it."""
    told: dict[float, dict[str, Any]] = {}
    for item in items:
        at_min = round(minutes_between(began, item.event_time), 3)
        if 0.0 <= at_min < minutes:
            told.setdefault(at_min, {}).update(_known(item.body))
    return [Change(at_min=at_min, settings=settings) for at_min, settings in sorted(told.items()) if settings]


def _known(body: Mapping[str, Any]) -> dict[str, Any]:
    docs = described(Settings)
    return {key: value for key, value in body.items() if key in docs and key not in _INTO_ANOTHER_STATE}


def _line(values: _Line) -> list[float | None]:
    return [None if np.isnan(each) else round(float(each), 5) for each in values]
