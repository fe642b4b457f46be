"""A case as tables for print: times, team, sums, what is missing, signatures, a table for each kind."""

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import datetime

from lungeline.case import Finding
from lungeline.export.pdf.record_sheets import Section
from lungeline.record import Entry, Item, Verdict
from lungeline.record.kinds import KINDS
from lungeline.theatre.case_clock import case_clock
from lungeline.theatre.cases import CaseNow
from lungeline.theatre.controlled import Reconciled, reconciled
from lungeline.theatre.printed_moment import clock_of
from lungeline.theatre.signing import Version, versions
from lungeline.theatre.team import team
from lungeline.theatre.totals import totals
from lungeline.words import entry_text, number_text, say

# kinds that have a table of lines; blood gases and readings have one of columns, the rest stands last
_TABLES = {
    "controlled": "Controlled drugs drawn and wasted",
    "infusion": "Infusions",
    "setting": "Settings",
    "check": "Checks",
    "event": "Events",
    "note": "Notes",
    "plan": "Plans",
    "advice": "Advice and what was done",
    "handover": "Hand-overs",
    "recovery": "Recovery",
    "outcome": "Outcome",
    "addendum": "Addenda",
    "clock": "Clocks that were wrong",
}
_GROUP = 8
_PROOF = {
    "intact": "Every entry fits its seal and the one before; {proven} of {count} are proven by a head.",
    "changed": "CHANGED: entry {at} does not fit ({reason}). Compare with a backup.",
    "cut": "CUT: entries are missing from number {at} ({reason}). Compare with a backup.",
    "unverifiable": "Cannot be proven here ({reason}); nothing is known to be wrong.",
}


def first_sections(
    now: CaseNow, moment: datetime, findings: Sequence[Finding], verdict: Verdict
) -> tuple[Section, ...]:
    """Return what stands first: times, team, sums, incidents, what is missing, who signed, what proves it."""
    every = (
        times_section(now, moment), _team(now), sums_section(now, moment), _controlled(now, moment),
        _incidents(now), _missing(findings), _signed(now), _proof(verdict), _added(now),
    )  # fmt: skip
    return tuple(section for section in every if section.rows or section.note)


def later_sections(now: CaseNow) -> tuple[Section, ...]:
    """Return a table for each kind of entry that has one."""
    every = (_drugs(now), _fluids(now), *(_kind(now, kind) for kind in _TABLES))
    return tuple(section for section in every if section.rows)


def times_section(now: CaseNow, moment: datetime) -> Section:
    """Return which part goes on since when, and how long the animal has been under."""
    clock, told = case_clock(now.state, moment), clock_of(now)
    rows: list[tuple[str, str]] = []
    if clock.phase:
        rows.append(
            ("part", f"{clock.phase}, since {told(clock.phase_since)}" if clock.phase_since else clock.phase)
        )
    rows += [
        (name, f"{when:%Y-%m-%d %H:%M}")
        for name, when in (("anaesthesia began", clock.induced), ("recovery began", clock.awake))
        if when
    ]
    if clock.anaesthesia_minutes is not None:
        rows.append(
            ("under anaesthesia", number_text("anaesthesia_minutes", round(clock.anaesthesia_minutes)))
        )
    return Section(title="Times", rows=rows, widths=(1.2, 3.0))


def _team(now: CaseNow) -> Section:
    told = clock_of(now)
    rows = [
        (
            it.person,
            it.function,
            f"from {told(it.came)}" if it.came else "",
            f"to {told(it.left)}" if it.left else "",
        )
        for it in team(now.state)
    ]
    return Section(title="Team", rows=rows, widths=(2.0, 2.0, 1.0, 1.0))


def sums_section(now: CaseNow, moment: datetime) -> Section:
    """Return what was given and lost in all; infusions that run as far as they have run."""
    sums = totals(now.state, moment)
    rows = [
        (drug, _per_weight(now, mg), _untold(sums.untold_number.get(drug, 0)))
        for drug, mg in sums.doses_mg.items()
    ]
    rows += [
        (drug, "–", _untold(count)) for drug, count in sums.untold_number.items() if drug not in sums.doses_mg
    ]
    for each in sums.infusions:
        parts = [] if each.amount_mg is None else [_per_weight(now, each.amount_mg)]
        parts += [] if each.volume_ml is None else [number_text("volume_ml", each.volume_ml)]
        how = "running" if each.running else "stopped"
        reckoned = "" if each.told or each.amount_mg is None else ", reckoned from its rates"
        rows.append((f"{each.drug}, infusion", ", ".join(parts) or "amount unknown", f"{how}{reckoned}"))
    rows += [(f"in: {what}", number_text("volume_l", volume), "") for what, volume in sums.in_l.items()]
    rows += [(f"out: {what}", number_text("volume_l", volume), "") for what, volume in sums.out_l.items()]
    return Section(title="Given and lost, in all", rows=rows, widths=(1.8, 2.4, 1.6))


def _per_weight(now: CaseNow, amount_mg: float) -> str:
    told = number_text("amount_mg", amount_mg)
    weight_kg = now.state.opening.get("weight_kg")
    return f"{told} ({number_text('dose_mg_kg', amount_mg / weight_kg)})" if weight_kg else told


def _untold(count: int) -> str:
    return f"and {count} without an amount" if count else ""


def _controlled(now: CaseNow, moment: datetime) -> Section:
    return Section(
        title="Controlled drugs",
        head=("drug", "drawn", "given", "wasted", "not accounted for", "witness"),
        rows=[_controlled_row(each) for each in reconciled(now.state, moment)],
        widths=(1.5, 1, 1, 1, 1.2, 1.5),
    )


def _controlled_row(each: Reconciled) -> tuple[str, ...]:
    def told(key: str, value: float | None) -> str:
        return "unknown" if value is None else number_text(key, value)

    missed = ", ".join(str(it.entry.seq) for it in each.unwitnessed)
    return (
        each.drug,
        told("drawn_mg", each.drawn_mg),
        told("given_mg", each.given_mg),
        told("wasted_mg", each.wasted_mg),
        told("difference_mg", each.difference_mg),
        f"no witness: {missed}" if missed else "witnessed",
    )


def _incidents(now: CaseNow) -> Section:
    told = clock_of(now)
    rows = [
        (told(item.event_time), str(item.body["what"]), str(item.body.get("detail", "")))
        for item in standing(now, "event")
        if item.body.get("incident")
    ]
    return Section(title="Incidents and near misses", rows=rows, widths=(0.7, 2.0, 4.0))


def _missing(findings: Sequence[Finding]) -> Section:
    rows = [(finding.severity, said.says, said.do) for finding in findings for said in (say(finding),)]
    note = "" if rows else "Nothing is missing."
    return Section(title="Missing", rows=rows, widths=(0.7, 3.0, 3.0), note=note)


def _signed(now: CaseNow) -> Section:
    rows = [row for version in versions(now.entries) for row in _version_rows(version)]
    head = ("what", "who", "when", "entries", "hash of the last of them (chain head)")
    if rows:
        return Section(title="Signatures", head=head, rows=rows, widths=(1.2, 2.1, 1.3, 0.9, 3.6))
    note = "A simulated case is never signed." if now.mark else "Nobody has signed this record."
    return Section(title="Signatures", note=note)


def _version_rows(version: Version) -> Iterator[tuple[str, ...]]:
    for item in version.signatures:
        who = f"{item.entry.author}, {item.body['role']}"
        when = f"{item.event_time:%Y-%m-%d %H:%M}"
        yield str(item.body["meaning"]), who, when, f"1 to {version.count}", _grouped(version.hash)
    if version.added:
        yield "added since", "", "", ", ".join(str(entry.seq) for entry in version.added), ""


def _grouped(hash_: str) -> str:
    """Return a hash so that a person can hold it against another."""
    return " ".join(hash_[place : place + _GROUP] for place in range(0, len(hash_), _GROUP))


def _proof(verdict: Verdict) -> Section:
    words = _PROOF[verdict.outcome].format(
        proven=verdict.proven_count,
        count=verdict.count,
        at=verdict.at_seq,
        reason=verdict.reason or "no reason told",
    )
    return Section(title="Proof", note=words)


def _added(now: CaseNow) -> Section:
    """Return in full what came after the first signature."""
    signed = versions(now.entries)
    told = clock_of(now)
    rows = [
        (
            str(entry.seq),
            told(entry.event_time),
            told(entry.entry_time),
            KINDS[entry.kind].label,
            content_of(entry, now),
            entry.author,
        )
        for entry in (signed[0].added if signed else ())
    ]
    return Section(
        title="Added after signing",
        head=("No.", "happened", "entered", "kind", "content", "by"),
        rows=rows,
        widths=(0.4, 1.1, 1.1, 1.2, 4.5, 1.0),
    )


def _drugs(now: CaseNow) -> Section:
    """Return every dose with the sum of its drug so far."""
    told, so_far = clock_of(now), defaultdict[str, list[float]](list)
    rows = []
    for item in standing(now, "drug"):
        drug, amount_mg = str(item.body["drug"]), item.body.get("amount_mg")
        if amount_mg is not None:
            so_far[drug].append(amount_mg)
        volume_ml = item.body.get("volume_ml")
        rows.append((
            told(item.event_time),
            drug,
            "amount not told" if amount_mg is None else _per_weight(now, amount_mg),
            number_text("amount_mg", math.fsum(so_far[drug])) if so_far[drug] else "–",
            "" if volume_ml is None else number_text("volume_ml", volume_ml),
            *(str(item.body.get(key, "")) for key in ("route", "use", "batch", "drawn_by", "checked_by")),
            marks_of(item),
        ))  # fmt: skip
    head = ("time", "drug", "given", "so far", "volume", "route", "for", "batch", "drawn up", "checked", "")
    widths = (0.7, 1.3, 2.0, 0.9, 0.8, 0.6, 1.0, 0.7, 0.9, 0.9, 0.9)
    return Section(title="Drugs given", head=head, rows=rows, widths=widths)


def _fluids(now: CaseNow) -> Section:
    """Return every fluid with the sum in its direction so far."""
    told, so_far = clock_of(now), defaultdict[str, list[float]](list)
    rows = []
    for item in standing(now, "fluid"):
        way, volume_l = str(item.body["direction"]), item.body.get("volume_l")
        if volume_l is not None:
            so_far[way].append(volume_l)
        rows.append((
            told(item.event_time),
            way,
            str(item.body["what"]),
            "volume not told" if volume_l is None else number_text("volume_l", volume_l),
            number_text("volume_l", math.fsum(so_far[way])) if so_far[way] else "–",
            marks_of(item),
        ))  # fmt: skip
    head = ("time", "", "fluid", "volume", "so far", "")
    return Section(title="Fluids in and out", head=head, rows=rows, widths=(0.7, 0.5, 2.4, 1.2, 1.2, 1.6))


def _kind(now: CaseNow, kind: str) -> Section:
    told = clock_of(now)
    rows = [
        (told(item.event_time), entry_text(kind, item.body), marks_of(item)) for item in standing(now, kind)
    ]
    return Section(title=_TABLES[kind], rows=rows, widths=(0.8, 6.0, 1.2))


def content_of(entry: Entry, now: CaseNow) -> str:
    """Return what an entry says; of a correction or strike-out which entry it is about, and why."""
    if entry.kind not in {"correction", "strike"}:
        return entry_text(entry.kind, entry.body)
    about = next((each.seq for each in now.entries if each.uid == entry.corrects), None)
    return f"of no. {about}: {entry.body['reason']}"


def standing(now: CaseNow, kind: str) -> list[Item]:
    """Return the items of a kind that stand, by time."""
    return [item for item in now.state.items if item.kind == kind and not item.struck]


def marks_of(item: Item) -> str:
    """Return in words what must be known of an item: struck out, corrected, late, estimated, artefact."""
    so = {
        "struck out": item.struck,
        "corrected": item.corrected,
        "late": item.late,
        "estimated": bool(item.body.get("estimated")),
        "artefact": bool(item.body.get("artefact")),
    }
    return ", ".join(word for word, holds in so.items() if holds)
