"""The people's file, changed by program: who may, what stays, and that no PIN is ever seen."""

import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lungeline.errors import ConflictError, InputError, RecordError, UnknownNameError
from lungeline.theatre import Device, Person, read_people
from lungeline.theatre.people import check_right, person_named, read_devices
from lungeline.theatre.people_file import (
    _text,
    add_person,
    change_role,
    check_may_list,
    retire,
    set_pin,
)

PIN = "471100"


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "data" / "people.toml"
    add_person(path, "C. Admin", "administrator")
    add_person(path, "  A.  Vet ", "veterinarian")
    return path


def roles(path: Path) -> dict[str, str]:
    return {person.name: person.role for person in read_people(path)}


def test_people_are_listed_changed_and_kept_for_their_owner_only(file: Path) -> None:
    change_role(file, "a. vet", "teacher")
    assert roles(file) == {"C. Admin": "administrator", "A. Vet": "teacher"}
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    with pytest.raises(ConflictError, match="listed as teacher"):
        add_person(file, "A. VET", "student")
    with pytest.raises(UnknownNameError, match=r'"A\. Vet"'):
        change_role(file, "A. Vat", "student")
    with pytest.raises(InputError):
        add_person(file, "B. Vet", "king")  # type: ignore[arg-type]  # what a person may type
    assert roles(file) == {"C. Admin": "administrator", "A. Vet": "teacher"}
    assert [it.name for it in file.parent.iterdir()] == ["people.toml"]


def test_devices_written_by_hand_stay(file: Path) -> None:
    with file.open("a", encoding="utf-8") as text:
        text.write('[[devices]]\nname = "theatre-1"\n[[devices]]\nname = "own"\nshared = false\n')
    set_pin(file, "A. Vet", PIN)
    assert read_devices(file) == (Device(name="theatre-1"), Device(name="own", shared=False))


def test_who_retires_keeps_the_name_and_loses_rights_and_pin(file: Path) -> None:
    set_pin(file, "A. Vet", PIN)
    retire(file, "A. Vet")
    person = person_named("A. Vet", read_people(file))
    assert (person.listed, person.role, person.retired, person.pin) == (True, "veterinarian", True, None)
    check_right(person, "enter")  # an emergency does not wait
    for command in ("sign", "people"):
        with pytest.raises(RecordError):
            check_right(person, command)
    with pytest.raises(UnknownNameError):
        set_pin(file, "A. Vet", PIN)
    add_person(file, "A. Vet", "anaesthetist")  # back again
    assert [it.retired for it in read_people(file)] == [False, False]


def test_only_administrators_change_the_list_once_there_is_one(file: Path, tmp_path: Path) -> None:
    check_may_list(tmp_path / "none.toml", "Anybody", None)
    check_may_list(file, "C. Admin", None)
    for name in ("A. Vet", "Somebody"):
        with pytest.raises(RecordError, match="administrator"):
            check_may_list(file, name, None)
    set_pin(file, "C. Admin", PIN)
    with pytest.raises(RecordError, match="PIN"):
        check_may_list(file, "C. Admin", None)
    check_may_list(file, "C. Admin", PIN)


def test_the_last_administrator_stays(file: Path) -> None:
    with pytest.raises(RecordError, match="another administrator first"):
        retire(file, "C. Admin")
    with pytest.raises(RecordError, match="another administrator first"):
        change_role(file, "C. Admin", "observer")
    add_person(file, "D. Admin", "administrator")
    retire(file, "C. Admin")
    assert roles(file)["D. Admin"] == "administrator"


names = st.text(min_size=1, max_size=40).filter(lambda name: bool(name.strip()))


@given(st.lists(names, max_size=4), st.booleans())
def test_any_name_that_can_be_a_name_is_read_back_as_it_was(
    tmp_path_factory: pytest.TempPathFactory,
    given_names: list[str],
    shared: bool,  # noqa: FBT001  drawn
) -> None:
    people, devices = [], []
    for name in given_names:
        try:
            people.append(Person(name=name, role="student", retired=shared))
            devices.append(Device(name=name, shared=shared))
        except InputError:  # refused before it is written
            continue
    path = tmp_path_factory.mktemp("people") / "people.toml"
    path.write_text(_text(people, devices), encoding="utf-8", newline="\n")
    assert read_people(path) == tuple(people)
    assert read_devices(path) == tuple(devices)


def test_on_the_command_line_a_pin_is_typed_never_told_and_never_kept_in_clear(tmp_path: Path) -> None:
    known = os.environ | {
        "LUNGELINE_DATA": str(tmp_path / "data"),
        "LUNGELINE_KEY_FILE": str(tmp_path / "key"),
        "LUNGELINE_AUTHOR": "C. Admin",
    }

    def run(*words: str, typed: str = "") -> "subprocess.CompletedProcess[str]":
        command = [str(Path(sys.executable).with_name("lungeline")), "case", "people", *words]
        done = subprocess.run(command, input=typed, env=known, capture_output=True, text=True, check=False)
        assert PIN not in done.stdout + done.stderr
        return done

    assert "nobody is listed" in run().stdout
    assert run("add", "C. Admin", "--role", "administrator").returncode == 0
    assert run("pin", "C. Admin", typed=f"{PIN}\n").stdout == "C. Admin: administrator, PIN\n"
    assert run("add", "B. Vet", "--role", "veterinarian", typed="0000\n").returncode == 2
    assert run("add", "B. Vet", "--role", "veterinarian", typed=f"{PIN}\n").returncode == 0
    assert run("pin", "B. Vet", typed=f"{PIN}\n12\n").returncode == 2
    assert '"pin": false' in run("list", "--json").stdout
    assert run("retire", "B. Vet", typed=f"{PIN}\n").stdout.endswith("B. Vet: veterinarian, retired\n")
    assert run("add").returncode == 2
    for file in (tmp_path / "data").rglob("*"):
        assert PIN.encode() not in file.read_bytes()
