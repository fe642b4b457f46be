"""This animal as its readings tell, its carbon dioxide between gases, and what comes under each choice."""

import threading
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from lungeline.case import Change, Finding, Recruitment, Settings
from lungeline.errors import InputError, MissingError, UnknownNameError
from lungeline.explain import Choice, Fitted, Outlook, fit, look_ahead
from lungeline.reference import figure
from lungeline.theatre.case_clock import minutes_between
from lungeline.theatre.expected import Beside
from lungeline.theatre.rows_read import Row

AHEAD_MIN = 30.0
LEAVE = "leave"
_LONGEST_MIN = 60.0  # of a look ahead
_MOST_KEPT = 4
_FASTER, _HALF = 1.25, 0.5  # of the rate, of the fresh gas; assumption
_MORE_PEEP_CMH2O = 5.0  # assumption
_AFTER_MIN = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class SinceGas:
    """Arterial carbon dioxide since the last blood gas: 80 % of what it may be, minute by minute.

    at, paco2_mmhg: of that gas; at_min, low, middle, high: from then on; too_old: it says nothing any more;
    findings: what must be said of it.
    """

    at: datetime
    paco2_mmhg: float
    at_min: Sequence[float]
    low: Sequence[float]
    middle: Sequence[float]
    high: Sequence[float]
    too_old: bool
    findings: Sequence[Finding] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Ahead:
    """What comes under each choice. settings: what each sets; outlooks: since the newest reading.

    from_min: where in them now is.
    """

    settings: Sequence[Mapping[str, Any]]
    outlooks: Sequence[Outlook]
    from_min: float


class Animals:
    """Fits cases, and keeps the animals fitted lately; one thread at a time, as they are run and set back."""

    def __init__(self) -> None:
        """Begin with none."""
        self._kept: OrderedDict[str, Fitted] = OrderedDict()
        self._lock = threading.Lock()

    def fitted(self, beside: Beside, rows: Sequence[Row], until: datetime | None = None) -> Fitted:
        """Return the animal as fitted to what was read since the case began, or until a moment."""
        with self._lock:
            return self._fitted(beside, rows, until)

    def since_gas(self, beside: Beside, rows: Sequence[Row], now: datetime) -> SinceGas | None:
        """Return arterial carbon dioxide since the last blood gas; None where there is none."""
        gases = [row for row in rows if row.gas and "paco2_mmhg" in row.values and row.at >= beside.began]
        if not gases:
            return None
        gas = gases[-1]
        since_min = minutes_between(gas.at, now)
        told = SinceGas(
            at=gas.at,
            paco2_mmhg=gas.values["paco2_mmhg"],
            at_min=(),
            low=(),
            middle=(),
            high=(),
            too_old=True,
        )
        if since_min >= _LONGEST_MIN:
            return told
        with self._lock:
            fitted = self._fitted(beside, rows, gas.at)
            changes = _changes_between(beside, fitted.at_min, minutes_between(beside.began, now))
            (outlook,) = look_ahead(
                fitted, [Choice(name=LEAVE, changes=changes)], minutes=max(since_min, 1.0)
            )
        band = outlook.bands.get("paco2_mmhg")
        if band is None:
            return told
        lists = ([float(each) for each in line] for line in (band.low, band.middle, band.high))
        low, middle, high = lists
        return replace(
            told,
            at_min=outlook.minutes.tolist(),
            low=low,
            middle=middle,
            high=high,
            too_old=False,
            findings=outlook.findings(),
        )

    def ahead(
        self,
        beside: Beside,
        rows: Sequence[Row],
        choices: Sequence[str],
        now: datetime,
        until: datetime | None,
    ) -> Ahead:
        """Return the next half hour under each choice; what was set since the last reading is in it."""
        with self._lock:
            fitted = self._fitted(beside, rows, until)
            now_min = minutes_between(beside.began, now)
            gap_min = round(max(now_min - fitted.at_min, 0.0), 1)
            if gap_min > _LONGEST_MIN - AHEAD_MIN:
                raise InputError(
                    where="readings", given=f"the last one {gap_min:.0f} min old",
                    allowed=f"one of the last {_LONGEST_MIN - AHEAD_MIN:.0f} min",
                    do="Enter what is measured now.",
                )  # fmt: skip
            settings = _settings_at(beside, now_min)
            known = choices_now(settings)
            asked = [_named(name, known) for name in choices]
            since = _changes_between(beside, fitted.at_min, fitted.at_min + gap_min)
            wanted = [
                Choice(name=name, changes=(*since, *(_later(it, gap_min) for it in known[name])))
                for name in asked
            ]
            outlooks = look_ahead(fitted, wanted, minutes=gap_min + AHEAD_MIN)
        told = [{key: v for it in known[name] for key, v in it.settings.items()} for name in asked]
        return Ahead(settings=told, outlooks=outlooks, from_min=gap_min)

    def _fitted(self, beside: Beside, rows: Sequence[Row], until: datetime | None) -> Fitted:
        used = [row for row in rows if row.at >= beside.began and (until is None or row.at <= until)]
        readings = [it for row in used for it in row.readings(beside.began)]
        if not readings:
            raise MissingError(
                where="readings", given="none since something was set",
                allowed="a row, best with a blood gas", do="Enter what is measured.",
            )  # fmt: skip
        last_min = readings[-1].time_s / 60.0
        changes = tuple(it for it in beside.case.changes if it.at_min <= last_min)
        key = repr((replace(beside.case, changes=changes), beside.began, readings))
        if key not in self._kept:
            self._kept[key] = fit(replace(beside.case, changes=changes), readings)
        self._kept.move_to_end(key)
        while len(self._kept) > _MOST_KEPT:
            self._kept.popitem(last=False)
        return self._kept[key]


def choices_now(settings: Settings) -> dict[str, tuple[Change, ...]]:
    """Return what could be done, by name: what it changes, `at_min` from now. The first is to leave it.

    Pressures of a recruitment and the PEEP after it are those of Hopster 2011 in `reference/limits.toml`.
    """
    held, peep = settings.peep_cmh2o or 0.0, float(figure("limits.recruitment.peep_cmh2o").value)
    more = max(peep, held + _MORE_PEEP_CMH2O) if held >= peep else peep
    found: dict[str, tuple[Change, ...]] = {LEAVE: ()}
    if settings.ventilator_on and settings.respiratory_rate_per_min:
        faster = float(round(settings.respiratory_rate_per_min * _FASTER + 0.25))
        found["rate_up"] = (_set(respiratory_rate_per_min=faster),)
    if settings.ventilator_on:
        pressures = [
            figure(f"limits.recruitment.{name}_pressure_cmh2o").value for name in ("first", "second")
        ]
        recruit = Recruitment(
            pressures_cmh2o=(pressures[0], pressures[1], pressures[0]),
            hold_s=figure("limits.recruitment.hold_s").value,
        )
        found["peep"] = (_set(peep_cmh2o=more),)
        found["recruitment"] = (
            Change(at_min=0.0, manoeuvre=recruit),
            replace(_set(peep_cmh2o=more), at_min=2.0),
        )
    if settings.fresh_gas_flow_l_min:
        found["fresh_gas_down"] = (_set(fresh_gas_flow_l_min=settings.fresh_gas_flow_l_min * _HALF),)
    if settings.ventilator_on:
        found["stop"] = (_set(ventilator_on=False),)
    return found


def _set(**settings: float | bool) -> Change:
    return Change(at_min=0.0, settings=settings)


def _later(change: Change, minutes: float) -> Change:
    return replace(change, at_min=change.at_min + minutes + _AFTER_MIN)


def _named(name: str, known: Mapping[str, object]) -> str:
    if name not in known:
        raise UnknownNameError.nearest(where="choice", given=name, valid=known)
    return name


def _settings_at(beside: Beside, at_min: float) -> Settings:
    return beside.case.settings_at(at_min)


def _changes_between(beside: Beside, begin_min: float, end_min: float) -> tuple[Change, ...]:
    """Return what was changed in between, counted from its beginning."""
    return tuple(
        replace(it, at_min=it.at_min - begin_min)
        for it in beside.case.changes
        if begin_min < it.at_min <= end_min
    )


__all__ = ["AHEAD_MIN", "LEAVE", "Ahead", "Animals", "SinceGas", "choices_now"]
