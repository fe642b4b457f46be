"""Why and what next: what was noticed, causes and the next test, this animal, what comes, a gas in doubt."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from functools import cache
from typing import Any

from django.http import HttpRequest
from ninja import Router, Schema
from pydantic import Field

from lungeline.case import Finding, Settings
from lungeline.errors import MissingError
from lungeline.explain import assumed, measured, threats
from lungeline.record import CaseState
from lungeline.record.moment import read_moment
from lungeline.simulate.setup import barometric_pressure_mmhg
from lungeline.theatre import CaseNow
from lungeline.theatre.case_beside import case_now, settings_told
from lungeline.theatre.case_clock import UNDER, minutes_between
from lungeline.theatre.causes import Causes
from lungeline.theatre.expected import Beside, beside
from lungeline.theatre.gas_doubts import doubts
from lungeline.theatre.quiet import Noticed, moved_keys, noticed
from lungeline.theatre.rows_read import FRESH, Row, Story, rows_read, set_otherwise_since, story
from lungeline.theatre.this_animal import Animals, SinceGas, choices_now
from lungeline.web.api.entries import seen
from lungeline.web.api.watch import planned
from lungeline.web.live import feeds
from lungeline.web.parts.measures import view_of
from lungeline.web.parts.seat import desk_of
from lungeline.web.parts.why_words import cause_told, choice_named, said_to, test_told

router = Router()
_AHEAD = ("paco2_mmhg", "pao2_mmhg", "peak_pressure_cmh2o", "spare_volume_l")


class Asked(Schema):
    """assumed: without a plan, take what is usual; well_until: until when somebody says that all was well."""

    assumed: bool = False
    well_until: str = ""


class AheadAsked(Schema):
    """choices: one to four names of what could be done; assumed: as with causes."""

    choices: list[str] = Field(min_length=1, max_length=4)
    assumed: bool = False


class GasTyped(Schema):
    """body: a blood gas as it is about to be entered."""

    body: dict[str, Any]


@cache
def _causes() -> Causes:
    return Causes()


@cache
def _animals() -> Animals:
    return Animals()


@router.get("/{case}/findings")
def findings(request: HttpRequest, case: str) -> dict[str, Any]:
    """Return what was noticed and not seen to, and every life threat of the newest readings."""
    state, now = seen(request, case).state, desk_of(request).clock()
    live, view = feeds().trends(case), view_of(request)
    told = _story(state, rows_read(state, live))
    found = noticed(state, now, live)
    set_as = case_now(state)
    if told is not None and set_as is not None and any(it.priority == "medium" for it in found):
        _causes().prepare_soon(state, set_as, told)  # who then asks why need not wait
    return {
        "threats": [said_to(it, view) for it in _threats(state, told, now)],
        "findings": [said_to(it.finding, view) | _noticed(it, told, moved_keys(it.finding)) for it in found],
    }


@router.post("/{case}/causes")
def causes(request: HttpRequest, case: str, given: Asked) -> dict[str, Any]:
    """Return why what was read last differs from what was read before, and the one test that tells most."""
    now = seen(request, case)
    set_as = planned(now, assume=given.assumed)
    until = read_moment(given.well_until, "well_until") if given.well_until else None
    told = _story(now.state, rows_read(now.state, feeds().trends(case)), until)
    if told is None:
        raise MissingError(
            where="causes", given="no readings", allowed="a row of readings", do="Enter what is measured."
        )
    why, view = _causes().why(now.state, set_as, told), view_of(request)
    names = {"not_excluded": why.not_excluded, "unlikely": why.unlikely}
    return {
        **_story_told(told),
        "oxygenation_safe": why.told.threats.oxygenation_safe,
        "enough": why.told.enough,
        "helpful": why.told.helpful[0].test.code if why.told.helpful else None,
        "threats": [said_to(it, view) for it in why.told.threats.findings],
        "notes": [said_to(it, view) for it in why.told.findings() if it not in why.told.threats.findings],
        "lines": [
            {
                "causes": [cause_told(each, view) for each in line.causes],
                "splits": line.splits and test_told(line.splits, view),
            }
            for line in why.lines
        ],
        **{key: [cause_told(each, view) for each in some] for key, some in names.items()},
        "test": why.next_test and test_told(why.next_test.test, view),
        "answers": [
            {"test": it.test, "found": it.found, "seq": it.item.entry.seq, "at": _iso(it.item.event_time)}
            for it in why.answers
        ],
    }


@router.get("/{case}/animal")
def animal(request: HttpRequest, case: str, *, assumed: bool = False) -> dict[str, Any]:
    """Return the numbers of this animal that its readings moved, and its CO2 since the last gas."""
    asked, rows, until, now = _fit_question(request, case, assume=assumed)
    fitted, view = _animals().fitted(asked, rows, until), view_of(request)
    since = _animals().since_gas(asked, rows, now)
    return {
        "until": _iso(until),
        "numbers": [it.as_json() for it in fitted.numbers],
        "notes": [said_to(it, view) for it in fitted.findings()],
        "since_gas": since and _since_told(since, now, view),
    }


@router.get("/{case}/choices")
def choices(request: HttpRequest, case: str, *, assumed: bool = False) -> dict[str, Any]:
    """Return what could be done now, by name, and what each would set."""
    known = choices_now(planned(seen(request, case), assume=assumed).settings)
    told = {
        name: {key: value for it in acts for key, value in it.settings.items()}
        for name, acts in known.items()
    }
    return {"choices": told}


@router.post("/{case}/ahead")
def ahead(request: HttpRequest, case: str, given: AheadAsked) -> dict[str, Any]:
    """Return the next half hour under each choice, in this animal; nothing is set by asking."""
    asked, rows, until, now = _fit_question(request, case, assume=given.assumed)
    found, view = _animals().ahead(asked, rows, given.choices, now, until), view_of(request)
    told = []
    for outlook, settings in zip(found.outlooks, found.settings, strict=True):
        shown = [place for place, at in enumerate(outlook.minutes) if at >= found.from_min]
        bands = {key: outlook.bands[key].as_json() for key in _AHEAD if key in outlook.bands}
        told.append({
            "name": outlook.choice,
            "settings": settings,
            "possible": outlook.possible,
            "notes": [said_to(choice_named(it, view), view) for it in outlook.findings()],
            "at_min": [float(outlook.minutes[place]) - found.from_min for place in shown],
            "bands": {
                key: {end: [line[place] for place in shown] for end, line in band.items()}
                for key, band in bands.items()
            },
        })  # fmt: skip
    return {"until": _iso(until), "choices": told}


@router.post("/{case}/gas-doubts")
def gas_doubts(request: HttpRequest, case: str, given: GasTyped) -> dict[str, Any]:
    """Return what about a gas does not fit, before it is kept. Asking keeps nothing and refuses nothing."""
    state, now = seen(request, case).state, desk_of(request).clock()
    gas = {key: float(value) for key, value in given.body.items() if _number(value)}
    arterial = given.body.get("sample") == "arterial" and not given.body.get("artefact")
    told = {
        key: float(it.value)
        for key, it in state.readings.items()
        if _number(it.value) and now - it.event_time <= FRESH
    }
    here = case_now(state, assume=True)
    pressure = barometric_pressure_mmhg(here) if here else None
    found = doubts(gas, told, barometric_pressure_mmhg=pressure) if arterial else ()
    return {"doubts": [{"code": it.code, "figures": dict(it.figures)} for it in found]}


def _number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _iso(at: datetime | None) -> str | None:
    return None if at is None else at.isoformat(timespec="seconds")


def _story(state: CaseState, rows: Sequence[Row], until: datetime | None = None) -> Story | None:
    return story(rows, set_otherwise_since(state), until)


def _story_told(told: Story) -> dict[str, Any]:
    """Return what is compared with what; the moments whole, as they are sent back to choose by."""
    return {
        "read_at": told.read_at.isoformat(),
        "well_until": told.well_until and told.well_until.isoformat(),
        "chosen": told.chosen,
        "unlike": told.unlike,
        "may_be_well_until": [at.isoformat() for at in told.choices],
    }


def _threats(state: CaseState, told: Story | None, now: datetime) -> tuple[Finding, ...]:
    """Return life threats, falls against earlier rows too; of a case that is under, by fresh readings."""
    if told is None or state.phase not in UNDER or now - told.read_at > FRESH:
        return ()
    readings, changed_s = told.readings()
    found = measured(readings, assumed(), changed_s)
    return threats(found, _settings(state)).findings


def _settings(state: CaseState) -> Settings:
    case = case_now(state)
    return case.settings if case else settings_told(state)


def _noticed(it: Noticed, told: Story | None, keys: Sequence[str]) -> dict[str, Any]:
    """Return how grave it is, since when, on which readings it rests, and how this rule did."""
    rests = []
    for key in keys:
        if told is None or key not in told.now:
            continue
        before = told.before.get(key)
        rests.append({
            "key": key, "value": told.now[key], "at": _iso(told.now_at[key]),
            "before": before[-1] if before else None, "before_at": _iso(told.before_at.get(key)),
        })  # fmt: skip
    return {
        "priority": it.priority, "at": _iso(it.at), "rests": rests, "right": it.right, "wrong": it.wrong,
    }  # fmt: skip


def _fit_question(
    request: HttpRequest, case: str, *, assume: bool
) -> tuple[Beside, tuple[Row, ...], datetime | None, datetime]:
    """Return what to fit to what, and until when: while something has moved, what was read before that."""
    shown, now = seen(request, case), desk_of(request).clock()
    planned(shown, assume=assume)
    asked = beside(shown.state, now, assume=assume)
    if asked is None:
        raise MissingError(
            where="settings", given="none told yet", allowed="what is set on the ventilator",
            do="Enter what is set.",
        )  # fmt: skip
    live = feeds().trends(case)
    rows = rows_read(shown.state, live)
    return asked, rows, _well_until(shown, rows, now, live), now


def _well_until(
    shown: CaseNow, rows: Sequence[Row], now: datetime, live: Mapping[str, list[tuple[datetime, float]]]
) -> datetime | None:
    moved = [it for it in noticed(shown.state, now, live) if it.finding.code == "watch_moved_together"]
    told = _story(shown.state, rows) if moved else None
    return told.well_until if told is not None and told.unlike else None


def _since_told(since: SinceGas, now: datetime, view: Mapping[str, str]) -> dict[str, Any]:
    place = min(int(minutes_between(since.at, now)), len(since.at_min) - 1)
    band = None
    if not since.too_old:
        band = {"low": since.low[place], "middle": since.middle[place], "high": since.high[place]}
    return {
        "at": _iso(since.at), "paco2_mmhg": since.paco2_mmhg, "now": band, "at_min": list(since.at_min),
        "low": list(since.low), "middle": list(since.middle), "high": list(since.high),
        "notes": [said_to(choice_named(it, view), view) for it in since.findings],
    }  # fmt: skip
