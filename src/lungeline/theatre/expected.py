"""What should happen beside the case: animals like it, with what was set and when, as a band."""

import math
import os
import threading
from collections import OrderedDict
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, TypeAlias

import numpy as np

from lungeline.case import Case, Change, Disconnect, Settings
from lungeline.case.fields import described
from lungeline.explain import assumed, channels
from lungeline.explain.channel import reading_sd
from lungeline.plan.course import planned_case
from lungeline.record import CaseState, Item
from lungeline.reference import species_status
from lungeline.simulate.herd import draw_multipliers
from lungeline.theatre.animals_beside import AnimalBeside
from lungeline.theatre.case_beside import case_planned
from lungeline.theatre.case_clock import minutes_between
from lungeline.theatre.set_back import off_circle

ANIMALS = 16  # enough for a band that is looked at
LONGEST_MIN = 720.0  # of a case that an animal is run through beside it
_AHEAD_MIN, _ROUND_MIN = 10.0, 10.0
_HERDS_KEPT = 4
_SHORTEST_OFF_MIN, _LONGEST_OFF_MIN = 0.05, 60.0  # that the model takes
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

    @property
    def herd_key(self) -> str:
        """Return a name that questions about the same animals share, whatever was set later."""
        return repr((replace(self.case, changes=()), self.began))


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """By key, 10 %, middle and 90 % of animals like this one, every minute from `began`."""

    began: datetime
    at_min: Sequence[float]
    values: Mapping[str, Mapping[str, Sequence[float | None]]]
    animals: int = ANIMALS

    def as_json(self) -> dict[str, Any]:
        """Return it as a plain object."""
        values = {key: {end: list(line) for end, line in band.items()} for key, band in self.values.items()}
        return {
            "began": self.began.isoformat(timespec="seconds"),
            "at_min": list(self.at_min),
            "animals": self.animals,
            "values": values,
        }


class Expectations:
    """What was reckoned beside cases lately. Who asks the same waits for the same; who asks newer, wins."""

    def __init__(self) -> None:
        """Begin with nothing."""
        self._herds: OrderedDict[str, _Herd] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, asked: Beside) -> Expected | None:
        """Return the bands; None where somebody asked something newer of this case meanwhile."""
        with self._lock:
            herd = self._herds.setdefault(asked.herd_key, _Herd())
            self._herds.move_to_end(asked.herd_key)
            while len(self._herds) > _HERDS_KEPT:
                self._herds.popitem(last=False)
            herd.newest = asked.key
        return herd.expected(asked)


class _Herd:
    """The animals of one case, made when they are first asked for."""

    def __init__(self) -> None:
        self.newest = ""
        self._running = threading.Lock()
        self._animals: list[AnimalBeside] = []
        self._told: tuple[str, Expected] | None = None

    def expected(self, asked: Beside) -> Expected | None:
        with self._running:
            if self._told is None or self._told[0] != asked.key:
                found = self._run(asked, lambda: self.newest == asked.key)
                if found is None:
                    return None
                self._told = asked.key, found
            return self._told[1]

    def _run(self, asked: Beside, wanted: Callable[[], bool]) -> Expected | None:
        case, minutes = asked.case, int(asked.minutes)
        if not self._animals:
            species = case.animal.species
            drawn = draw_multipliers(species, ANIMALS, 1, validated=species_status(species).validated)
            self._animals = [AnimalBeside(case, multipliers) for multipliers in drawn]
        # a core stays free for the pages
        with ThreadPoolExecutor(max(1, (os.cpu_count() or 1) - 1)) as pool:
            list(pool.map(lambda each: each.run(case.changes, minutes, wanted), self._animals))
        if not wanted():
            return None
        return _bands(asked.began, [each for each in self._animals if not each.failed], minutes)


def beside(state: CaseState, now: datetime, *, assume: bool = False) -> Beside | None:
    """Return what to run beside a case: the planned one, from when it was connected, with what was set since.

    assume: where no plan was kept, take what is usual for such an animal; somebody must have agreed to that.
    None without either, or where nothing has been set yet: then nothing is expected, and nothing is shown.
    """
    planned = case_planned(state, assume=assume)
    settings = [item for item in state.items if item.kind == "setting" and not item.struck]
    if planned is None or not settings:
        return None
    began = settings[0].event_time
    elapsed = minutes_between(began, now) + _AHEAD_MIN
    minutes = min(max(_ROUND_MIN, -(-elapsed // _ROUND_MIN) * _ROUND_MIN), LONGEST_MIN)
    first = replace(planned.settings, **_known(settings[0].body))
    changes = [*_changes(settings[1:], began, minutes), *_off_circle(state, began, now, minutes)]
    case = planned_case(planned, first, tuple(changes))
    return Beside(case=case, began=began, minutes=minutes)


def expected(asked: Beside) -> Expected:
    """Run it from its beginning and return the bands."""
    found = Expectations().get(asked)
    if found is None:
        raise RuntimeError  # nobody else can have asked
    return found


def _bands(began: datetime, animals: Sequence[AnimalBeside], minutes: int) -> Expected:
    values = {}
    for key in KEYS:
        table = np.array([[_value(breath, key) for breath in each.minutes[:minutes]] for each in animals])
        low, middle, high = _shares(table.reshape(len(animals), minutes))
        room = _room(key, middle)
        most = 1.0 if key.endswith("_fraction") else math.inf
        low, high = np.maximum(low - room, 0.0), np.minimum(high + room, most)
        values[key] = {"low": _line(low), "middle": _line(middle), "high": _line(high)}
    at_min = [float(minute) for minute in range(1, minutes + 1)]
    return Expected(began=began, at_min=at_min, values=values, animals=len(animals))


def _value(breath: object, key: str) -> float:
    value = None if breath is None else getattr(breath, key)
    return math.nan if value is None else float(value)


def _shares(table: "np.ndarray[Any, np.dtype[np.float64]]") -> list[_Line]:
    """Return the shares at each minute, not-a-number where no animal has a value."""
    lines = [np.full(table.shape[1], math.nan) for _ in _SHARES]
    present = ~np.all(np.isnan(table), axis=0)
    if present.any():
        for line, found in zip(lines, np.nanpercentile(table[:, present], _SHARES, axis=0), strict=True):
            line[present] = found
    return lines


def _room(key: str, middle: _Line) -> _Line:
    """Return by how much a reading may lie outside the animals and still say nothing: what instruments do."""
    if key not in channels():
        return np.zeros_like(middle)
    told = assumed()
    spreads = (reading_sd(key, 0.0 if np.isnan(each) else float(each), 1, told) for each in middle)
    return np.array([_SURE * math.hypot(*spread) for spread in spreads])


def _changes(items: Sequence[Item], began: datetime, minutes: float) -> list[Change]:
    """Return what was set later; one change a moment, as a case wants it."""
    told: dict[float, dict[str, Any]] = {}
    for item in items:
        at_min = round(minutes_between(began, item.event_time), 3)
        if 0.0 <= at_min < minutes:
            told.setdefault(at_min, {}).update(_known(item.body))
    return [Change(at_min=at_min, settings=settings) for at_min, settings in sorted(told.items()) if settings]


def _off_circle(state: CaseState, began: datetime, now: datetime, minutes: float) -> Iterator[Change]:
    """Yield what it was to be off the circle: open to the air, for as long as it was."""
    for since, until in off_circle(state):
        at_min = round(minutes_between(began, since), 3)
        # while it lasts, in whole minutes: else every look would be another case, and run from before it
        spell_min = minutes_between(since, until) if until else math.floor(minutes_between(since, now)) + 1.0
        lasted_min = min(max(spell_min, _SHORTEST_OFF_MIN), _LONGEST_OFF_MIN)
        if 0.0 <= at_min < minutes:
            yield Change(at_min=at_min, manoeuvre=Disconnect(minutes=lasted_min))


def _known(body: Mapping[str, Any]) -> dict[str, Any]:
    docs = described(Settings)
    return {key: value for key, value in body.items() if key in docs and key not in _INTO_ANOTHER_STATE}


def _line(values: _Line) -> list[float | None]:
    return [None if np.isnan(each) else round(float(each), 5) for each in values]
