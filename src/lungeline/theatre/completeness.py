"""What a record still lacks. "stop" must be there before it is signed, or it is told why not."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from itertools import pairwise

from lungeline.case import Finding, gravest_first
from lungeline.record import CaseState, Item
from lungeline.theatre.case_clock import case_clock, minutes_between
from lungeline.theatre.controlled import reconciled
from lungeline.theatre.people import Person, person_named
from lungeline.theatre.phases import phases_begun
from lungeline.theatre.planned import doses_beside_plan

# a chart has a column for every five minutes; two more for busy hands. Common practice, no source
WIDEST_GAP_MIN = 7.0
_OUTCOMES = {"24 h": 24 * 60.0, "7 days": 7 * 24 * 60.0}
_VITALS = frozenset(
    {"heart_rate_per_min", "map_mmhg", "systolic_pressure_mmhg", "etco2_mmhg", "spo2_fraction"}
)
_ANSWERING = frozenset({"co-signed", "countersigned"})
_IDENTITY = ("weight_kg", "weighed_by", "procedure")


def missing(state: CaseState, now: datetime, people: Sequence[Person] = ()) -> tuple[Finding, ...]:
    """Return what is missing in a case as it stands, gravest first.

    people: those who are listed; tells which entries are students'.
    """
    found = (
        *_identity(state), *_course(state), *_vitals(state, now), *_drugs(state), *_controlled(state, now),
        *_recovery(state), *_outcome(state, now), *_students(state, people),
    )  # fmt: skip
    return gravest_first(found)


def _kept(state: CaseState, kind: str) -> list[Item]:
    return [item for item in state.items if item.kind == kind and not item.struck]


def _identity(state: CaseState) -> Iterator[Finding]:
    for key in _IDENTITY:
        if state.opening.get(key) in {None, ""}:
            if key == "weight_kg":
                yield Finding(code="record_weight_missing", severity="stop", about=f"opening.{key}")
            else:
                what = {"what": "how the weight was had" if key == "weighed_by" else "the procedure"}
                code = "record_identity_missing"
                yield Finding(code=code, severity="advice", about=f"opening.{key}", figures=what)


def _course(state: CaseState) -> Iterator[Finding]:
    begun = {item.body["phase"] for item in phases_begun(state)}
    if not begun & {"induce", "maintain"}:
        yield Finding(code="record_induction_missing", severity="stop", about="phase")
    if "closed" not in begun:
        yield Finding(code="record_not_closed", severity="caution", about="phase")
    if not _kept(state, "check"):
        yield Finding(code="record_check_missing", severity="caution", about="check")


def reading_gaps(state: CaseState, now: datetime) -> tuple[tuple[datetime, datetime], ...]:
    """Return the stretches under anaesthesia without a row that are wider than they may be, in order."""
    clock = case_clock(state, now)
    if clock.induced is None:
        return ()
    begin, end = clock.induced, clock.awake or now
    rows = (item.event_time for item in _rows(state))
    times = [begin, *(moment for moment in rows if begin <= moment <= end), end]
    return tuple(
        (one, other) for one, other in pairwise(times) if minutes_between(one, other) > WIDEST_GAP_MIN
    )


def _rows(state: CaseState) -> list[Item]:
    return [item for item in _kept(state, "reading") if item.body.keys() & _VITALS]


def _vitals(state: CaseState, now: datetime) -> Iterator[Finding]:
    if case_clock(state, now).induced is None:
        return
    if not _rows(state):
        yield Finding(code="record_readings_missing", severity="stop", about="reading")
        return
    gaps = reading_gaps(state, now)
    if gaps:
        longest, at = max((minutes_between(*gap), gap[0]) for gap in gaps)
        figures: dict[str, float | str | None] = {
            "gaps_number": float(len(gaps)),
            "longest_minutes": longest,
            "at": f"{at:%H:%M}",
        }
        yield Finding(code="record_readings_gap", severity="caution", about="reading", figures=figures)


def _drugs(state: CaseState) -> Iterator[Finding]:
    for drug, times in state.untold_doses.items():
        figures: dict[str, float | str | None] = {"drug": drug, "doses_number": float(times)}
        yield Finding(code="record_amount_missing", severity="caution", about="drug", figures=figures)
    if state.phase in {"recover", "closed"}:
        for drug in state.running:
            code = "record_infusion_running"
            yield Finding(code=code, severity="caution", about="infusion", figures={"drug": drug})
    for dose in doses_beside_plan(state):
        figures = {"drug": dose.drug, "given_mg": dose.given_mg, "planned_mg": dose.planned_mg}
        if dose.more:
            yield Finding(code="record_more_than_planned", severity="advice", about="drug", figures=figures)
        elif not dose.in_plan:
            yield Finding(
                code="record_drug_not_planned", severity="note", about="drug", figures={"drug": dose.drug}
            )


def _controlled(state: CaseState, now: datetime) -> Iterator[Finding]:
    for each in reconciled(state, now):
        figures: dict[str, float | str | None] = {
            "drug": each.drug,
            "drawn_mg": each.drawn_mg,
            "given_mg": each.given_mg,
            "wasted_mg": each.wasted_mg,
            "difference_mg": each.difference_mg,
        }
        if not each.balanced:
            yield Finding(
                code="record_controlled_unbalanced", severity="stop", about="controlled", figures=figures
            )
        if each.unwitnessed:
            yield Finding(
                code="record_controlled_unwitnessed",
                severity="stop",
                about="controlled",
                figures={
                    "drug": each.drug,
                    "entries": ", ".join(str(it.entry.seq) for it in each.unwitnessed),
                },
            )


def _recovery(state: CaseState) -> Iterator[Finding]:
    if state.phase != "closed" or _died(state):
        return
    told: dict[str, object] = {}
    for item in _kept(state, "recovery"):
        told |= item.body
    lacking = [key for key in ("standing_min", "attempts_number", "score") if key not in told]
    if lacking:
        names = {"standing_min": "time to standing", "attempts_number": "attempts", "score": "score"}
        figures: dict[str, float | str | None] = {"what": ", ".join(names[key] for key in lacking)}
        yield Finding(code="record_recovery_missing", severity="caution", about="recovery", figures=figures)


def _died(state: CaseState) -> bool:
    return any(item.body["status"] != "alive" for item in _kept(state, "outcome"))


def _outcome(state: CaseState, now: datetime) -> Iterator[Finding]:
    clock = case_clock(state, now)
    end = clock.awake or (clock.phase_since if clock.phase == "closed" else None)
    if end is None or _died(state):
        return
    told = {item.body["after"] for item in _kept(state, "outcome")}
    for after, due_min in _OUTCOMES.items():
        if after not in told and minutes_between(end, now) >= due_min:
            figures: dict[str, float | str | None] = {"after": after}
            yield Finding(code="record_outcome_missing", severity="advice", about="outcome", figures=figures)


def _students(state: CaseState, people: Sequence[Person]) -> Iterator[Finding]:
    """Tell whose entries nobody entitled to teach has co-signed."""
    own: dict[str, list[int]] = {}
    for entry in (entry for item in state.items for entry in (item.entry, *item.history)):
        if person_named(entry.author, people).role == "student":
            own.setdefault(entry.author, []).append(entry.seq)
    heads = (it.body for it in state.signatures if it.body["meaning"] in _ANSWERING)
    covered = max((int(body["head_count_number"]) for body in heads), default=0)
    for name, places in own.items():
        uncovered = sum(seq > covered for seq in places)
        if uncovered:
            yield Finding(
                code="record_student_not_cosigned",
                severity="stop",
                about="signature",
                figures={"name": name, "entries_number": float(uncovered)},
            )
