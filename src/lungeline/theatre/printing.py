"""A case put together for print: lanes over time, tables, every entry, and what proves them."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from itertools import zip_longest

from lungeline.export.pdf.record_pdf import handover_pdf, lane_sheets, record_pdf
from lungeline.export.pdf.record_sheets import Bar, Mark, RecordSheets
from lungeline.record import CaseState, Item
from lungeline.theatre.case_clock import case_clock, minutes_between
from lungeline.theatre.cases import CaseNow
from lungeline.theatre.completeness import missing
from lungeline.theatre.desk import Desk
from lungeline.theatre.people import FILE, check_right, read_people
from lungeline.theatre.phases import phases_begun
from lungeline.theatre.printed_lanes import lanes_of
from lungeline.theatre.printed_tables import entry_section, first_sections, handover_sections, later_sections
from lungeline.words import entry_text, number_text

_MARKED = frozenset({"drug", "event", "fluid", "check", "handover", "gases"})
_MARK_LENGTH = 90


def print_record(desk: Desk, case: str, *, paper: str = "a4", printed_at: datetime | None = None) -> bytes:
    """Return the record of a case as PDF: what stands, what was corrected, who signed, what proves it."""
    check_right(desk.person(), "export")
    now = desk.cases.read(case)
    moment = desk.clock()
    people = read_people(desk.cases.path / FILE)
    sheets = _sheets(now, moment, "Anaesthetic record")
    findings = missing(now.state, moment, people)
    verdict = now.store.verify(case)
    first = first_sections(now, moment, findings, verdict)
    sections = (*later_sections(now, moment), entry_section(now))
    return record_pdf(
        replace(sheets, first=first, sections=sections), paper=paper, printed_at=printed_at or moment
    )


def print_handover(desk: Desk, case: str, *, paper: str = "a4", printed_at: datetime | None = None) -> bytes:
    """Return the card for whoever takes over, as PDF."""
    check_right(desk.person(), "export")
    now, moment = desk.cases.read(case), desk.clock()
    sheets = replace(_sheets(now, moment, "Hand-over"), lanes=(), sections=handover_sections(now, moment))
    return handover_pdf(sheets, paper=paper, printed_at=printed_at or moment)


def chart_svgs(desk: Desk, case: str) -> list[str]:
    """Return the lanes of a case as pictures, a sheet for every two hours."""
    now, moment = desk.cases.read(case), desk.clock()
    return lane_sheets(_sheets(now, moment, "Anaesthetic record"))


def handover_lines(desk: Desk, case: str) -> list[str]:
    """Return the card for whoever takes over, as text."""
    now, moment = desk.cases.read(case), desk.clock()
    lines = [f"{now.mark} {animal_text(now.state)}".strip()]
    for section in handover_sections(now, moment):
        lines += [
            "",
            section.title,
            *("  " + "  ".join(cell for cell in row if cell) for row in section.rows),
        ]
    return lines


def animal_text(state: CaseState) -> str:
    """Return name, species and weight, with how the weight was had."""
    opening = state.opening
    weight_kg = opening.get("weight_kg")
    weight = "weight unknown" if weight_kg is None else number_text("weight_kg", weight_kg)
    how = f" by {opening['weighed_by']}" if weight_kg is not None and opening.get("weighed_by") else ""
    return f"{opening.get('name', '?')}, {opening.get('species', '?')}, {weight}{how}"


def _sheets(now: CaseNow, moment: datetime, title: str) -> RecordSheets:
    state = now.state
    kept = [item for item in state.items if not item.struck and item.kind != "opening"]
    clock = case_clock(state, moment)
    began = clock.induced or (kept[0].event_time if kept else now.entries[0].event_time)
    began = began.replace(minute=began.minute - began.minute % 5, second=0, microsecond=0)
    ends = [item.event_time for item in kept if item.kind in {"reading", "setting", "phase", "infusion"}]
    minutes = max(minutes_between(began, max(ends, default=began)) + 1.0, 5.0)
    return RecordSheets(
        title=title,
        animal=animal_text(state),
        mark=now.mark,
        facts=tuple(_facts(now)),
        began=began,
        minutes=minutes,
        lanes=lanes_of(state, began),
        parts=tuple(_parts(state, began)),
        infusions=tuple(_infusions(kept, began)),
        marks=tuple(_marks(kept, began)),
    )


def _facts(now: CaseNow) -> Iterator[str]:
    opening = now.state.opening
    yield f"case {now.state.case}"
    for key in ("case_number", "procedure", "diagnosis", "position", "breed", "sex", "owner", "place"):
        if opening.get(key):
            yield f"{key.replace('_', ' ')}: {opening[key]}"
    if opening.get("age_years") is not None:
        yield f"age: {number_text('age_years', opening['age_years'])}"


def _parts(state: CaseState, began: datetime) -> Iterator[Bar]:
    begun = phases_begun(state)
    for item, following in zip_longest(begun, begun[1:]):
        if item.body["phase"] != "closed":
            to_min = None if following is None else minutes_between(began, following.event_time)
            from_min = minutes_between(began, item.event_time)
            yield Bar(label=item.body["phase"], from_min=from_min, to_min=to_min)


def _infusions(kept: Sequence[Item], began: datetime) -> Iterator[Bar]:
    drugs = dict.fromkeys(item.body["drug"] for item in kept if item.kind == "infusion")
    for drug in drugs:
        own = [item for item in kept if item.kind == "infusion" and item.body["drug"] == drug]
        stopped = own[-1].body["action"] == "stop"
        yield Bar(
            label=drug,
            from_min=minutes_between(began, own[0].event_time),
            to_min=minutes_between(began, own[-1].event_time) if stopped else None,
            notes=tuple((minutes_between(began, item.event_time), _rate(item)) for item in own),
        )


def _rate(item: Item) -> str:
    told = [number_text(key, item.body[key]) for key in ("dose_ug_kg_min", "rate_ml_h") if key in item.body]
    return ", ".join(told) or str(item.body["action"])


def _marks(kept: Sequence[Item], began: datetime) -> Iterator[Mark]:
    marked = [item for item in kept if item.kind in _MARKED]
    for number, item in enumerate(marked, start=1):
        text = entry_text(item.kind, item.body)
        short = text if len(text) <= _MARK_LENGTH else f"{text[: _MARK_LENGTH - 1]}…"
        yield Mark(at_min=minutes_between(began, item.event_time), number=number, text=short)
