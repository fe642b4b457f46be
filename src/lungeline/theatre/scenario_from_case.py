"""A recorded case handed to rehearsal: signed or simulated, and without anything that tells whose it was."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING, Any

from lungeline.case import Breath, Case, Change, Reading
from lungeline.errors import MissingError, RecordError
from lungeline.record import CaseState, Item, present_state
from lungeline.rehearse.from_case import CaseAsItWent, CaseScenario, scenario_of_case
from lungeline.theatre.anonymised import anonymised
from lungeline.theatre.case_beside import case_planned
from lungeline.theatre.case_clock import minutes_between
from lungeline.theatre.cases import CaseNow
from lungeline.theatre.desk import Desk
from lungeline.theatre.expected import beside
from lungeline.theatre.people import check_right
from lungeline.theatre.signing import versions
from lungeline.words import entry_text

if TYPE_CHECKING:
    from lungeline.case.reading import Quality

_SECONDS_PER_MINUTE = 60.0
_REMOVED = "removed"  # as what was left out of a record without names stands there
_SAID = frozenset({"drug", "infusion", "fluid", "phase"})
# drugs whose effect the model has, by the setting that is their rate
_RATES = {"dobutamine": "dobutamine_ug_kg_min", "phenylephrine": "phenylephrine_ug_kg_min"}
_DAMAGED = frozenset({"changed", "cut"})


def scenario_from_case(desk: Desk, case: str, name: str = "own_case") -> CaseScenario:
    """Return a scenario of a case as it was signed last, or of a simulated one as it stands.

    Raises RecordError for a real case that nobody signed, or that is not as it was acknowledged.
    """
    check_right(desk.person(), "export")
    now = desk.cases.read(case)
    return scenario_of_case(case_as_it_went(now), name)


def case_as_it_went(now: CaseNow) -> CaseAsItWent:
    """Return a case without names, on its own clock; what was entered after the last signature left out."""
    entries = now.entries[: _count(now)]
    state = present_state(anonymised(entries, "case"))
    asked = beside(state, _last(state), assume=True)
    if asked is None:
        raise MissingError(
            where="case",
            given="no weight, or no setting of the machine",
            allowed="a case of which it is told how heavy the animal was and what was set",
            do="Take another case, or correct this one.",
        )
    readings = tuple(_readings(state, asked.began))
    last_s = max((it.time_s for it in readings), default=0.0)
    changes = _with_rates(asked.case, state, asked.began)
    last_min = max([last_s / _SECONDS_PER_MINUTE, *(it.at_min for it in changes)])
    return CaseAsItWent(
        case=replace(_bare(asked.case), changes=changes),
        readings=readings,
        minutes=max(last_min, 1.0),
        said=tuple(_said(state, asked.began)),
        planned=case_planned(state) is not None,
        simulated=bool(now.mark),
    )


def _count(now: CaseNow) -> int:
    """Return how many entries count: of a real case those that are signed."""
    if now.mark:
        return len(now.entries)
    verdict = now.store.verify(now.state.case)
    if verdict.outcome in _DAMAGED:
        raise RecordError(
            where=f"case {now.state.case}",
            given=f"{verdict.outcome}: {verdict.reason}",
            allowed="a record that is as it was acknowledged",
            do="Compare it with a backup first.",
        )
    signed = versions(now.entries)
    if not signed:
        raise RecordError(
            where=f"case {now.state.case}",
            given="a real case that nobody has signed",
            allowed="a signed case, or a simulated one",
            do="Have it signed first: until then nobody stands for what it says.",
        )
    return signed[-1].count


def _last(state: CaseState) -> datetime:
    kept = [item.event_time for item in state.items if not item.struck]
    return max(kept) if kept else datetime.min  # noqa: DTZ901  of a case without entries nothing is asked


def _bare(case: Case) -> Case:
    """Return what rehearsal needs of a case; the job, the supply and its cylinders may have names."""
    return Case(
        animal=case.animal,
        place=case.place,
        start=case.start,
        equipment=case.equipment,
        settings=case.settings,
    )


def _readings(state: CaseState, began: datetime) -> Iterator[Reading]:
    """Yield what was read while the machine ran; what was estimated is doubtful, artefacts are left out."""
    for item in state.items:
        arterial = item.kind == "gases" and item.body.get("sample") == "arterial"
        if item.struck or item.body.get("artefact") or not (item.kind == "reading" or arterial):
            continue
        time_s = minutes_between(began, item.event_time) * _SECONDS_PER_MINUTE
        if time_s >= 0.0:
            yield from _values(item.body, time_s)


def _values(body: Mapping[str, Any], time_s: float) -> Iterator[Reading]:
    for key, value in body.items():
        if (
            key in Breath.__dataclass_fields__
            and isinstance(value, int | float)
            and not isinstance(value, bool)
        ):
            quality: Quality = "doubtful" if body.get("estimated") else "good"
            yield Reading(time_s=time_s, key=key, value=float(value), source="record", quality=quality)


def _with_rates(case: Case, state: CaseState, began: datetime) -> tuple[Change, ...]:
    """Return the changes of a case with those of infusions the model knows; settings once a moment."""
    told: dict[float, dict[str, Any]] = {it.at_min: dict(it.settings) for it in case.changes if it.settings}
    for item in state.items:
        rate = _rate(item)
        at_min = round(max(minutes_between(began, item.event_time), 0.0), 3)
        if rate and not item.struck:
            told.setdefault(at_min, {}).update(rate)
    set_then = [Change(at_min=at_min, settings=settings) for at_min, settings in told.items() if settings]
    done = [it for it in case.changes if it.manoeuvre is not None]
    return tuple(sorted([*set_then, *done], key=lambda it: it.at_min))


def _rate(item: Item) -> dict[str, float]:
    key = _RATES.get(str(item.body.get("drug", "")).casefold()) if item.kind == "infusion" else None
    if key is None:
        return {}
    if item.body.get("action") == "stop":
        return {key: 0.0}
    return {key: item.body["dose_ug_kg_min"]} if item.body.get("dose_ug_kg_min") is not None else {}


def _said(state: CaseState, began: datetime) -> Iterator[tuple[float, str]]:
    for item in state.items:
        at_min = minutes_between(began, item.event_time)
        body = {key: value for key, value in item.body.items() if value != _REMOVED}
        if item.kind in _SAID and not item.struck and at_min >= 0.0:
            yield at_min, entry_text(item.kind, body)
