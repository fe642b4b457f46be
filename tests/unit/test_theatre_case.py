"""What a case adds up to: phases, its clock, sums, controlled drugs, the plan beside it, what is missing."""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from lungeline.case import Animal, Case, case_to_json
from lungeline.errors import ConflictError, InputError, OutOfRangeError
from lungeline.record import CaseInMemory, CaseState, Draft, Key, present_state
from lungeline.theatre import (
    Person,
    case_clock,
    check_phase,
    doses_beside_plan,
    missing,
    moment_told,
    plan_body,
    reconciled,
    team,
    totals,
)
from lungeline.words import say

START = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)
OPENING = {
    "purpose": "real", "name": "Star", "species": "horse", "weight_kg": 500.0, "weighed_by": "scales",
    "procedure": "arthroscopy",
}  # fmt: skip
Told = tuple[float, str, Mapping[str, Any]]


def at(minute: float) -> datetime:
    return START + timedelta(minutes=minute)


def state_of(*told: Told, opening: Mapping[str, Any] = OPENING, author: str = "A. Vet") -> CaseState:
    """A case from (minute, kind, body); entered at the end, so that all of it is late."""
    kept = CaseInMemory(Key(secret=bytes(32)))
    for place, (minute, kind, body) in enumerate([(0.0, "opening", opening), *told]):
        draft = Draft(
            uid=f"u{place}", case="c", kind=kind, event_time=at(minute), author=author, device="d", body=body
        )
        kept.append(draft, at(600))
    return present_state(kept.entries)


def phases(*told: tuple[float, str]) -> list[Told]:
    return [(minute, "phase", {"phase": phase}) for minute, phase in told]


USUAL = phases((5, "induce"), (15, "maintain"), (75, "wean"), (85, "recover"), (140, "closed"))


# --- phases and clock ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("minute", "phase", "allowed"),
    [
        (90, "recover", False),  # once is enough
        (150, "induce", False),  # a closed case stays closed
        (10, "prepare", False),  # nobody prepares once anaesthesia began
        (3, "prepare", True),  # entered late, before everything
        (80, "maintain", True),  # would not wean; recovery may follow
    ],
)
def test_a_phase_must_fit_those_before_and_after_its_time(
    minute: float,
    phase: str,
    allowed: bool,  # noqa: FBT001  a case of the table
) -> None:
    state = state_of(*USUAL)
    if allowed:
        check_phase(state, phase, at(minute))
    else:
        with pytest.raises(ConflictError):
            check_phase(state, phase, at(minute))


def test_the_clock_of_a_case_is_reckoned_from_its_entries() -> None:
    clock = case_clock(state_of(*USUAL[:2]), at(45))
    assert (clock.phase, clock.phase_minutes, clock.anaesthesia_minutes) == (
        "maintain",
        30.0,
        40.0,
    )  # arithmetic
    assert (clock.induced, clock.awake) == (at(5), None)


def test_the_clock_of_anaesthesia_stops_in_recovery_and_goes_on_when_induced_again() -> None:
    told = phases((5, "induce"), (50, "recover"), (60, "induce"))
    clock = case_clock(state_of(*told), at(70))
    assert clock.anaesthesia_minutes == 55.0  # 45 + 10, arithmetic
    assert clock.awake is None
    assert case_clock(state_of(*USUAL), at(1000)).anaesthesia_minutes == 80.0  # 85 - 5, arithmetic
    assert case_clock(state_of(*USUAL), at(1000)).phase_minutes is None


def test_what_was_told_of_the_future_has_not_begun() -> None:
    assert case_clock(state_of(*USUAL), at(10)).phase == "induce"


def test_a_case_without_phases_has_no_clock_yet() -> None:
    clock = case_clock(state_of(), at(10))
    assert (clock.phase, clock.phase_since, clock.anaesthesia_minutes) == ("", None, None)


def test_a_time_may_be_told_in_minutes_as_clock_time_or_in_full() -> None:
    now = datetime(2026, 3, 1, 0, 10, 30, tzinfo=UTC)
    assert moment_told(now) == now
    assert moment_told(now, ago_min=10) == now - timedelta(minutes=10)
    assert moment_told(now, at="00:05") == datetime(2026, 3, 1, 0, 5, tzinfo=UTC)
    assert moment_told(now, at="23:50") == datetime(2026, 2, 28, 23, 50, tzinfo=UTC)  # yesterday
    assert moment_told(now, at="2026-02-01T10:00:00+01:00") == datetime(2026, 2, 1, 9, 0, tzinfo=UTC)


def test_a_time_that_cannot_be_is_refused() -> None:
    now = START
    for words in (
        {"at": "25:00"},
        {"at": "soon"},
        {"at": "2026-02-01T10:00:00"},
        {"at": "1:0", "ago_min": 3.0},
    ):
        with pytest.raises(InputError):
            moment_told(now, **words)
    for minutes in (-1.0, 1e6, float("nan")):
        with pytest.raises(OutOfRangeError):
            moment_told(now, ago_min=minutes)


# --- the team ---------------------------------------------------------------------------------------------


def test_the_team_is_told_with_who_was_there_when() -> None:
    def came(minute: float, person: str, function: str, presence: str = "came") -> Told:
        return minute, "team", {"person": person, "function": function, "presence": presence}

    state = state_of(
        came(0, "A. Vet", "anaesthetist"),
        came(5, "B. Vet", "surgeon"),
        came(6, "b. vet", "Surgeon"),  # told twice
        came(40, "A. Vet", "anaesthetist", "left"),
        came(40, "C. Vet", "anaesthetist"),
        came(90, "A. Vet", "anaesthetist"),
        came(95, "D. Helper", "recovery", "left"),  # nobody told of the coming
    )
    assert [(it.person, it.function, it.came, it.left) for it in team(state)] == [
        ("A. Vet", "anaesthetist", at(0), at(40)),
        ("B. Vet", "surgeon", at(5), None),
        ("C. Vet", "anaesthetist", at(40), None),
        ("A. Vet", "anaesthetist", at(90), None),
        ("D. Helper", "recovery", None, at(95)),
    ]


# --- sums ---------------------------------------------------------------------------------------------


def test_sums_take_doses_rates_and_fluids() -> None:
    state = state_of(
        (5, "drug", {"drug": "ketamine", "amount_mg": 1100.0}),
        (20, "drug", {"drug": "ketamine", "amount_mg": 100.0}),
        (21, "drug", {"drug": "xylazine", "volume_ml": 3.0}),
        (30, "infusion", {"drug": "dobutamine", "action": "start", "dose_ug_kg_min": 0.5, "rate_ml_h": 60.0}),
        (
            50,
            "infusion",
            {"drug": "dobutamine", "action": "change", "dose_ug_kg_min": 1.0, "rate_ml_h": 120.0},
        ),
        (60, "infusion", {"drug": "dobutamine", "action": "stop"}),
        (30, "fluid", {"what": "crystalloid", "direction": "in", "volume_l": 5.0}),
        (90, "fluid", {"what": "urine", "direction": "out", "volume_l": 1.5}),
    )
    sums = totals(state, at(100))
    assert sums.doses_mg == {"ketamine": 1200.0}
    assert sums.untold_number == {"xylazine": 1}
    (dobutamine,) = sums.infusions
    # (0.5 x 20 + 1.0 x 10) min.µg/kg/min x 500 kg = 10 mg; 60 x 20/60 + 120 x 10/60 = 40 mL: arithmetic
    assert dobutamine.amount_mg == pytest.approx(10.0, rel=1e-12)
    assert dobutamine.volume_ml == pytest.approx(40.0, rel=1e-12)
    assert (dobutamine.running, dobutamine.minutes, dobutamine.told) == (False, 30.0, False)
    assert sums.balance_l == 3.5
    so_far = totals(state, at(40)).infusions[0]
    assert so_far.running
    assert so_far.amount_mg == pytest.approx(2.5, rel=1e-12)  # 0.5 x 10 x 500 / 1000, arithmetic


def test_what_is_told_at_the_end_of_an_infusion_counts_before_what_is_reckoned() -> None:
    state = state_of(
        (30, "infusion", {"drug": "lidocaine", "action": "start", "dose_ug_kg_min": 50.0}),
        (60, "infusion", {"drug": "lidocaine", "action": "stop", "amount_mg": 700.0}),
    )
    (lidocaine,) = totals(state, at(100)).infusions
    assert (lidocaine.amount_mg, lidocaine.told) == (700.0, True)


def test_a_sum_that_lacks_a_part_is_not_told() -> None:
    unknown = {key: value for key, value in OPENING.items() if key != "weight_kg"}
    told: Told = (30, "infusion", {"drug": "dobutamine", "action": "start", "dose_ug_kg_min": 0.5})
    assert totals(state_of(told, opening=unknown), at(40)).infusions[0].amount_mg is None
    changed: Told = (35, "infusion", {"drug": "dobutamine", "action": "change", "rate_ml_h": 10.0})
    assert totals(state_of(told, changed), at(40)).infusions[0].amount_mg is None


# --- controlled drugs ---------------------------------------------------------------------------------


def _ketamine(*, wasted_mg: float = 900.0, witness: str = "B. Vet") -> list[Told]:
    return [
        (1, "controlled", {"drug": "ketamine", "drawn_mg": 2000.0, "witness": witness}),
        (5, "drug", {"drug": "Ketamine", "amount_mg": 1100.0}),
        (90, "controlled", {"drug": "ketamine", "wasted_mg": wasted_mg, "witness": "B. Vet"}),
    ]


def test_drawn_is_given_and_wasted() -> None:
    (each,) = reconciled(state_of(*_ketamine()), at(100))
    assert (each.drawn_mg, each.given_mg, each.wasted_mg) == (2000.0, 1100.0, 900.0)
    assert each.balanced
    assert not each.unwitnessed
    (each,) = reconciled(state_of(*_ketamine(wasted_mg=800.0)), at(100))
    assert (each.balanced, each.difference_mg) == (False, 100.0)


def test_nobody_is_the_witness_of_what_they_wrote() -> None:
    for witness in ("", "a. vet"):
        (each,) = reconciled(state_of(*_ketamine(witness=witness)), at(100))
        assert [item.entry.seq for item in each.unwitnessed] == [2]


def test_a_dose_without_an_amount_leaves_the_account_open() -> None:
    state = state_of(*_ketamine(), (20, "drug", {"drug": "ketamine", "volume_ml": 2.0}))
    (each,) = reconciled(state, at(100))
    assert (each.given_mg, each.difference_mg, each.balanced) == (None, None, False)


# --- the plan beside it -------------------------------------------------------------------------------

PLAN_CASE = case_to_json(Case(animal=Animal(species="horse", weight_kg=500)))
PLANNED = {
    "schema": "lungeline.plan/1",
    "case": PLAN_CASE,
    "settings": PLAN_CASE["settings"] | {"tidal_volume_l": 6.0},
    "changes": [{"at_min": 15.0, "vaporiser_percent": 2.0}],
    "drugs": [
        {"drug": "xylazine", "use": "premedication", "total_mg": {"value": 300.0}, "volume_ml": None},
        {"drug": "xylazine", "use": "recovery", "route": "IV", "total_mg": 100.0},
        {"drug": "calcium_gluconate", "use": "hypocalcaemia", "total_mg": {"value": None}},
    ],
}  # fmt: skip


def test_a_plan_is_kept_as_the_planned_case_and_its_doses() -> None:
    body = plan_body(PLANNED)
    assert body["case"]["settings"]["tidal_volume_l"] == 6.0
    assert body["case"]["changes"][0]["vaporiser_percent"] == 2.0
    assert [dose.get("total_mg") for dose in body["doses"]] == [300.0, 100.0, None]


@pytest.mark.parametrize("plan", [None, [], {"schema": "other/1"}, {"schema": "lungeline.plan/1"}])
def test_what_is_no_plan_is_refused(plan: object) -> None:
    with pytest.raises(InputError):
        plan_body(plan)


@pytest.mark.parametrize(
    ("body", "planned_mg", "in_plan", "more"),
    [
        ({"drug": "Xylazine", "amount_mg": 310.0}, 300.0, True, False),
        ({"drug": "xylazine", "amount_mg": 120.0}, 100.0, True, True),
        ({"drug": "xylazine", "amount_mg": 310.0, "use": "recovery"}, 100.0, True, True),
        ({"drug": "calcium_gluconate", "amount_mg": 5000.0}, None, True, False),
        ({"drug": "romifidine", "amount_mg": 40.0}, None, False, False),
    ],
)
def test_a_dose_stands_beside_the_planned_one(
    body: dict[str, Any],
    planned_mg: float | None,
    in_plan: bool,  # noqa: FBT001  a case of the table
    more: bool,  # noqa: FBT001  a case of the table
) -> None:
    (each,) = doses_beside_plan(state_of((0, "plan", plan_body(PLANNED)), (5, "drug", body)))
    assert (each.planned_mg, each.in_plan, each.more) == (planned_mg, in_plan, more)


def test_without_a_plan_nothing_stands_beside_it() -> None:
    assert doses_beside_plan(state_of((5, "drug", {"drug": "xylazine", "amount_mg": 310.0}))) == ()


# --- what is missing ----------------------------------------------------------------------------------


def codes(state: CaseState, minute: float = 141, people: Sequence[Person] = ()) -> set[str]:
    found = missing(state, at(minute), people)
    assert [say(finding).says for finding in found if "…" in say(finding).says] == []
    return {finding.code for finding in found}


def whole() -> list[Told]:
    """A case that lacks nothing."""
    return [
        *USUAL,
        (1, "check", {"item": "leak", "passed": True}),
        *((minute, "reading", {"map_mmhg": 70.0}) for minute in range(5, 90, 5)),
        (140, "recovery", {"standing_min": 50.0, "attempts_number": 1.0, "score": "2 of 10"}),
    ]


def test_a_whole_case_lacks_nothing() -> None:
    assert codes(state_of(*whole())) == set()


def test_an_empty_case_lacks_what_must_be_there() -> None:
    bare = {"purpose": "real", "name": "Star", "species": "horse"}
    found = missing(state_of(opening=bare), at(1))
    assert [it.code for it in found if it.severity == "stop"] == [
        "record_weight_missing",
        "record_induction_missing",
    ]
    assert codes(state_of(*USUAL)) >= {"record_readings_missing", "record_check_missing"}


@pytest.mark.parametrize(
    ("without", "extra", "code"),
    [
        ("closed", [], "record_not_closed"),
        ("check", [], "record_check_missing"),
        ("recovery", [], "record_recovery_missing"),
        ("", [(20.0, "drug", {"drug": "xylazine", "volume_ml": 3.0})], "record_amount_missing"),
        (
            "",
            [(20.0, "infusion", {"drug": "dobutamine", "action": "start", "rate_ml_h": 3.0})],
            "record_infusion_running",
        ),
        ("", [(1.0, "controlled", {"drug": "ketamine", "drawn_mg": 9.0})], "record_controlled_unbalanced"),
    ],
)
def test_what_is_missing_is_told(without: str, extra: list[Told], code: str) -> None:
    told = [
        it
        for it in whole()
        if it[1] != without and not (without == "closed" and it[2].get("phase") == "closed")
    ]
    assert code in codes(state_of(*told, *extra))
    assert code not in codes(state_of(*whole()))


def test_a_gap_in_the_vital_signs_is_told_with_its_length() -> None:
    told = [it for it in whole() if it[1] != "reading" or not 30 < it[0] < 50]
    (gap,) = missing(state_of(*told), at(141))
    assert gap.code == "record_readings_gap"
    assert gap.figures == {"gaps_number": 1.0, "longest_minutes": 20.0, "at": "12:30"}  # arithmetic


def test_the_outcome_is_asked_for_when_it_can_be_known() -> None:
    day = 24 * 60.0
    state = state_of(*whole())
    assert codes(state, 85 + day - 1) == set()
    assert codes(state, 85 + day) == {"record_outcome_missing"}
    alive: Told = (86 + day, "outcome", {"after": "24 h", "status": "alive"})
    assert codes(state_of(*whole(), alive), 87 + day) == set()
    assert codes(state_of(*whole(), alive), 85 + 7 * day) == {"record_outcome_missing"}
    dead: Told = (86 + day, "outcome", {"after": "24 h", "status": "dead"})
    assert codes(state_of(*whole(), dead), 85 + 8 * day) == set()


def test_entries_of_a_student_want_a_co_signature() -> None:
    student = Person(name="A. Vet", role="student")
    found = missing(state_of(*whole()), at(141), [student])
    assert [(it.code, it.figures["entries_number"]) for it in found] == [
        ("record_student_not_cosigned", float(len(whole()) + 1))
    ]
