"""Writing to a store and reading from it, on both databases."""

import subprocess
import sys
import threading
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.db import Error as DatabaseRefusal
from django.db import connections

from lungeline.errors import ConflictError, InputError, KeyFileError, RecordError, StoreError
from lungeline.record import Draft, Entry, present_state, read_heads
from lungeline.record.store import migrations, opening
from lungeline.record.store.opening import bring_up_to_date
from lungeline.record.store.store import Store

New = Callable[..., Draft]
Place = Any  # its class is in conftest.py, which cannot be imported
OPENING = {"purpose": "real", "name": "Star", "species": "horse", "weight_kg": 520.0}


def raw(store: Store, statement: str, *values: object) -> None:
    """Do what a foreign program would do to the database."""
    with connections[store.alias].cursor() as cursor:
        cursor.execute(statement, values)


@pytest.mark.usefixtures("opened")
def test_what_was_acknowledged_is_there_for_the_next_program(place: Place, store: Store, new: New) -> None:
    entry = store.append(new(author="שרה 🐴", body={"map_mmhg": 71.5}))
    other = place.open()
    assert other.entries_after("c1")[-1] == entry
    assert (entry.seq, entry.device_seq) == (2, 2)
    assert other.entry(entry.uid) == entry
    assert other.entry("nobody") is None


def test_followers_get_what_is_new_and_nothing_twice(store: Store, opened: Entry, new: New) -> None:
    entries = [opened, *(store.append(new()) for _ in range(5))]
    assert store.entries_after("c1") == entries
    assert store.entries_after("c1", 3) == entries[3:]
    assert store.entries_after("c1", 3, at_most=2) == entries[3:5]
    assert store.entries_after("c1", 6) == []
    assert store.entries_after("c2") == []


@pytest.mark.usefixtures("opened")
def test_a_draft_sent_twice_is_entered_once(store: Store, new: New) -> None:
    sent = new()
    first = store.append(sent)
    assert store.append(sent) == first
    assert len(store.entries_after("c1")) == 2
    with pytest.raises(ConflictError, match="new uid"):
        store.append(new(uid=sent.uid, body={"map_mmhg": 99.0}))
    with pytest.raises(ConflictError):
        store.append_all([new("opening", OPENING, case="c2"), new(uid=sent.uid, case="c2")])
    assert [it.case for it in store.cases()] == ["c1"]


@pytest.mark.usefixtures("opened")
def test_several_are_entered_all_or_none(store: Store, new: New) -> None:
    with pytest.raises(InputError):
        store.append_all([new(), new(), new(body={"map_mmhg": 9000.0})])
    assert len(store.entries_after("c1")) == 1
    reading = new()
    correction = {"reason": "slip", "kind": "reading", "body": {"map_mmhg": 75.0}}
    store.append_all([reading, new("correction", correction, corrects=reading.uid)])
    assert present_state(store.entries_after("c1")).readings["map_mmhg"].value == 75


def test_cases_are_listed_with_their_opening_and_count(store: Store, opened: Entry, new: New) -> None:
    other = store.append(new("opening", OPENING | {"name": "Moon"}, case="c2"))
    store.append(new())
    assert {it.case: (it.count, it.opening) for it in store.cases()} == {"c1": (2, opened), "c2": (1, other)}


def test_real_and_simulated_cases_are_kept_apart(place: Place, store: Store, new: New) -> None:
    with pytest.raises(RecordError, match="two stores"):
        store.append(new("opening", OPENING | {"purpose": "rehearsal"}))
    simulated = place.open(side="simulated")
    with pytest.raises(RecordError, match="two stores"):
        simulated.append(new("opening", OPENING))
    simulated.append(new("opening", OPENING | {"purpose": "rehearsal"}))
    assert [it.case for it in simulated.cases()] == ["c1"]
    assert store.cases() == []


# --- guards of the database itself --------------------------------------------------------------------


@pytest.mark.usefixtures("opened")
@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE record_entry SET line = 'x'",
        "UPDATE record_entry SET kind = kind",
        "DELETE FROM record_entry",
        """INSERT INTO record_entry (uid, case_id, seq, kind, device, device_seq, line)
        VALUES ('gap', 'c1', 9, 'note', 'd', 1, 'x')""",
        """INSERT INTO record_entry (uid, case_id, seq, kind, device, device_seq, line)
        VALUES ('zero', 'c9', 0, 'note', 'd', 1, 'x')""",
        """INSERT INTO record_entry (uid, case_id, seq, kind, device, device_seq, line)
        SELECT uid, 'c2', 1, kind, device, device_seq, line FROM record_entry""",
        """INSERT INTO record_entry (uid, case_id, seq, kind, device, device_seq, line)
        SELECT 'count', case_id, 2, kind, device, device_seq, line FROM record_entry""",
    ],
)
def test_the_database_refuses_to_change_delete_or_misplace_an_entry(store: Store, statement: str) -> None:
    before = list(store.lines("c1"))
    with pytest.raises(DatabaseRefusal):
        raw(store, statement)
    assert list(store.lines("c1")) == before
    assert [it.case for it in store.cases()] == ["c1"]


@pytest.mark.usefixtures("opened")
def test_each_database_refuses_its_own_ways_around(store: Store) -> None:
    before = list(store.lines("c1"))
    replacing = (
        """INSERT OR REPLACE INTO record_entry (uid, case_id, seq, kind, device, device_seq, line)
        SELECT uid, case_id, seq, kind, device, device_seq, 'x' FROM record_entry""",
        """INSERT OR REPLACE INTO record_entry (uid, case_id, seq, kind, device, device_seq, line)
        SELECT uid, 'c2', 1, kind, device, device_seq, 'x' FROM record_entry""",
        """INSERT OR REPLACE INTO record_entry (rowid, uid, case_id, seq, kind, device, device_seq, line)
        SELECT rowid, 'new', 'c2', 1, kind, device, device_seq, 'x' FROM record_entry""",
        """INSERT OR REPLACE INTO record_entry (uid, case_id, seq, kind, device, device_seq, line)
        SELECT 'new', case_id, 2, kind, device, device_seq, 'x' FROM record_entry""",
    )
    ways = {"sqlite": replacing, "postgresql": ("TRUNCATE record_entry",)}
    for statement in ways[connections[store.alias].vendor]:
        with pytest.raises(DatabaseRefusal):
            raw(store, statement)
    assert list(store.lines("c1")) == before


def without_guards(store: Store) -> None:
    """Do what somebody who owns the database can do."""
    sqlite = ("no_update", "no_delete", "at_the_end")
    statements = {
        "sqlite": [f"DROP TRIGGER record_entry_{name}" for name in sqlite],
        "postgresql": ["ALTER TABLE record_entry DISABLE TRIGGER ALL"],
    }
    for statement in statements[connections[store.alias].vendor]:
        raw(store, statement)


@pytest.mark.usefixtures("opened")
@pytest.mark.parametrize(
    ("statement", "outcome", "at_seq"),
    [
        ("UPDATE record_entry SET line = replace(line, '72', '27') WHERE seq = 3", "changed", 3),
        ("UPDATE record_entry SET line = line || ' ' WHERE seq = 2", "changed", 2),
        ("UPDATE record_entry SET kind = 'note' WHERE seq = 3", "changed", 3),
        ("UPDATE record_entry SET case_id = 'c2' WHERE seq = 3", "changed", 3),
        ("UPDATE record_entry SET device = 'other' WHERE seq = 4", "changed", 4),
        ("DELETE FROM record_entry WHERE seq = 2", "changed", 2),
        ("DELETE FROM record_entry WHERE seq >= 4", "cut", 4),
        ("DELETE FROM record_entry", "cut", 1),
    ],
)
def test_what_is_changed_past_the_guards_is_found(
    store: Store, new: New, statement: str, outcome: str, at_seq: int
) -> None:
    for value in (71.0, 72.0, 73.0, 74.0):
        store.append(new(body={"map_mmhg": value}))
    assert store.verify("c1").outcome == "unverifiable"
    store.note_heads(["c1"])
    assert store.verify("c1").outcome == "intact"
    without_guards(store)
    raw(store, statement)
    verdict = store.verify("c1")
    assert (verdict.outcome, verdict.at_seq) == (outcome, at_seq)


# --- signing, keys, clocks ----------------------------------------------------------------------------


def test_a_signature_leaves_a_head_even_if_the_first_try_died_before_it(
    store: Store, opened: Entry, new: New
) -> None:
    signed = {"meaning": "signed", "role": "anaesthetist", "head_count_number": 1, "head_hash": opened.hash}
    sent = new("signature", signed)
    store.append(sent)
    assert [head.count for head in read_heads(store.folder.heads, store.key)] == [2]
    store.folder.heads.unlink()
    store.append(sent)
    assert [head.count for head in read_heads(store.folder.heads, store.key)] == [2]
    assert store.verify("c1").proven_count == 2


@pytest.mark.usefixtures("opened")
def test_without_its_key_a_store_is_read_only_and_makes_no_new_one(
    place: Place, store: Store, new: New
) -> None:
    store.note_heads(["c1"])
    place.key_file.rename(place.path / "elsewhere")
    keyless = place.open()
    assert not place.key_file.exists()
    assert len(keyless.entries_after("c1")) == 1
    assert keyless.verify("c1").reason == "no key"
    with pytest.raises(KeyFileError, match="copy"):
        keyless.append(new())
    wrong = place.open(key_file=place.path / "keys" / "wrong.key")
    assert wrong.key is None


@pytest.mark.usefixtures("opened")
def test_a_wrong_key_does_not_write_on(place: Place, store: Store, new: New) -> None:
    store.note_heads(["c1"])
    other = place.open(path=place.path / "other", url=None, key_file=place.path / "other.key")
    wrong = place.open(key_file=place.path / "other.key")
    assert wrong.key == other.key
    with pytest.raises(RecordError, match="key"):
        wrong.append(new())
    assert wrong.verify("c1").reason == "another key"
    assert len(store.entries_after("c1")) == 1


def test_a_clock_that_goes_back_an_hour_loses_nothing_and_is_noted(place: Place, new: New) -> None:
    times = iter([datetime(2026, 3, 1, 12, tzinfo=UTC) + timedelta(hours=h) for h in (0, 1, 0)])
    plain = place.open()
    store = Store(
        alias=plain.alias, folder=plain.folder, key=plain.key, lock=plain.lock, clock=lambda: next(times)
    )
    store.append(new("opening", OPENING))
    store.append_all([new(), new()])
    entries = store.entries_after("c1")
    assert [entry.seq for entry in entries] == [1, 2, 3]
    went_back = [note for note in present_state(entries).clocks if note.what == "store went back"]
    assert [(note.at_seq, note.ahead_s) for note in went_back] == [(3, -3600)]


@pytest.mark.usefixtures("opened")
def test_a_note_of_a_megabyte_is_kept_whole(store: Store, new: New) -> None:
    text = "🐴" * 250_000
    store.append(new("note", {"text": text}))
    assert store.entries_after("c1")[-1].body["text"] == text


# --- several writers ----------------------------------------------------------------------------------


@pytest.mark.usefixtures("opened")
def test_two_people_on_one_case_from_two_threads_lose_nothing(store: Store, new: New) -> None:
    faults: list[BaseException] = []

    def write(device: str) -> None:
        try:
            for _ in range(25):
                store.append(new(device=device))
        except BaseException as error:  # noqa: BLE001  whatever it is, the test must tell
            faults.append(error)
        finally:
            store.close()

    writers = [threading.Thread(target=write, args=(device,)) for device in ("tablet", "phone")]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    assert faults == []
    assert [entry.seq for entry in store.entries_after("c1")] == list(range(1, 52))
    store.note_heads(["c1"])
    assert store.verify("c1").outcome == "intact"


_WRITER = """
import sys, uuid
from datetime import UTC, datetime
from pathlib import Path
from lungeline.record import Draft
from lungeline.record.store.opening import open_store

path, url, key, device = sys.argv[1:]
store = open_store(Path(path), url=url or None, key_file=Path(key))
for _ in range(20):
    now = datetime.now(UTC)
    body = {"map_mmhg": 70}
    sent = dict(uid=str(uuid.uuid4()), case="c1", kind="reading", event_time=now, author="A", device=device)
    store.append(Draft(**sent, body=body))
"""


@pytest.mark.usefixtures("opened")
def test_three_programs_on_one_case_lose_nothing(place: Place, store: Store) -> None:
    words = [str(store.folder.path), place.url or "", str(place.key_file)]
    programs = [
        subprocess.Popen([sys.executable, "-c", _WRITER, *words, device], stderr=subprocess.PIPE, text=True)
        for device in ("one", "two", "three")
    ]
    said = [program.communicate(timeout=60)[1] for program in programs]
    assert [program.returncode for program in programs] == [0, 0, 0], said
    entries = store.entries_after("c1")
    assert [entry.seq for entry in entries] == list(range(1, 62))
    for device in ("one", "two", "three"):
        assert [it.device_seq for it in entries if it.device == device] == list(range(1, 21))
    store.note_heads(["c1"])
    assert store.verify("c1").outcome == "intact"


def test_while_one_program_holds_the_lock_another_waits_and_then_says_who(
    place: Place, store: Store, new: New
) -> None:
    hasty = place.open(wait_s=0.05)
    with store.lock.taken(), pytest.raises(StoreError, match="locked by process"):
        hasty.append(new("opening", OPENING))
    assert hasty.append(new("opening", OPENING)).seq == 1


# --- migrations ---------------------------------------------------------------------------------------


VERSIONS = sorted(file.stem for file in Path(migrations.__path__[0]).glob("0*.py"))


@pytest.mark.parametrize("version", VERSIONS)
def test_migrations_run_twice_harmlessly_and_from_every_version_with_data(
    place: Place, new: New, version: str
) -> None:
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(opening, "bring_up_to_date", lambda alias: bring_up_to_date(alias, version))
        old = place.open()
    before = [old.append(new("opening", OPENING)), old.append(new(author="שרה 🐴"))]
    old.note_heads(["c1"])
    old.close()
    for _ in range(2):
        there = place.open()
        assert there.entries_after("c1") == before
        assert there.verify("c1").outcome == "intact"
        for statement in ("UPDATE record_entry SET kind = kind", "DELETE FROM record_entry"):
            with pytest.raises(DatabaseRefusal):
                raw(there, statement)
        there.close()
    assert there.append(new()).seq == 3


def test_the_first_version_had_no_guards_so_that_the_migration_is_what_sets_them(
    place: Place, new: New
) -> None:
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(opening, "bring_up_to_date", lambda alias: bring_up_to_date(alias, VERSIONS[0]))
        old = place.open()
    old.append(new("opening", OPENING))
    raw(old, "UPDATE record_entry SET kind = kind")


def test_the_models_say_what_the_migrations_made(store: Store) -> None:
    from django.core.management import call_command

    assert store.alias
    call_command("makemigrations", check=True, dry_run=True, verbosity=0)


def test_only_the_store_knows_a_database() -> None:
    script = "import sys, lungeline.record; sys.exit(any(m.split('.')[0] == 'django' for m in sys.modules))"
    assert subprocess.run([sys.executable, "-c", script], check=False).returncode == 0
