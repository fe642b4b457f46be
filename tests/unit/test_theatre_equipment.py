"""The equipment's log: registered once, checked often, proven like a case, and never a case."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from lungeline.case import Animal, Case
from lungeline.check import (
    Circuit,
    Given,
    HeldFlow,
    Item,
    Judged,
    LeakLimits,
    LungTest,
    Walk,
    breaths_of,
    compensating_flow,
    judge_leak,
    leak_in_use,
    standard_checklist,
    trend_of,
    ventilator_on_lung,
    worse,
)
from lungeline.check.checklist import Form
from lungeline.check.checklist_file import checklist_from_tables
from lungeline.check.walk import answered
from lungeline.errors import ConflictError, InputError, RecordError, StoreError, UnknownNameError
from lungeline.record.store.backup import check_backup
from lungeline.theatre import Backups, Cases, Desk, Schedule, back_up_all, restore
from lungeline.theatre.equipment import Equipment, slug
from lungeline.theatre.equipment_log import machine_log
from lungeline.theatre.kept_checks import (
    keep_leak,
    keep_lung,
    keep_walk,
    kept_walks,
    last_limits,
    lungs,
    past_leaks,
    walks_since,
)

NOW = datetime(2026, 5, 4, 7, 40, tzinfo=UTC)
OPENING = {"purpose": "real", "name": "Star", "species": "horse", "weight_kg": 520.0}


def _desk(folder: Path, author: str = "A. Vet") -> Desk:
    return Desk(
        cases=Cases(folder / "data", key_file=folder / "key" / "record.key"), author=author, device="desk"
    )


@pytest.fixture
def equipment(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Equipment]:
    monkeypatch.setenv("LUNGELINE_KEY_FILE", str(tmp_path / "key" / "record.key"))
    made = Equipment(desk=_desk(tmp_path))
    yield made
    for store in made.desk.cases.stores(equipment=True):
        store.close()


def _judged(flow_l_min: float, limits: LeakLimits | None = None) -> Judged:
    held = HeldFlow(
        pressure_cmh2o=30.0, flow_l_min=flow_l_min, circuit=Circuit(volume_l=50.0),
        rises_at_l_min=flow_l_min + 0.1, falls_at_l_min=max(flow_l_min - 0.1, 0.0),
    )  # fmt: skip
    test = compensating_flow(held)
    horse = Case(animal=Animal(species="horse", weight_kg=520.0))
    return judge_leak(test, leak_in_use(test, breaths_of(horse)), limits)


def _walked(*, form: Form = "after", at: datetime = NOW, machine: str = "Circle 1", case: str = "") -> Walk:
    walk = Walk(
        checklist=standard_checklist(), form=form, machine=machine, began_at=at.isoformat(), species="horse",
        case=case,
    )  # fmt: skip
    while (step := walk.next_step) is not None:
        walk = answered(walk, step.key, Given(at=at.isoformat(), by="C. Nurse", skipped=True))
    return walk


def _lung(tidal_volume_l: float) -> LungTest:
    return LungTest(
        set_tidal_volume_l=5.0,
        set_rate_per_min=8.0,
        set_inspiratory_time_s=2.0,
        measured_tidal_volume_l=tidal_volume_l,
    )


# -- the register ------------------------------------------------------------------------------------------


def test_equipment_is_registered_changed_and_retired_and_all_of_it_stays(equipment: Equipment) -> None:
    circle = equipment.add(Item(sort="circle", name="Circle 1", serial="4711", capacity_l=30.0))
    equipment.change("4711", {"absorbent_used_hours": 6.0})
    assert equipment.machine("circle 1").item.absorbent_used_hours == 6.0
    assert equipment.machine("Circle 1").item.capacity_l == 30.0
    equipment.retire("Circle 1", "cracked dome")
    assert equipment.machines() == ()
    kept = equipment.machine(circle.id)
    assert kept.retired == "cracked dome"
    assert [entry.kind for entry in kept.entries()] == ["machine", "machine", "retired"]


def test_a_retirement_that_was_wrong_is_struck_out_and_stays_in_view(equipment: Equipment) -> None:
    equipment.add(Item(sort="circle", name="Circle 1"))
    equipment.retire("Circle 1", "the wrong one")
    equipment.strike("Circle 1", 2, "it was circle 2")
    assert [it.item.name for it in equipment.machines()] == ["Circle 1"]
    row = machine_log(equipment, "Circle 1").rows[1]
    assert (row.what, row.struck) == ("retired", "it was circle 2")
    with pytest.raises(InputError, match="a check, a note"):
        equipment.strike("Circle 1", 1, "its registration cannot go")


def test_a_name_is_taken_once_and_kept(equipment: Equipment) -> None:
    equipment.add(Item(sort="circle", name="Circle 1"))
    with pytest.raises(ConflictError):
        equipment.add(Item(sort="circle", name="circle  1"))
    with pytest.raises(InputError, match="keeps its name"):
        equipment.change("Circle 1", {"name": "Circle 2"})
    with pytest.raises(UnknownNameError, match="Circle 1"):
        equipment.machine("Circel 1")
    with pytest.raises(InputError):
        slug("···")


# -- checks ------------------------------------------------------------------------------------------------


def test_leak_tests_make_a_trend_that_is_told(equipment: Equipment) -> None:
    equipment.add(Item(sort="circle", name="Circle 1"))
    for week in range(6):
        at = (NOW + timedelta(weeks=week)).isoformat(timespec="minutes")
        keep_leak(equipment, "Circle 1", _judged(0.15 + 0.05 * week), at)
    past = past_leaks(equipment.machine("Circle 1"))
    assert [round(test.leak_ml_min) for test in past] == [150, 200, 250, 300, 350, 400]
    assert trend_of(past, "Circle 1").course == "getting worse"
    assert "machine_getting_worse" in {finding.code for finding in worse(past, "Circle 1")}


def test_a_test_that_was_struck_out_makes_no_trend(equipment: Equipment) -> None:
    equipment.add(Item(sort="circle", name="Circle 1"))
    for week, flow in enumerate((0.15, 0.17, 0.2, 0.22, 3.0)):
        keep_leak(equipment, "Circle 1", _judged(flow), (NOW + timedelta(weeks=week)).isoformat())
    equipment.strike("Circle 1", 6, "the Y was open")
    log = machine_log(equipment, "Circle 1")
    assert [round(test.leak_ml_min) for test in log.past] == [150, 170, 200, 220]
    assert log.leak_trend.course == "too few checks"
    assert log.rows[-1].struck == "the Y was open"
    assert len(log.checks) == 4


def test_the_same_test_sent_twice_is_kept_once_and_another_one_beside_it(equipment: Equipment) -> None:
    equipment.add(Item(sort="circle", name="Circle 1"))
    first, again = (keep_leak(equipment, "Circle 1", _judged(0.2), NOW.isoformat()) for _ in range(2))
    assert first.in_log == again.in_log
    later = keep_leak(equipment, "Circle 1", _judged(0.2), (NOW + timedelta(days=1)).isoformat())
    assert later.in_log.seq == first.in_log.seq + 1


def test_the_limits_a_test_was_judged_by_are_kept_with_it(equipment: Equipment) -> None:
    equipment.add(Item(sort="circle", name="Circle 1"))
    assert last_limits(equipment.machine("Circle 1")) is None
    own = LeakLimits(pass_ml_min=400.0, signed_by="A. Vet", signed_on="2026-05-01", reason="2 L/min is usual")
    keep_leak(equipment, "Circle 1", _judged(0.2, own))
    assert last_limits(equipment.machine("Circle 1")) == own


def test_a_guided_check_is_logged_once_with_its_list_and_only_when_it_is_finished(
    equipment: Equipment,
) -> None:
    equipment.add(Item(sort="circle", name="Circle 1"))
    walk = _walked()
    with pytest.raises(InputError, match="open steps"):
        keep_walk(equipment, "Circle 1", replace(walk, answers=walk.answers[:-1]))
    first, again = (keep_walk(equipment, "Circle 1", walk) for _ in range(2))
    assert first.in_log == again.in_log
    (kept,) = kept_walks(equipment.machine("Circle 1"))
    assert kept == walk
    assert kept.checklist.stamp == standard_checklist().stamp
    assert machine_log(equipment, "Circle 1").rows[-1].by == "C. Nurse"


def test_a_list_is_kept_once_and_a_changed_list_beside_it(equipment: Equipment) -> None:
    equipment.add(Item(sort="circle", name="Circle 1"))
    first = _walked()
    tables = dict(first.checklist.content) | {"version": "2"}
    second = replace(_walked(at=NOW + timedelta(days=1)), checklist=checklist_from_tables(tables))
    for walk in (first, second, _walked(at=NOW + timedelta(days=2))):
        keep_walk(equipment, "Circle 1", walk)
    machine = equipment.machine("Circle 1")
    lists = [row for row in machine_log(equipment, "Circle 1").rows if row.what == "list"]
    assert len(lists) == 2
    assert [walk.checklist.version for walk in kept_walks(machine)] == ["1", "2", "1"]
    assert kept_walks(machine)[1].checklist.content == tables
    equipment.strike("Circle 1", lists[0].seq, "an old list")
    assert [walk.checklist.version for walk in kept_walks(machine)] == ["1", "2", "1"]


def test_two_checks_begun_in_one_moment_are_two(equipment: Equipment) -> None:
    equipment.add(Item(sort="circle", name="Circle 1"))
    walk = _walked()
    other = replace(walk, answers=(replace(walk.answers[0], by="B. Vet"), *walk.answers[1:]))
    for each in (walk, other):
        keep_walk(equipment, "Circle 1", each)
    assert len(kept_walks(equipment.machine("Circle 1"))) == 2


def test_todays_checks_are_found_without_those_struck_out(equipment: Equipment) -> None:
    equipment.add(Item(sort="circle", name="Circle 1"))
    began = datetime.now(UTC)
    keep_walk(equipment, "Circle 1", _walked(at=began))
    struck = keep_walk(equipment, "Circle 1", _walked(at=began + timedelta(seconds=1)))
    equipment.strike("Circle 1", struck.in_log.seq, "another machine")
    machine = equipment.machine("Circle 1")
    assert [walk.began_at for walk in walks_since(machine, began - timedelta(minutes=1))] == [
        began.isoformat()
    ]
    assert walks_since(machine, began + timedelta(hours=1)) == ()


def test_a_test_lung_is_logged_with_what_was_set_each_time(equipment: Equipment) -> None:
    equipment.add(Item(sort="ventilator", name="Ventilator A"))
    clock = iter((NOW, NOW, NOW + timedelta(days=1), NOW + timedelta(days=1)))
    for volume_l in (4.2, 4.2):
        now = next(clock)
        desk = replace(equipment.desk, clock=lambda now=now: now)  # type: ignore[misc]  # bound at once
        keep_lung(Equipment(desk=desk), "Ventilator A", ventilator_on_lung(_lung(volume_l)))
        next(clock)
    kept = lungs(equipment.machine("Ventilator A"))
    assert [(it["set_tidal_volume_l"], it["measured_tidal_volume_l"]) for it in kept] == [(5.0, 4.2)] * 2
    assert {it["verdict"] for it in kept} == {"stop"}


def test_a_test_lung_kept_again_after_a_lost_answer_is_the_same_test(equipment: Equipment) -> None:
    equipment.add(Item(sort="ventilator", name="Ventilator A"))
    result, at = ventilator_on_lung(_lung(4.2)), NOW.isoformat(timespec="seconds")
    first = keep_lung(equipment, "Ventilator A", result, at)
    assert keep_lung(equipment, "Ventilator A", result, at).in_log.seq == first.in_log.seq
    assert len(lungs(equipment.machine("Ventilator A"))) == 1


# -- proof -------------------------------------------------------------------------------------------------


def test_the_log_is_proven_and_is_no_case(equipment: Equipment) -> None:
    assert equipment.machines() == ()
    equipment.add(Item(sort="circle", name="Circle 1"))
    keep_leak(equipment, "Circle 1", _judged(0.2))
    verdict = equipment.verify("Circle 1")
    assert (verdict.outcome, verdict.proven_count) == ("intact", verdict.count)
    cases = equipment.desk.cases
    assert list(cases.every()) == []
    assert list(cases.running()) == []
    assert cases.ids() == []
    assert cases.known() == ["machine.circle-1"]
    assert cases.verify("machine.circle-1").outcome == "intact"


def test_a_log_cut_short_is_found(equipment: Equipment) -> None:
    equipment.add(Item(sort="circle", name="Circle 1"))
    keep_leak(equipment, "Circle 1", _judged(0.2))
    from django.db import connections

    with connections[equipment.store.alias].cursor() as cursor:
        triggers = cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for (name,) in triggers:
            cursor.execute(f"DROP TRIGGER {name}")
        cursor.execute("DELETE FROM record_entry WHERE kind = 'machine_check'")
    assert equipment.verify("Circle 1").outcome == "cut"
    assert machine_log(equipment, "Circle 1").proof["outcome"] == "cut"


def test_a_log_that_is_gone_is_told_and_not_begun_anew(equipment: Equipment, tmp_path: Path) -> None:
    equipment.add(Item(sort="circle", name="Circle 1"))
    for store in equipment.desk.cases.stores(equipment=True):
        store.close()
    for file in (tmp_path / "data").glob("equipment.sqlite3*"):
        file.unlink()
    anew = Equipment(desk=_desk(tmp_path))
    with pytest.raises(StoreError):
        anew.machines()
    with pytest.raises(StoreError):
        anew.add(Item(sort="circle", name="Circle 2"))


def test_a_log_is_signed_by_whoever_may(equipment: Equipment) -> None:
    equipment.add(Item(sort="circle", name="Circle 1"))
    people = equipment.desk.cases.path / "people.toml"
    people.write_text(
        '[[people]]\nname = "A. Vet"\nrole = "veterinarian"\n'
        '[[people]]\nname = "S. Student"\nrole = "student"\n',
        encoding="utf-8",
    )
    signed = equipment.sign("Circle 1", role="head of theatre")
    assert signed.body["head_count_number"] == 1
    assert machine_log(equipment, "Circle 1").rows[-1].says == "head of theatre, up to entry 1"
    student = Equipment(desk=replace(equipment.desk, author="S. Student"))
    with pytest.raises(RecordError):
        student.sign("Circle 1", role="student")


def test_the_log_goes_with_the_backups_and_comes_back(equipment: Equipment, tmp_path: Path) -> None:
    equipment.add(Item(sort="circle", name="Circle 1"))
    keep_leak(equipment, "Circle 1", _judged(0.2), NOW.isoformat())
    copies = back_up_all(equipment.desk, tmp_path / "stick")
    copy = next(each for each in copies if each.name.startswith("equipment"))
    assert [it.outcome for it in check_backup(copy, equipment.store.key)] == ["intact"]
    (tmp_path / "disk").mkdir()
    done = Backups(equipment.desk.cases, Schedule(folder=tmp_path / "disk")).round()
    assert done.fault is None
    assert any(each.name.startswith("equipment") for each in done.copies)
    lines = equipment.export("Circle 1", tmp_path / "circle.jsonl")
    for number, source in enumerate((copy, lines)):
        other = Desk(
            cases=Cases(tmp_path / f"other-{number}", key_file=tmp_path / "key" / "record.key"),
            author="A. Vet", device="desk",
        )  # fmt: skip
        assert [it.outcome for it in restore(other, source)] in (["intact"], ["unverifiable"])
        there = Equipment(desk=other)
        assert [test.at for test in past_leaks(there.machine("Circle 1"))] == [NOW.isoformat()]
        assert other.cases.ids() == []


# -- in the record of a case -------------------------------------------------------------------------------


def test_a_check_done_for_a_case_stands_in_both_and_each_names_the_other(equipment: Equipment) -> None:
    equipment.add(Item(sort="circle", name="Circle 1"))
    case = equipment.desk.open_case(OPENING).case
    first, again = (keep_leak(equipment, "Circle 1", _judged(0.35), NOW.isoformat(), case) for _ in range(2))
    assert first.in_case is not None
    assert first.in_case == again.in_case
    body = first.in_case.body
    assert (body["log_entry"], body["log_hash"]) == (first.in_log.uid, first.in_log.hash)
    assert (body["log_count_number"], body["machine"], body["verdict"]) == (2, "Circle 1", "caution")
    assert body["leak_ml_min"] == pytest.approx(350.0)
    assert first.in_log.body["case"] == case
    (row,) = machine_log(equipment, "Circle 1").checks
    assert row.case == case
    assert equipment.desk.cases.read(case).state.count == 2


def test_a_check_for_a_case_killed_between_log_and_case_is_told_when_it_is_sent_again(
    equipment: Equipment, monkeypatch: pytest.MonkeyPatch
) -> None:
    equipment.add(Item(sort="circle", name="Circle 1"))
    case = equipment.desk.open_case(OPENING).case
    walk = _walked(case=case)

    def killed(*_rest: object, **_more: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as dying:
        dying.setattr(Desk, "enter", killed)
        with pytest.raises(KeyboardInterrupt):
            keep_walk(equipment, "Circle 1", walk)
    assert equipment.desk.cases.read(case).state.count == 1
    for _ in range(2):
        kept = keep_walk(equipment, "Circle 1", walk)
    assert kept.in_case is not None
    assert kept.in_case.body["passed"] is False  # all was skipped: a caution, no go
    assert equipment.desk.cases.read(case).state.count == 2
    assert len(kept_walks(equipment.machine("Circle 1"))) == 1
