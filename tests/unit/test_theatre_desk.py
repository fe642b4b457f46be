"""The desk over a real store: opening, entering, correcting, striking out, signing, copies."""

import contextlib
import dataclasses
import json
import sqlite3
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from lungeline.cli.main import main
from lungeline.errors import ConflictError, InputError, LungelineError, MissingError, RecordError
from lungeline.export.csv_files import read_csv
from lungeline.record import Entry, present_state
from lungeline.theatre import (
    Cases,
    Damaged,
    Desk,
    as_signed,
    back_up_all,
    export_case,
    findings_before_signing,
    new_pin,
    restore,
    sign,
    versions,
)
from lungeline.theatre.anonymised import anonymised

STAR: dict[str, Any] = {
    "purpose": "real", "name": "Star", "species": "horse", "weight_kg": 520.0, "owner": "Ms Secret",
}  # fmt: skip


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Desk:
    monkeypatch.delenv("LUNGELINE_DATABASE", raising=False)
    monkeypatch.setenv("LUNGELINE_KEY_FILE", str(tmp_path / "keys" / "record.key"))
    return Desk(cases=Cases(tmp_path / "data"), author="A. Vet", device="tablet")


def by(desk: Desk, author: str) -> Desk:
    return dataclasses.replace(desk, author=author)


def opened(desk: Desk) -> str:
    return desk.open_case(STAR).case


def under_way(desk: Desk) -> str:
    """A case with what must be there before it is signed."""
    case = opened(desk)
    desk.enter(case, "phase", {"phase": "induce"})
    desk.enter(case, "reading", {"map_mmhg": 70.0})
    return case


# --- writing ------------------------------------------------------------------------------------------


def test_ids_tell_nothing_of_the_animal_and_differ(desk: Desk) -> None:
    ids = {opened(desk) for _ in range(5)}
    assert len(ids) == 5
    assert not any("star" in case.casefold() for case in ids)


def test_a_case_reads_the_same_after_a_restart(desk: Desk, tmp_path: Path) -> None:
    case = under_way(desk)
    again = Cases(tmp_path / "data")
    assert again.read(case).entries == desk.cases.read(case).entries
    assert [now.state.case for now in again.running()] == [case]
    desk.enter(case, "phase", {"phase": "closed"})
    assert list(again.running()) == []


def test_a_late_entry_counts_by_when_it_happened(desk: Desk) -> None:
    case = opened(desk)
    now = datetime.now(UTC)
    desk.enter(case, "reading", {"map_mmhg": 80.0}, event_time=now)
    desk.enter(case, "reading", {"map_mmhg": 60.0}, event_time=now - timedelta(minutes=10))
    state = desk.cases.read(case).state
    assert state.readings["map_mmhg"].value == 80.0
    assert [item.late for item in state.items if item.kind == "reading"] == [True, False]


def test_an_entry_sent_twice_is_entered_once_also_when_its_case_went_on(desk: Desk) -> None:
    case = opened(desk)
    first = desk.enter(case, "phase", {"phase": "induce"}, uid="one")
    desk.enter(case, "phase", {"phase": "maintain"})
    assert desk.enter(case, "phase", {"phase": "induce"}, uid="one") == first
    assert desk.cases.read(case).state.count == 3
    with pytest.raises(ConflictError):
        desk.enter(case, "phase", {"phase": "wean"}, uid="one")


def test_minutes_ago_sent_again_later_are_those_of_the_first_time(desk: Desk) -> None:
    case = opened(desk)
    at = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)

    def sent(now: datetime, **told: Any) -> Entry:  # noqa: ANN401  a time, told in one of two ways
        there = dataclasses.replace(desk, clock=lambda: now)
        moment = there.moment(case, uid="one", **told)
        return there.enter(case, "reading", {"map_mmhg": 70.0}, event_time=moment, uid="one")

    first = sent(at, ago_min=10.0)
    assert first.event_time == at - timedelta(minutes=10)
    # what was not acknowledged is sent again a minute later, or by its clock time
    assert sent(at + timedelta(minutes=1), ago_min=10.0) == first
    assert desk.moment(case, uid="one") is None
    with pytest.raises(ConflictError):
        sent(at, at="2026-03-01T11:40:00+00:00")
    assert desk.cases.read(case).state.count == len(desk.cases.read(case).entries)


def test_a_clock_time_sent_again_after_midnight_is_that_of_the_first_time(desk: Desk) -> None:
    case = opened(desk)
    first = desk.enter(case, "note", {"text": "x"}, event_time=desk.moment(case, at="00:01"), uid="one")
    tomorrow = dataclasses.replace(desk, clock=lambda: datetime.now(UTC).astimezone() + timedelta(days=1))
    again = tomorrow.moment(case, at="00:01", uid="one")
    assert tomorrow.enter(case, "note", {"text": "x"}, event_time=again, uid="one") == first


def test_one_damaged_case_hides_no_other(desk: Desk) -> None:
    cases = [opened(desk) for _ in range(4)]
    desk.enter(cases[2], "phase", {"phase": "induce"})
    for case in cases:
        desk.enter(case, "reading", {"map_mmhg": 70.0})
    database = desk.cases.store("real").folder.database
    with contextlib.closing(sqlite3.connect(database, isolation_level=None)) as raw:
        raw.execute("DROP TRIGGER record_entry_no_update")
        for case, seq in ((cases[0], 1), (cases[1], 2)):
            statement = "UPDATE record_entry SET line = 'x' WHERE case_id = ? AND seq = ?"
            raw.execute(statement, [case, seq])
        # well written, but no body of its kind
        statement = (
            "UPDATE record_entry SET line = replace(line, '{\"phase\":\"induce\"}', '{}') WHERE case_id = ?"
        )
        raw.execute(statement, [cases[2]])
    kept = Cases(desk.cases.path)
    damaged: list[Damaged] = []
    assert {now.state.case for now in kept.every(damaged)} == {cases[3]}
    reasons = {it.case: it.reason for it in damaged}
    assert reasons.keys() == set(cases[:3])
    assert "do not add up" in reasons[cases[2]]
    assert "entry 1: a row that cannot be read" in reasons[cases[0]]
    assert set(kept.known()) == set(kept.ids()) == set(cases)
    assert kept.verify(cases[0]).at_seq == 1
    assert cases[3] in {now.state.case for now in kept.running()}
    with pytest.raises(RecordError, match="verify"):
        kept.read(cases[1])
    with pytest.raises(RecordError, match="entry 2"):
        desk.enter(cases[1], "reading", {"map_mmhg": 71.0})


def test_the_list_tells_a_damaged_case_and_goes_on(
    desk: Desk, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    whole, broken = opened(desk), opened(desk)
    database = desk.cases.store("real").folder.database
    with contextlib.closing(sqlite3.connect(database, isolation_level=None)) as raw:
        raw.execute("DROP TRIGGER record_entry_no_update")
        raw.execute("UPDATE record_entry SET line = 'x' WHERE case_id = ?", [broken])
    monkeypatch.setenv("LUNGELINE_DATA", str(desk.cases.path))
    assert main(["case", "list"]) == 0
    first, second = capsys.readouterr().out.splitlines()
    assert first.startswith(f"DAMAGED  {broken}: case {broken}, entry 1")
    assert second.startswith(whole)
    assert main(["case", "list", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert ([it["id"] for it in told["cases"]], [it["id"] for it in told["damaged"]]) == ([whole], [broken])


def test_the_command_line_sends_minutes_ago_again_and_shows_the_team(
    desk: Desk, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    case = opened(desk)
    monkeypatch.setenv("LUNGELINE_DATA", str(desk.cases.path))
    words = ["case", "enter", case, "--person", "B. Vet", "--function", "surgeon", "--uid", "one"]
    for _ in range(2):
        assert main([*words, "--ago-min", "10"]) == 0
    assert main(["case", "show", case]) == 0
    shown = capsys.readouterr().out
    begun = desk.cases.read(case).entries[1].event_time
    assert f"Team\n  surgeon: B. Vet, {begun:%H:%M} –\n" in shown
    assert desk.cases.read(case).state.count == 2


def test_what_another_program_added_is_in_the_case_that_was_kept(desk: Desk) -> None:
    case = opened(desk)
    before = desk.cases.read(case)
    assert desk.cases.read(case) is before  # nothing new, nothing read again
    other = dataclasses.replace(desk, cases=Cases(desk.cases.path))
    other.enter(case, "reading", {"map_mmhg": 64.0})
    assert desk.cases.read(case).state == other.cases.read(case).state
    assert desk.cases.read(case).state.readings["map_mmhg"].value == 64.0


def test_a_correction_changes_what_is_told_and_keeps_the_rest(desk: Desk) -> None:
    case = opened(desk)
    wrong = desk.enter(case, "reading", {"map_mmhg": 172.0, "heart_rate_per_min": 36.0, "spo2_fraction": 0.9})
    desk.correct(case, wrong.seq, "slip of a digit", {"map_mmhg": 72.0}, leave_out=["spo2_fraction"])
    item = next(it for it in desk.cases.read(case).state.items if it.kind == "reading")
    assert dict(item.body) == {"map_mmhg": 72.0, "heart_rate_per_min": 36.0}
    assert item.entry == wrong
    assert item.event_time == wrong.event_time
    # a correction is corrected by way of what it belongs to
    desk.correct(case, wrong.seq + 1, "again", {"map_mmhg": 74.0})
    assert desk.cases.read(case).state.readings["map_mmhg"].value == 74.0


def test_a_correction_of_nothing_is_refused(desk: Desk) -> None:
    case = opened(desk)
    entry = desk.enter(case, "reading", {"map_mmhg": 72.0})
    with pytest.raises(InputError):
        desk.correct(case, entry.seq, "why", {"map_mmhg": 72.0})
    with pytest.raises(InputError):
        desk.correct(case, entry.seq, "why", {}, leave_out=["etco2_mmhg"])
    with pytest.raises(InputError):
        desk.correct(case, 99, "why", {"map_mmhg": 71.0})
    with pytest.raises(InputError):
        desk.correct(case, entry.seq, "", {"weight_kg": 71.0})
    assert desk.cases.read(case).state.count == 2


def test_a_corrected_phase_must_fit_too(desk: Desk) -> None:
    case = opened(desk)
    first = desk.enter(case, "phase", {"phase": "induce"})
    desk.enter(case, "phase", {"phase": "wean"})
    with pytest.raises(ConflictError):
        desk.correct(case, first.seq, "slip", {"phase": "closed"})
    desk.correct(case, first.seq, "slip", {"phase": "maintain"})


def test_a_strike_out_can_be_undone(desk: Desk) -> None:
    case = opened(desk)
    entry = desk.enter(case, "drug", {"drug": "ketamine", "amount_mg": 1100.0})
    struck = desk.strike(case, entry.seq, "other horse")
    assert desk.cases.read(case).state.given_mg == {}
    desk.strike(case, struck.seq, "it was this one")
    assert desk.cases.read(case).state.given_mg == {"ketamine": 1100.0}


def test_what_is_done_by_other_commands_is_not_entered(desk: Desk) -> None:
    case = opened(desk)
    for kind in ("opening", "signature", "strike", "correction", "clock"):
        with pytest.raises(InputError):
            desk.enter(case, kind, {})


# --- simulated ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("purpose", ["rehearsal", "demo"])
def test_simulated_cases_live_apart_are_marked_and_cannot_be_signed(desk: Desk, purpose: str) -> None:
    real = opened(desk)
    case = desk.open_case(STAR | {"purpose": purpose}).case
    desk.enter(case, "reading", {"map_mmhg": 70.0})
    assert desk.cases.find(case).place != desk.cases.find(real).place
    assert (desk.cases.mark(case), desk.cases.read(case).mark) == ("SIMULATED", "SIMULATED")
    assert (desk.cases.mark(real), desk.cases.read(real).mark) == ("", "")
    with pytest.raises(RecordError, match="nothing simulated"):
        sign(desk, case, role="anaesthetist", because="please")
    assert [now.state.case for now in desk.cases.every()] == [real, case]


# --- signing ------------------------------------------------------------------------------------------


def test_an_incomplete_case_is_signed_only_with_a_reason_which_is_noted(desk: Desk) -> None:
    case = opened(desk)
    with pytest.raises(MissingError, match="record_induction_missing"):
        sign(desk, case, role="anaesthetist")
    entry = sign(desk, case, role="anaesthetist", because="called away")
    now = desk.cases.read(case)
    note = now.entries[-2]
    assert "called away" in note.body["text"]
    assert "record_induction_missing" in note.body["text"]
    assert entry.body["head_count_number"] == note.seq


def test_a_signature_freezes_a_version_and_later_entries_show(desk: Desk) -> None:
    case = under_way(desk)
    signed = sign(desk, case, role="anaesthetist")
    sign(by(desk, "B. Vet"), case, role="veterinarian", meaning="countersigned")
    reading = next(entry for entry in desk.cases.read(case).entries if entry.kind == "reading")
    late = desk.correct(case, reading.seq, "slip", {"map_mmhg": 90.0})
    now = desk.cases.read(case)
    first = versions(now.entries)[0]
    assert (first.count, first.hash) == (signed.seq - 1, now.entries[signed.seq - 2].hash)
    assert first.added == (late,)
    assert as_signed(now.entries, first).readings["map_mmhg"].value == 70.0
    assert now.state.readings["map_mmhg"].value == 90.0
    assert desk.cases.verify(case).outcome == "intact"


def test_a_countersignature_wants_a_signature_by_somebody_else(desk: Desk) -> None:
    case = under_way(desk)
    with pytest.raises(ConflictError):
        sign(desk, case, role="veterinarian", meaning="countersigned")
    sign(desk, case, role="anaesthetist")
    with pytest.raises(ConflictError):
        sign(by(desk, "a. VET"), case, role="veterinarian", meaning="countersigned")
    sign(by(desk, "B. Vet"), case, role="veterinarian", meaning="countersigned")


def test_after_closing_and_signing_only_addenda_are_added(desk: Desk) -> None:
    case = under_way(desk)
    with pytest.raises(RecordError, match="before any signature"):
        desk.enter(case, "addendum", {"text": "too early"})
    desk.enter(case, "phase", {"phase": "closed"})
    sign(desk, case, role="anaesthetist")
    with pytest.raises(RecordError, match="addendum"):
        desk.enter(case, "reading", {"map_mmhg": 60.0})
    desk.enter(case, "addendum", {"text": "lame the next morning"})
    desk.enter(case, "outcome", {"after": "24 h", "status": "alive"})
    assert desk.cases.read(case).state.count == 7


def test_a_signature_in_the_middle_lets_the_case_go_on(desk: Desk) -> None:
    case = under_way(desk)
    sign(desk, case, role="anaesthetist")
    desk.enter(case, "handover", {"to": "B. Vet"})
    desk.enter(case, "reading", {"map_mmhg": 60.0})


def test_a_student_is_co_signed_before_anybody_signs(desk: Desk) -> None:
    pin = new_pin("4711").written()
    (desk.cases.path).mkdir()
    (desk.cases.path / "people.toml").write_text(
        '[[people]]\nname = "S. Learner"\nrole = "student"\n'
        f'[[people]]\nname = "A. Vet"\nrole = "teacher"\npin = "{pin}"\n',
        encoding="utf-8",
    )
    case = under_way(by(desk, "S. Learner"))
    with pytest.raises(RecordError, match="student"):
        sign(by(desk, "S. Learner"), case, role="anaesthetist")
    with pytest.raises(RecordError, match="PIN"):
        sign(desk, case, role="teacher", meaning="co-signed", pin="0000")
    with pytest.raises(MissingError, match="record_student_not_cosigned"):
        sign(desk, case, role="anaesthetist", pin="4711")
    sign(desk, case, role="teacher", meaning="co-signed", pin="4711")
    sign(desk, case, role="anaesthetist", pin="4711")


def test_a_broken_list_of_people_stops_signing_and_not_recording(desk: Desk) -> None:
    case = under_way(desk)
    (desk.cases.path / "people.toml").write_text("[[people]]\nname = 3", encoding="utf-8")
    desk.enter(case, "reading", {"map_mmhg": 60.0})
    desk.strike(case, 3, "another horse")
    assert findings_before_signing(desk.cases.read(case), desk)
    with pytest.raises(InputError, match="people"):
        sign(desk, case, role="anaesthetist")
    assert desk.cases.read(case).state.signatures == ()


# --- copies -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("form", ["csv", "lines"])
def test_an_exported_case_comes_back_exactly(desk: Desk, tmp_path: Path, form: Any) -> None:  # noqa: ANN401  one of two words
    case = under_way(desk)
    sign(desk, case, role="anaesthetist")
    target = tmp_path / ("csv" if form == "csv" else "star.jsonl")
    export_case(desk, case, target, form=form)
    other = dataclasses.replace(desk, cases=Cases(tmp_path / "other"))
    restore(other, target)
    assert other.cases.read(case).entries == desk.cases.read(case).entries
    with pytest.raises(ConflictError):
        restore(other, target)


def test_a_changed_export_does_not_come_back(desk: Desk, tmp_path: Path) -> None:
    case = under_way(desk)
    export_case(desk, case, tmp_path / "csv")
    audit = tmp_path / "csv" / "audit.csv"
    text = audit.read_text(encoding="utf-8-sig")
    assert text.count('""map_mmhg"":70') == 1
    audit.write_text(text.replace('""map_mmhg"":70', '""map_mmhg"":90'), encoding="utf-8-sig", newline="")
    other = dataclasses.replace(desk, cases=Cases(tmp_path / "other"))
    with pytest.raises(RecordError, match="wrong hash"):
        restore(other, tmp_path / "csv")
    assert list(other.cases.every()) == []


def test_simulated_cases_come_back_as_such(desk: Desk, tmp_path: Path) -> None:
    case = desk.open_case(STAR | {"purpose": "demo"}).case
    export_case(desk, case, tmp_path / "csv")
    other = dataclasses.replace(desk, cases=Cases(tmp_path / "other"))
    restore(other, tmp_path / "csv")
    assert other.cases.mark(case) == "SIMULATED"


def test_backups_of_both_stores_are_put_back(desk: Desk, tmp_path: Path) -> None:
    real = under_way(desk)
    simulated = desk.open_case(STAR | {"purpose": "demo"}).case
    copies = back_up_all(desk, tmp_path / "stick")
    other = dataclasses.replace(desk, cases=Cases(tmp_path / "other"))
    for copy in copies:
        assert [it.outcome for it in restore(other, copy)] == ["intact"]
    assert {now.state.case for now in other.cases.every()} == {real, simulated}
    assert other.cases.verify(real).outcome == "intact"


def test_what_is_no_copy_is_refused(desk: Desk, tmp_path: Path) -> None:
    (tmp_path / "empty.jsonl").write_text("", encoding="utf-8")
    (tmp_path / "x.txt").write_text("x", encoding="utf-8")
    for name in ("nothing", "empty.jsonl", "x.txt", "keys"):
        with pytest.raises(LungelineError):
            restore(desk, tmp_path / name)


def test_an_anonymous_export_holds_no_name_and_no_day(desk: Desk, tmp_path: Path) -> None:
    case = under_way(desk)
    note = desk.enter(case, "note", {"text": "Ms Secret phoned about Star"})
    desk.enter(case, "event", {"what": "Star coughed", "detail": "Ms Secret"})
    desk.enter(case, "handover", {"to": "B. Vet"})
    desk.correct(case, note.seq, "Ms Secret said so", {"text": "Star is fine"})
    desk.correct(case, 1, "Ms Secret again", {"place": "Secret Farm"})
    sign(desk, case, role="anaesthetist")
    day = f"{datetime.now(UTC):%Y-%m-%d}"
    paths = export_case(desk, case, tmp_path / "anon", anonymous=True)
    text = "".join(path.read_text(encoding="utf-8-sig") for path in paths)
    for name in ("Star", "Secret", "A. Vet", "B. Vet", "tablet", case, day):
        assert name not in text
    assert "audit.csv" not in {path.name for path in paths}
    state, plain = present_state(anonymised(desk.cases.read(case).entries, "x")), desk.cases.read(case).state
    assert state.readings["map_mmhg"].value == plain.readings["map_mmhg"].value
    spans = [[item.event_time - each.items[0].event_time for item in each.items] for each in (state, plain)]
    assert spans[0] == spans[1]
    with pytest.raises(LungelineError):
        read_csv(tmp_path / "anon")


def test_json_lines_are_never_anonymous(desk: Desk, tmp_path: Path) -> None:
    with pytest.raises(InputError):
        export_case(desk, opened(desk), tmp_path / "x.jsonl", form="lines", anonymous=True)


def test_an_observer_sees_and_exports_and_does_nothing_else(desk: Desk, tmp_path: Path) -> None:
    case = under_way(desk)
    (desk.cases.path / "people.toml").write_text(
        '[[people]]\nname = "O. Guest"\nrole = "observer"\n', encoding="utf-8"
    )
    guest = by(desk, "O. Guest")
    assert export_case(guest, case, tmp_path / "csv")
    for act in (
        lambda: guest.open_case(STAR),
        lambda: guest.enter(case, "reading", {"map_mmhg": 70.0}),
        lambda: guest.correct(case, 3, "slip", {"map_mmhg": 71.0}),
        lambda: guest.strike(case, 3, "slip"),
        lambda: back_up_all(guest, tmp_path / "stick"),
        lambda: restore(guest, tmp_path / "csv"),
    ):
        with pytest.raises(RecordError, match="observer"):
            act()
    assert desk.cases.read(case).state.count == 3
