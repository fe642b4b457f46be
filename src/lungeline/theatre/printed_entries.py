"""Every entry of a case as tables for print: readings and blood gases in columns, the rest in lines."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from lungeline.export.pdf.record_sheets import Section
from lungeline.record import Entry, Item
from lungeline.record.kinds import KINDS
from lungeline.theatre.cases import CaseNow
from lungeline.theatre.printed_moment import Clock, clock_of
from lungeline.theatre.printed_tables import content_of, marks_of
from lungeline.words import entry_text, label_of, number_text

_COLUMNED = ("gases", "reading")
_SAID_IN_WORDS = frozenset({"estimated", "artefact"})
_TITLES = {"gases": "Blood gases", "reading": "Measurements"}
_ROUNDED = "Numbers are rounded; the copy of the record has them to the last digit."
_AS_IT_NOW_STANDS = " Each row as it now stands; what it said at first is under Corrected or struck out."


def column_sections(now: CaseNow) -> tuple[Section, ...]:
    """Return blood gases and readings, each in a row with its quantities in columns, struck ones marked."""
    return tuple(section for kind in _COLUMNED if (section := _columns(now, kind)).rows)


def amended_section(now: CaseNow) -> Section:
    """Return what was corrected or struck out: what it said, what it says now, why, and who said so when."""
    told = clock_of(now)
    rows = [row for item in _by_number(now) for row in _amended_rows(item, told)]
    rows += [
        (
            str(entry.seq),
            told(entry.event_time),
            KINDS[entry.kind].label,
            "leads to no entry",
            "",
            "",
            entry.author,
        )
        for entry in now.state.orphans
    ]
    return Section(
        title="Corrected or struck out",
        head=("No.", "of", "what", "it said", "it says now", "why", "by, entered"),
        rows=rows,
        widths=(0.4, 0.9, 0.9, 2.4, 2.4, 1.6, 1.4),
        note="No entry is ever changed: a correction or strike-out is one of its own, and the old one stays."
        if rows
        else "",
    )


def entry_section(now: CaseNow) -> Section:
    """Return every entry that does not stand in columns, in the order of its number, as it was made."""
    told = clock_of(now)
    columned = {item.entry.seq for item in now.state.items if _in_columns(item)}
    rows = [_row(entry, now, told) for entry in now.entries if entry.seq not in columned]
    note = (
        "Entries without a line here are in the tables of measurements and blood gases." if columned else ""
    )
    return Section(
        title="Entries as they were made",
        head=("No.", "happened", "entered", "kind", "content", "by, on"),
        rows=rows,
        widths=(0.45, 0.95, 0.95, 1.1, 5.0, 1.5),
        note=note,
    )


def _in_columns(item: Item) -> bool:
    return item.kind in _COLUMNED and item.entry.kind == item.kind


def _columns(now: CaseNow, kind: str) -> Section:
    """Return the items of a kind as a table: a column for each quantity that any of them has."""
    items = [item for item in now.state.items if item.kind == kind]
    docs = KINDS[kind].docs
    used = {key for item in items for key in item.body}
    keys = [key for key, doc in docs.items() if key in used and doc.kind == "number"]
    in_words = [key for key in docs if key in used and key not in keys and key not in _SAID_IN_WORDS]
    told = clock_of(now)
    rows = [
        (
            str(item.entry.seq),
            told(item.event_time),
            told(item.entry.entry_time),
            *(_number(key, item.body.get(key)) for key in keys),
            ", ".join(str(item.body[key]) for key in in_words if item.body.get(key)),
            marks_of(item),
            item.entry.author,
        )
        for item in items
    ]
    return Section(
        title=_TITLES[kind],
        head=("No.", "time", "entered", *(_headed(kind, key) for key in keys), "", "", "by"),
        rows=rows,
        widths=(0.7, 1.0, 1.0, *(1.0 for _ in keys), 1.3 if in_words else 0.1, 1.5, 1.3),
        note=_ROUNDED + (_AS_IT_NOW_STANDS if any(item.history for item in items) else ""),
        turned=True,
    )


def _headed(kind: str, key: str) -> str:
    """Return the name of a column with its unit, which its numbers then leave out."""
    label, unit = label_of(kind, key), number_text(key, 1.0).partition(" ")[2]
    return f"{label} [{unit}]" if unit and unit not in label else label


def _number(key: str, value: object) -> str:
    return number_text(key, value).partition(" ")[0] if isinstance(value, int | float) else ""


def _amended_rows(item: Item, told: Clock) -> Iterator[tuple[str, ...]]:
    entry = item.entry
    was: Mapping[str, Any] = entry.body
    was_at = entry.event_time
    for each in item.history:
        by = f"{each.author}, {told(each.entry_time)} (no. {each.seq})"
        of = (str(entry.seq), told(entry.event_time), KINDS[each.kind].label)
        why = str(each.body["reason"])
        if each.kind == "strike":
            undone = each.corrects != entry.uid
            what = "the amendment before it" if undone else _said(item)
            yield *of, what, _now_says(item) if undone else "", why, by
            continue
        now: Mapping[str, Any] = each.body["body"]
        kind = str(each.body["kind"])
        old, new = _changed(was, now), _changed(now, was)
        moved = was_at != each.event_time
        yield (
            *of,
            _told(entry.kind, old, f"at {told(was_at)}" if moved else ""),
            _told(kind, new, f"at {told(each.event_time)}" if moved else ""),
            why,
            by,
        )
        was, was_at = now, each.event_time


def _said(item: Item) -> str:
    """Return what an entry said; of one that stands in columns, where to read it."""
    return "see its row" if _in_columns(item) else entry_text(item.entry.kind, item.entry.body)


def _now_says(item: Item) -> str:
    if item.struck:
        return "struck out"
    return "see its row" if _in_columns(item) else entry_text(item.kind, item.body)


def _changed(one: Mapping[str, Any], other: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in one.items() if other.get(key) != value}


def _told(kind: str, changed: Mapping[str, Any], moved: str) -> str:
    flags = [key for key in _SAID_IN_WORDS if changed.get(key)]
    quantities = {key: value for key, value in changed.items() if key not in _SAID_IN_WORDS}
    if kind == "plan":
        quantities = {}
        moved = moved or "another plan"
    words = entry_text(kind, quantities) if quantities else ""
    return ", ".join(part for part in (words, *flags, moved) if part) or "nothing of it"


def _by_number(now: CaseNow) -> Sequence[Item]:
    return sorted(now.state.items, key=lambda item: item.entry.seq)


def _row(entry: Entry, now: CaseNow, told: Clock) -> tuple[str, ...]:
    return (
        str(entry.seq),
        told(entry.event_time),
        told(entry.entry_time),
        KINDS[entry.kind].label,
        content_of(entry, now),
        f"{entry.author}, {entry.device}",
    )
