"""A case as tables for print: times, sums, what is missing, signatures, every entry and what became of it."""

from collections.abc import Iterator, Sequence
from datetime import datetime

from lungeline.case import Finding
from lungeline.export.pdf.record_sheets import Section
from lungeline.record import Entry, Item, Verdict
from lungeline.record.kinds import KINDS
from lungeline.theatre.case_clock import case_clock, minutes_between
from lungeline.theatre.cases import CaseNow
from lungeline.theatre.completeness import missing
from lungeline.theatre.controlled import Reconciled, reconciled
from lungeline.theatre.signing import Version, versions
from lungeline.theatre.totals import totals
from lungeline.words import entry_text, label_of, number_text, say

_HASH_SHOWN = 16
_OLD_AFTER_MIN = 15.0
# kinds that have a table of their own before the list of all entries
_TABLES = (
    "drug",
    "infusion",
    "fluid",
    "gases",
    "setting",
    "check",
    "event",
    "handover",
    "recovery",
    "outcome",
    "advice",
)
_PROOF = {
    "intact": "Every entry fits its seal and the one before; {proven} of {count} are proven by a head.",
    "changed": "CHANGED: entry {at} does not fit ({reason}). Compare with a backup.",
    "cut": "CUT: entries are missing from number {at}.",
    "unverifiable": "Cannot be proven here ({reason}); nothing is known to be wrong.",
}


def first_sections(
    now: CaseNow, moment: datetime, findings: Sequence[Finding], verdict: Verdict
) -> tuple[Section, ...]:
    """Return what stands first: times, sums, what is missing, who signed, and what proves it."""
    every = (
        _times(now, moment), _sums(now, moment), _controlled(now, moment), _missing(findings), _signed(now),
        _proof(verdict),
    )  # fmt: skip
    return tuple(section for section in every if section.rows or section.note)


def later_sections(now: CaseNow, moment: datetime) -> tuple[Section, ...]:
    """Return a table for each kind of entry that has one."""
    del moment
    return tuple(section for kind in _TABLES if (section := _kind(now, kind)).rows)


def entry_section(now: CaseNow) -> Section:
    """Return every entry, in the order of its number, with what was corrected or struck out, and by whom."""
    items = sorted(now.state.items, key=lambda item: item.entry.seq)
    rows = [row for item in items for row in _entry_rows(item)]
    return Section(
        title="All entries",
        head=("No.", "happened", "entered", "kind", "content", "by, on"),
        rows=rows,
        widths=(0.45, 0.75, 0.75, 0.9, 5.2, 1.5),
        note="No entry is ever changed: a correction or strike-out is one of its own, and the old one stays.",
    )


def handover_sections(now: CaseNow, moment: datetime) -> tuple[Section, ...]:
    """Return what whoever takes over must know."""
    state = now.state
    latest = [
        (label_of("reading", key), _value(key, it.value), _age(it.event_time, moment))
        for key, it in state.readings.items()
    ]
    latest += [
        (label_of("gases", key), _value(key, it.value), _age(it.event_time, moment))
        for key, it in state.gases.items()
    ]
    settings = [
        (label_of("setting", key), _value(key, it.value), "") for key, it in state.settings.items()
    ]
    running = [
        (drug, entry_text("infusion", item.body), f"{item.event_time:%H:%M}")
        for drug, item in state.running.items()
    ]
    told = [item for item in state.items if item.kind in {"event", "note", "handover"} and not item.struck]
    events = [(f"{item.event_time:%H:%M}", entry_text(item.kind, item.body), "") for item in told[-8:]]
    open_ = [(finding.severity, say(finding).says, "") for finding in missing_now(now, moment)]
    widths = (2.0, 3.0, 1.5)
    return tuple(
        section
        for section in (
            _times(now, moment),
            Section(title="Last values", rows=latest, widths=widths),
            Section(title="Set", rows=settings, widths=widths),
            Section(title="Infusions that run", rows=running, widths=widths),
            _sums(now, moment),
            Section(title="Last events and notes", rows=events, widths=(0.6, 5.0, 0.2)),
            Section(title="Open", rows=open_, widths=(0.8, 5.0, 0.2)),
        )
        if section.rows
    )


def missing_now(now: CaseNow, moment: datetime) -> tuple[Finding, ...]:
    """Return what the record lacks so far, but for what can only come at the end."""
    later = {"record_not_closed", "record_recovery_missing", "record_outcome_missing"}
    return tuple(finding for finding in missing(now.state, moment) if finding.code not in later)


def _times(now: CaseNow, moment: datetime) -> Section:
    clock = case_clock(now.state, moment)
    rows: list[tuple[str, str]] = []
    if clock.phase:
        since = f", since {clock.phase_since:%H:%M}" if clock.phase_since else ""
        rows.append(("part", f"{clock.phase}{since}"))
    if clock.induced:
        rows.append(("anaesthesia began", f"{clock.induced:%Y-%m-%d %H:%M}"))
    if clock.awake:
        rows.append(("recovery began", f"{clock.awake:%Y-%m-%d %H:%M}"))
    if clock.anaesthesia_minutes is not None:
        rows.append(
            ("under anaesthesia", number_text("anaesthesia_minutes", round(clock.anaesthesia_minutes)))
        )
    return Section(title="Times", rows=rows, widths=(1.2, 3.0))


def _sums(now: CaseNow, moment: datetime) -> Section:
    sums = totals(now.state, moment)
    rows = [
        (drug, number_text("amount_mg", mg), _untold(sums.untold_number.get(drug, 0)))
        for drug, mg in sums.doses_mg.items()
    ]
    rows += [
        (drug, "–", _untold(count)) for drug, count in sums.untold_number.items() if drug not in sums.doses_mg
    ]
    for each in sums.infusions:
        known = [
            number_text(key, value)
            for key, value in (("amount_mg", each.amount_mg), ("volume_ml", each.volume_ml))
            if value is not None
        ]
        rows.append(
            (
                f"{each.drug}, infusion",
                ", ".join(known) or "amount unknown",
                "running" if each.running else "stopped",
            )
        )
    rows += [(f"in: {what}", number_text("volume_l", volume), "") for what, volume in sums.in_l.items()]
    rows += [(f"out: {what}", number_text("volume_l", volume), "") for what, volume in sums.out_l.items()]
    return Section(title="Given and lost, in all", rows=rows, widths=(2.0, 2.0, 2.0))


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


def _missing(findings: Sequence[Finding]) -> Section:
    rows = [(finding.severity, said.says, said.do) for finding in findings for said in (say(finding),)]
    return Section(title="Missing", rows=rows, widths=(0.7, 3.0, 3.0))


def _signed(now: CaseNow) -> Section:
    rows = [row for version in versions(now.entries) for row in _version_rows(version)]
    head = ("what", "who", "when", "entries, hash")
    if rows:
        return Section(title="Signatures", head=head, rows=rows, widths=(1.2, 2.0, 1.4, 2.6))
    note = "A simulated case is never signed." if now.mark else "Nobody has signed this record."
    return Section(title="Signatures", note=note)


def _version_rows(version: Version) -> Iterator[tuple[str, str, str, str]]:
    for item in version.signatures:
        who = f"{item.entry.author}, {item.body['role']}"
        head = f"1 to {version.count}, {version.hash[:_HASH_SHOWN]}…"
        yield str(item.body["meaning"]), who, f"{item.event_time:%Y-%m-%d %H:%M}", head
    if version.added:
        yield "added since", "", "", ", ".join(str(entry.seq) for entry in version.added)


def _proof(verdict: Verdict) -> Section:
    words = _PROOF[verdict.outcome].format(
        proven=verdict.proven_count,
        count=verdict.count,
        at=verdict.at_seq,
        reason=verdict.reason or "no reason told",
    )
    return Section(title="Proof", note=words)


def _kind(now: CaseNow, kind: str) -> Section:
    items = [item for item in now.state.items if item.kind == kind and not item.struck]
    label = KINDS[kind].label
    rows = [(f"{item.event_time:%H:%M}", entry_text(kind, item.body), _marks(item)) for item in items]
    return Section(title=f"{label[0].upper()}{label[1:]}", rows=rows, widths=(0.5, 6.0, 1.0))


def _entry_rows(item: Item) -> Iterator[tuple[str, ...]]:
    entry = item.entry
    if item.kind == "signature":
        return
    marks = _marks(item)
    text = entry_text(entry.kind, entry.body)
    if marks:
        text = f"[{marks}] {text}"
    yield _row(entry, KINDS[entry.kind].label, text)
    for each in item.history:
        yield _row(each, KINDS[each.kind].label, f"of no. {entry.seq}: {entry_text(each.kind, each.body)}")


def _row(entry: Entry, kind: str, text: str) -> tuple[str, ...]:
    entered = f"{entry.entry_time:%H:%M:%S}"
    return (
        str(entry.seq),
        f"{entry.event_time:%H:%M:%S}",
        entered,
        kind,
        text,
        f"{entry.author}, {entry.device}",
    )


def _marks(item: Item) -> str:
    so = {
        "struck out": item.struck,
        "corrected": item.corrected,
        "late": item.late,
        "estimated": bool(item.body.get("estimated")),
        "artefact": bool(item.body.get("artefact")),
    }
    return ", ".join(word for word, holds in so.items() if holds)


def _value(key: str, value: object) -> str:
    return number_text(key, value) if isinstance(value, int | float) else str(value)


def _age(event_time: datetime, moment: datetime) -> str:
    age_min = minutes_between(event_time, moment)
    told = f"{event_time:%H:%M}"
    return f"{told}, {age_min:.0f} min old" if age_min > _OLD_AFTER_MIN else told
