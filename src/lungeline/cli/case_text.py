"""A case as text: who, what time it is, last values, sums, what is missing, and every entry."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any

from lungeline.case import Finding
from lungeline.cli.check import finding_lines
from lungeline.record import Entry, Item
from lungeline.theatre import (
    SIMULATED,
    Attendance,
    CaseClock,
    CaseInList,
    CaseNow,
    Damaged,
    Totals,
    case_clock,
    team,
    totals,
    versions,
)
from lungeline.words import entry_text, number_text

_LONGEST_LINE = 100
_UNTOLD = {"name", "species", "weight_kg", "purpose"}


def list_lines(cases: Sequence[CaseInList]) -> list[str]:
    """Return a line for every case."""
    rows = [_list_row(listed) for listed in cases]
    if not rows:
        return ["no case"]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return [
        "  ".join(f"{cell:<{width}}" for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]


def damaged_lines(damaged: Sequence[Damaged]) -> list[str]:
    """Return a line for every case that cannot be read."""
    return [f"DAMAGED  {it.case}: {it.reason}; see case verify {it.case}" for it in damaged]


def _list_row(listed: CaseInList) -> tuple[str, ...]:
    signed = f"signed to {listed.signed_count}" if listed.signed_count else "unsigned"
    opened = f"{listed.opened:%Y-%m-%d %H:%M}"
    animal = _animal(listed.opening, SIMULATED if listed.simulated else "")
    return listed.case, opened, animal, listed.phase or "opened", f"{listed.count} entries, {signed}"


def who(now: CaseNow) -> str:
    """Return the animal's name, species and weight, marked where the case is no real one."""
    return _animal(now.state.opening, now.mark)


def _animal(opening: Mapping[str, Any], mark: str) -> str:
    weight_kg = opening.get("weight_kg")
    weight = "weight unknown" if weight_kg is None else number_text("weight_kg", weight_kg)
    marked = f"{mark} " if mark else ""
    return f"{marked}{opening.get('name', '?')}, {opening.get('species', '?')}, {weight}"


def show_lines(now: CaseNow, moment: datetime, findings: Sequence[Finding]) -> list[str]:
    """Return a case as it stands as lines; what is old and struck out stays in view."""
    clock, sums = case_clock(now.state, moment), totals(now.state, moment)
    return [
        f"CASE {now.state.case}: {who(now)}",
        *(
            f"  {key.replace('_', ' ')}: {value}"
            for key, value in now.state.opening.items()
            if key not in _UNTOLD
        ),
        *_clock_lines(clock),
        *_section("Last values", _latest_lines(now)),
        *_section("So far", _total_lines(sums)),
        *_section("Team", map(_team_line, team(now.state))),
        *_section("Missing", finding_lines(list(findings))),
        *_section("Entries", _entry_lines(now)),
        *_section("Signatures", _signature_lines(now)),
    ]


def _section(title: str, lines: Iterable[str]) -> Iterator[str]:
    told = list(lines)
    if told:
        yield from ("", title, *told)


def _clock_lines(clock: CaseClock) -> Iterator[str]:
    if clock.phase_since is not None:
        since = f"  phase: {clock.phase} since {clock.phase_since:%H:%M}"
        yield since if clock.phase_minutes is None else f"{since}, {clock.phase_minutes:.0f} min"
    if clock.anaesthesia_minutes is not None:
        yield f"  under anaesthesia: {clock.anaesthesia_minutes:.0f} min"


def _latest_lines(now: CaseNow) -> Iterator[str]:
    state = now.state
    for what, values in (("measured", state.readings), ("gas", state.gases), ("set", state.settings)):
        for key, it in values.items():
            yield f"  {what:<8}  {_key(key):<28} {_value(key, it.value):<14} {it.event_time:%H:%M}"


def _total_lines(sums: Totals) -> Iterator[str]:
    for drug, amount_mg in sums.doses_mg.items():
        untold = sums.untold_number.get(drug)
        yield f"  {drug}: {_value('amount_mg', amount_mg)}{f', and {untold} untold' if untold else ''}"
    for it in sums.infusions:
        amounts = [("amount_mg", it.amount_mg), ("volume_ml", it.volume_ml)]
        known = [_value(key, amount) for key, amount in amounts if amount is not None]
        running = "running" if it.running else "stopped"
        yield f"  {it.drug}: {', '.join(known) or 'amount unknown'} in {it.minutes:.0f} min, {running}"
    for way, volumes in (("in", sums.in_l), ("out", sums.out_l)):
        for what, volume_l in volumes.items():
            yield f"  {way}: {what} {_value('volume_l', volume_l)}"


def _team_line(it: Attendance) -> str:
    times = [f"{moment:%H:%M}" if moment else "" for moment in (it.came, it.left)]
    return f"  {it.function}: {it.person}, {' – '.join(times).strip()}"


def _entry_lines(now: CaseNow) -> Iterator[str]:
    for item in now.state.items:
        if item.kind == "signature":
            continue
        yield from _item_lines(item)


def _item_lines(item: Item) -> Iterator[str]:
    marks = [name for name in ("late", "struck", "corrected") if getattr(item, name)]
    marks += [name for name in ("estimated", "artefact") if item.body.get(name)]
    shown = f"  [{', '.join('struck out' if it == 'struck' else it for it in marks)}]" if marks else ""
    yield (
        f"  {item.entry.seq:>4}  {item.event_time:%H:%M}  {item.kind}: {_body(item.kind, item.body)}"
        f"  ({item.entry.author}){shown}"
    )
    if item.corrected:
        yield f"        first: {_body(item.entry.kind, item.entry.body)}"
    yield from (f"        {_amendment(it)}" for it in item.history)


def _amendment(entry: Entry) -> str:
    what = "struck out" if entry.kind == "strike" else "corrected"
    return f"{what} by {entry.author} (entry {entry.seq}): {entry.body['reason']}"


def _body(kind: str, body: Mapping[str, Any]) -> str:
    text = entry_text(kind, body).replace("\n", " / ")
    return text if len(text) <= _LONGEST_LINE else f"{text[: _LONGEST_LINE - 1]}…"


def _key(key: str) -> str:
    from lungeline.units import unit_of

    unit = unit_of(key)
    return (key.removesuffix(f"_{unit.suffix}") if unit else key).replace("_", " ")


def _value(key: str, value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return number_text(key, value) if isinstance(value, int | float) else str(value)


def _signature_lines(now: CaseNow) -> Iterator[str]:
    for version in versions(now.entries):
        for item in version.signatures:
            yield (
                f"  {item.body['meaning']} by {item.entry.author}, {item.body['role']}, "
                f"{item.event_time:%Y-%m-%d %H:%M}: entries 1 to {version.count}"
            )
        if version.added:
            yield f"  added since: entries {', '.join(str(entry.seq) for entry in version.added)}"
