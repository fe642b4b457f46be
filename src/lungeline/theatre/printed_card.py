"""What whoever takes over must know, as tables for one page: what is open and due, then how things stand."""

from collections.abc import Mapping
from datetime import datetime

from lungeline.case import Finding, Profile
from lungeline.errors import InputError
from lungeline.export.pdf.record_sheets import Section
from lungeline.record.kinds import KINDS
from lungeline.record.state import Latest
from lungeline.theatre.case_clock import minutes_between
from lungeline.theatre.cases import CaseNow
from lungeline.theatre.clinic_profile import clinic_profile
from lungeline.theatre.completeness import missing
from lungeline.theatre.desk import Desk
from lungeline.theatre.due import due
from lungeline.theatre.printed_moment import clock_of
from lungeline.theatre.printed_tables import marks_of, standing, sums_section, times_section
from lungeline.theatre.set_back import to_set_back
from lungeline.theatre.team import team
from lungeline.words import entry_text, label_of, number_text, say

_OLD_AFTER_MIN = 15.0  # assumption
_LAST_EVENTS = 8
_LINES, _VALUES = (1.2, 5.6), (2.0, 1.2, 1.6)
_DUE = {
    "row": "next row of readings", "gases": "blood gas", "cylinder": "change the cylinder",
    "absorbent": "change the absorbent",
}  # fmt: skip
_LATER = frozenset({"record_not_closed", "record_recovery_missing", "record_outcome_missing"})
_Card = tuple[tuple[Section, ...], tuple[Section, ...], tuple[Section, ...]]


def card_sections(desk: Desk, now: CaseNow, moment: datetime) -> _Card:
    """Return what stands across the card, then its left and its right column."""
    across = (_who(now, moment), _open(now, moment), _due(desk, now, moment), _notes(now))
    left = (
        Section(title="Set", rows=_latest("setting", now.state.settings, now, moment), widths=_VALUES),
        _running(now), sums_section(now, moment),
    )  # fmt: skip
    right = (
        Section(
            title="Last values", rows=_latest("reading", now.state.readings, now, moment), widths=_VALUES
        ),
        Section(title="Last blood gas", rows=_latest("gases", now.state.gases, now, moment), widths=_VALUES),
    )
    return _told(across), _told((*left, _events(now))), _told(right)


def missing_now(now: CaseNow, moment: datetime) -> tuple[Finding, ...]:
    """Return what the record lacks so far, but for what can only come at the end."""
    return tuple(finding for finding in missing(now.state, moment) if finding.code not in _LATER)


def _told(sections: tuple[Section, ...]) -> tuple[Section, ...]:
    return tuple(section for section in sections if section.rows or section.note)


def _who(now: CaseNow, moment: datetime) -> Section:
    """Return when what began, who is there, and who was last told to take over."""
    there = [f"{it.person} ({it.function})" for it in team(now.state) if it.left is None]
    handed = standing(now, "handover")
    rows = [*times_section(now, moment).rows]
    if there:
        rows.append(("there", ", ".join(there)))
    if handed:
        last = handed[-1]
        detail = f": {last.body['detail']}" if last.body.get("detail") else ""
        when = clock_of(now)(last.event_time)
        rows.append(("last handed over", f"{when} to {last.body['to']}{detail}"))
    return Section(title=f"Now, {moment:%Y-%m-%d %H:%M}", rows=rows, widths=_LINES)


def _open(now: CaseNow, moment: datetime) -> Section:
    told = clock_of(now)
    rows: list[tuple[str, str]] = [
        ("STOP" if finding.severity == "stop" else finding.severity, say(finding).says)
        for finding in missing_now(now, moment)
    ]
    for it in to_set_back(now.state, moment):
        back = f"{label_of('setting', it.key)} to {number_text(it.key, it.back_to)}"
        rows.append(("set back", f"{back}: {it.because} at {told(it.since)}"))
    return Section(
        title="Open", rows=rows, widths=_LINES, note="" if rows else "Nothing is open in the record."
    )


def _due(desk: Desk, now: CaseNow, moment: datetime) -> Section:
    try:
        profile = clinic_profile(desk.cases.path)
    except InputError:  # told where it is used to plan; the card is needed now
        profile = Profile()
    told = clock_of(now)
    rows = [
        (told(it.at), f"{_DUE.get(it.what, it.what)}{', OVERDUE' if it.at < moment else ''}")
        for it in due(now.state, moment, profile)
    ]
    return Section(title="Due", rows=rows, widths=_LINES)


def _notes(now: CaseNow) -> Section:
    """Return notes and incidents of the whole case: an allergy told at its beginning is not crowded out."""
    told = clock_of(now)
    rows = [
        (told(item.event_time), entry_text(item.kind, item.body))
        for item in now.state.items
        if not item.struck and (item.kind == "note" or (item.kind == "event" and item.body.get("incident")))
    ]
    return Section(title="Notes and incidents", rows=rows, widths=_LINES)


def _running(now: CaseNow) -> Section:
    told = clock_of(now)
    rows = [
        (
            drug,
            entry_text(
                "infusion", {key: it for key, it in item.body.items() if key not in {"drug", "action"}}
            ),
            f"since {told(item.event_time)}",
        )
        for drug, item in now.state.running.items()
    ]
    return Section(
        title="Infusions that run", rows=rows, widths=(1.3, 2.4, 1.2), note="" if rows else "None runs."
    )


def _events(now: CaseNow) -> Section:
    told = clock_of(now)
    rows = [
        (told(item.event_time), entry_text("event", item.body))
        for item in standing(now, "event")
        if not item.body.get("incident")
    ]
    return Section(title="Last events", rows=rows[-_LAST_EVENTS:], widths=(0.8, 3.6))


def _latest(
    kind: str, values: Mapping[str, Latest], now: CaseNow, moment: datetime
) -> list[tuple[str, str, str]]:
    told = clock_of(now)
    found = []
    order = {key: place for place, key in enumerate(KINDS[kind].docs)}
    for key, it in sorted(values.items(), key=lambda each: order.get(each[0], len(order))):
        value = number_text(key, it.value) if _is_number(it.value) else _word(it.value)
        age_min = minutes_between(it.event_time, moment)
        # a setting holds until the next; a measured value grows old
        old = f", {age_min:.0f} min old" if kind != "setting" and age_min > _OLD_AFTER_MIN else ""
        marks = f", {marks}" if (marks := marks_of(it.item)) else ""
        found.append((label_of(kind, key), value, f"{told(it.event_time)}{old}{marks}"))
    return found


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _word(value: object) -> str:
    return ("yes" if value else "no") if isinstance(value, bool) else str(value)
