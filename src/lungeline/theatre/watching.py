"""The running case as it is watched: lanes, clock, what is due, threats in the last readings."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

from lungeline.case import Finding, Profile
from lungeline.case.reading import Reading
from lungeline.explain import assumed, channels, measured, threats
from lungeline.record import CaseState, Item
from lungeline.reference import figure
from lungeline.theatre.case_beside import case_now, settings_told
from lungeline.theatre.case_clock import UNDER, case_clock, minutes_between
from lungeline.theatre.due import due
from lungeline.theatre.phases import NEXT
from lungeline.theatre.set_back import off_circle, off_circle_since, to_set_back

__all__ = ["began_of", "case_now", "threats_now", "watched"]

_FRESH = timedelta(minutes=10)  # readings older than this threaten nobody now; common practice, no source


def began_of(state: CaseState) -> datetime:
    """Return minute 0 of the lanes: the first thing set or measured, else the beginning of the record."""
    kept = [item for item in state.items if not item.struck]
    first = [item.event_time for item in kept if item.kind in {"setting", "reading"}]
    return min(first, default=kept[0].event_time if kept else datetime.now().astimezone())


def watched(state: CaseState, now: datetime, profile: Profile | None = None) -> dict[str, Any]:
    """Return everything the page of a running case shows, as one plain object."""
    began = began_of(state)
    clock = case_clock(state, now)
    kept = [item for item in state.items if not item.struck]
    return {
        "now": now.isoformat(timespec="seconds"),
        "began": began.isoformat(timespec="seconds"),
        "now_min": minutes_between(began, now),
        "phase": clock.phase,
        "phase_since": _moment(clock.phase_since),
        "next_phases": sorted(NEXT[clock.phase]),
        "anaesthesia_minutes": clock.anaesthesia_minutes,
        "last_seq": state.count,
        "measured": _series(kept, ("reading", "gases"), began),
        "set": _series(kept, ("setting",), began),
        "latest": {key: _latest(it.value, it.event_time) for key, it in state.readings.items()},
        "gases": {key: _latest(it.value, it.event_time) for key, it in state.gases.items()},
        "settings": {key: it.value for key, it in state.settings.items()},
        "running": [{"drug": drug, **dict(item.body)} for drug, item in state.running.items()],
        "planned": _planned(state),
        "planned_at_all": any(item.kind == "plan" for item in kept),
        "off_times": len(off_circle(state)),
        "off_since": _moment(off_circle_since(state)),
        "due": [each.as_json() for each in due(state, now, profile)],
        "set_back": [each.as_json() for each in to_set_back(state, now)],
        "guard": {"map_least_mmhg": figure("limits.recruitment.abort_map_mmhg").value},
        "events": [
            {"at": item.event_time.isoformat(timespec="seconds"), "what": item.body["what"]}
            for item in kept
            if item.kind == "event"
        ][-6:],
    }


def threats_now(
    state: CaseState, now: datetime, live: Mapping[str, tuple[datetime, float]] | None = None
) -> tuple[Finding, ...]:
    """Return what threatens life by the last readings, gravest first; what is old or missing does not.

    live: numbers measured live by key, with their time; they count where they are newer.
    """
    case = case_now(state)
    settings = case.settings if case else settings_told(state)
    told = {key: (it.event_time, it.value) for key, it in {**state.readings, **state.gases}.items()}
    for key, measured_live in (live or {}).items():
        told[key] = max(told.get(key, measured_live), measured_live, key=lambda each: each[0])
    # each is as of now: rows are minutes apart, and the last of each is what is known
    present = [
        Reading(time_s=0.0, key=key, value=float(value), source="typed")
        for key, (at, value) in told.items()
        if key in channels() and isinstance(value, int | float) and now - at <= _FRESH
    ]
    if not present or state.phase not in UNDER:
        return ()
    return threats(measured(present, assumed()), settings).findings


def _series(items: Iterable[Item], kinds: Sequence[str], began: datetime) -> dict[str, list[list[Any]]]:
    """Return by key what was told, as [minute, value, marks]."""
    found: dict[str, list[list[Any]]] = {}
    for item in items:
        if item.kind not in kinds:
            continue
        at_min = round(minutes_between(began, item.event_time), 2)
        marks = "".join(word[0] for word in ("estimated", "artefact") if item.body.get(word))
        for key, value in item.body.items():
            if isinstance(value, int | float) and not isinstance(value, bool):
                found.setdefault(key, []).append([at_min, value, marks])
    return found


def _moment(at: datetime | None) -> str | None:
    return at.isoformat(timespec="seconds") if at else None


def _latest(value: Any, at: datetime) -> dict[str, Any]:  # noqa: ANN401  a number or a word
    return {"value": value, "at": at.isoformat(timespec="seconds")}


def _planned(state: CaseState) -> list[Mapping[str, Any]]:
    plans = [item for item in state.items if item.kind == "plan" and not item.struck]
    return [dict(dose) for dose in plans[-1].body.get("doses", [])] if plans else []
