"""A case put together for print: lanes over time, tables, every entry, and what proves them."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from itertools import pairwise, zip_longest

from lungeline.errors import InputError
from lungeline.export.pdf.record_pdf import handover_pdf, record_pdf
from lungeline.export.pdf.record_sheets import Bar, Mark, RecordSheets
from lungeline.record import CaseState, Item
from lungeline.theatre.case_clock import case_clock, minutes_between
from lungeline.theatre.cases import CaseNow
from lungeline.theatre.completeness import missing
from lungeline.theatre.desk import Desk
from lungeline.theatre.people import FILE, Person, check_right, read_people
from lungeline.theatre.phases import phases_begun
from lungeline.theatre.printed_card import card_sections
from lungeline.theatre.printed_entries import amended_section, column_sections, entry_section
from lungeline.theatre.printed_lanes import flags_of, lanes_of
from lungeline.theatre.printed_moment import day_told
from lungeline.theatre.printed_tables import first_sections, later_sections
from lungeline.words import entry_text, number_text

_MARKED = frozenset({"drug", "event", "fluid", "check", "handover", "gases"})
_COURSE = frozenset({"reading", "setting", "drug", "infusion", "gases", "phase"})
_MARK_LENGTH = 44
_IN_HEADING = (
    "case_number", "procedure", "diagnosis", "position", "breed", "sex", "owner", "place",
)  # fmt: skip


def print_record(desk: Desk, case: str, *, paper: str = "a4", printed_at: datetime | None = None) -> bytes:
    """Return the record of a case as PDF: what stands, what was corrected, who signed, what proves it."""
    check_right(desk.person(), "export")
    now, moment = desk.cases.read(case), desk.clock()
    findings = missing(now.state, moment, _people(desk))
    amended = amended_section(now)
    sheets = replace(
        _sheets(now, moment, "Anaesthetic record"),
        first=first_sections(now, moment, findings, now.store.verify(case)),
        sections=later_sections(now),
        wide=column_sections(now),
        last=(*([amended] if amended.rows else ()), entry_section(now)),
    )
    return record_pdf(sheets, paper=paper, printed_at=printed_at or moment)


def print_handover(desk: Desk, case: str, *, paper: str = "a4", printed_at: datetime | None = None) -> bytes:
    """Return the card for whoever takes over, as PDF."""
    check_right(desk.person(), "export")
    now, moment = desk.cases.read(case), desk.clock()
    across, left, right = card_sections(desk, now, moment)
    sheets = replace(_headed(now, moment, "Hand-over"), first=across, sections=left, last=right)
    return handover_pdf(sheets, paper=paper, printed_at=printed_at or moment)


def handover_lines(desk: Desk, case: str) -> list[str]:
    """Return the card for whoever takes over, as text."""
    now, moment = desk.cases.read(case), desk.clock()
    lines = [f"{now.mark} {animal_text(now.state)}".strip(), *_facts(now)]
    for section in (section for part in card_sections(desk, now, moment) for section in part):
        rows = ("  " + "  ".join(cell for cell in row if cell) for row in section.rows)
        note = [f"  {section.note}"] if section.note else []
        lines += ["", section.title, *rows, *note]
    return lines


def animal_text(state: CaseState) -> str:
    """Return name, species and weight, with how the weight was had."""
    opening = state.opening
    weight_kg = opening.get("weight_kg")
    weight = "weight unknown" if weight_kg is None else number_text("weight_kg", weight_kg)
    how = f" by {opening['weighed_by']}" if weight_kg is not None and opening.get("weighed_by") else ""
    return f"{opening.get('name', '?')}, {opening.get('species', '?')}, {weight}{how}"


def _people(desk: Desk) -> tuple[Person, ...]:
    """Return who is listed; nobody where the list cannot be read, which is no reason not to print."""
    try:
        return tuple(read_people(desk.cases.path / FILE))
    except InputError:
        return ()


def _headed(now: CaseNow, moment: datetime, title: str) -> RecordSheets:
    return RecordSheets(
        title=title,
        animal=animal_text(now.state),
        mark=now.mark,
        facts=tuple(_facts(now)),
        began=moment,
        minutes=0.0,
        set_until_min=0.0,
    )


def _sheets(now: CaseNow, moment: datetime, title: str) -> RecordSheets:
    state = now.state
    kept = [item for item in state.items if not item.struck]
    course = [
        item.event_time for item in kept if item.kind in _COURSE and item.body.get("phase") != "prepare"
    ]
    began = course[0] if course else now.entries[0].event_time
    began = began.replace(minute=began.minute - began.minute % 5, second=0, microsecond=0)
    end = max([item.event_time for item in kept if item.kind in _COURSE], default=began)
    minutes = max(minutes_between(began, end), 0.0) + 1.0
    awake = case_clock(state, moment).awake
    return replace(
        _headed(now, moment, title),
        began=began,
        minutes=minutes,
        set_until_min=minutes if awake is None else minutes_between(began, awake),
        lanes=lanes_of(state, began),
        parts=tuple(_parts(state, began)),
        infusions=tuple(_infusions(kept, began)),
        marks=tuple(_marks(kept, began)),
        flags=flags_of(state, began),
    )


def _facts(now: CaseNow) -> Iterator[str]:
    opening = now.state.opening
    yield f"case {now.state.case}"
    for key in _IN_HEADING:
        if opening.get(key):
            yield f"{key.replace('_', ' ')}: {opening[key]}"
    if opening.get("age_years") is not None:
        yield f"age: {number_text('age_years', opening['age_years'])}"
    yield day_told(now)


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
        at_min = [minutes_between(began, item.event_time) for item in own]
        stops = [item.body["action"] == "stop" for item in own]
        yield Bar(
            label=drug,
            from_min=at_min[0],
            to_min=at_min[-1] if stops[-1] else None,
            notes=tuple(zip(at_min, map(_rate, own), strict=True)),
            idle=tuple(gap for gap, stop in zip(pairwise(at_min), stops, strict=False) if stop),
        )


def _rate(item: Item) -> str:
    told = [number_text(key, item.body[key]) for key in ("dose_ug_kg_min", "rate_ml_h") if key in item.body]
    return ", ".join(told) or str(item.body["action"])


def _marks(kept: Sequence[Item], began: datetime) -> Iterator[Mark]:
    for item in kept:
        if item.kind in _MARKED:
            text = _in_short(item)
            short = text if len(text) <= _MARK_LENGTH else f"{text[: _MARK_LENGTH - 1]}…"
            yield Mark(at_min=minutes_between(began, item.event_time), text=short)


def _in_short(item: Item) -> str:
    """Return in few words what happened; the tables tell the rest."""
    body = item.body
    match item.kind:
        case "drug":
            amounts = [number_text(key, body[key]) for key in ("amount_mg", "volume_ml") if key in body]
            return " ".join(
                [body["drug"], *(amounts[:1] or ["(amount not told)"]), body.get("route", "")]
            ).strip()
        case "fluid":
            volume = [number_text("volume_l", body["volume_l"])] if "volume_l" in body else []
            return " ".join([f"{body['direction']}:", body["what"], *volume])
        case "gases":
            return f"{body['sample']} blood gas"
        case "check":
            return f"{body['item']}: {'passed' if body['passed'] else 'NOT PASSED'}"
        case "handover":
            return f"hand-over to {body['to']}"
        case _:
            return (
                f"INCIDENT: {body['what']}"
                if body.get("incident")
                else str(body.get("what", entry_text(item.kind, body)))
            )
