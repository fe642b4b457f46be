"""Who may do what, and how a PIN is kept."""

from pathlib import Path

import pytest

from lungeline.errors import InputError, LungelineError, MissingError, RecordError
from lungeline.theatre.people import (
    NEEDS,
    RIGHTS,
    Device,
    Person,
    check_pin,
    check_right,
    new_pin,
    person_named,
    read_devices,
    read_people,
    read_pin,
)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "people.toml"
    path.write_text(
        '[[people]]\nname = "A. Vet"\nrole = "veterinarian"\n'
        f'pin = "{new_pin("4711").written()}"\n'
        '[[people]]\nname = "S. Learner"\nrole = "student"\n'
        '[[devices]]\nname = "theatre-1"\n',
        encoding="utf-8",
    )
    return path


def test_every_command_needs_a_right_that_somebody_has() -> None:
    assert set(NEEDS.values()) <= frozenset().union(*RIGHTS.values())


def test_a_file_names_people_and_shared_devices(file: Path) -> None:
    people = read_people(file)
    assert [(it.name, it.role, it.listed) for it in people] == [
        ("A. Vet", "veterinarian", True),
        ("S. Learner", "student", True),
    ]
    assert read_devices(file) == (Device(name="theatre-1", shared=True),)
    assert person_named(" A.  VET ", people).role == "veterinarian"


def test_without_a_file_anybody_may_record_and_sign_by_name(tmp_path: Path) -> None:
    people = read_people(tmp_path / "none.toml")
    somebody = person_named("B. Vet", people)
    check_right(somebody, "sign")
    assert not somebody.listed
    with pytest.raises(MissingError):
        person_named("  ", people)


@pytest.mark.parametrize(
    ("name", "command", "allowed"),
    [
        ("A. Vet", "sign", True),
        ("S. Learner", "enter", True),
        ("S. Learner", "sign", False),
        ("Somebody Else", "enter", True),  # an emergency does not wait for a list
        ("Somebody Else", "sign", False),
        ("A. Vet", "restore", False),
    ],
)
def test_rights_follow_the_role(file: Path, name: str, command: str, allowed: bool) -> None:  # noqa: FBT001  a case of the table
    person = person_named(name, read_people(file))
    if allowed:
        check_right(person, command)
    else:
        with pytest.raises(RecordError, match=person.role):
            check_right(person, command)


def test_a_pin_is_never_kept_in_clear_and_fits_only_itself(file: Path) -> None:
    assert "4711" not in file.read_text(encoding="utf-8")
    person = read_people(file)[0]
    assert person.pin
    assert person.pin.hashed not in repr(person)
    check_pin(person, "4711")
    for typed in ("4712", "", None):
        with pytest.raises(RecordError):
            check_pin(person, typed)
    assert new_pin("4711") != new_pin("4711")  # each with its own salt


def test_on_a_shared_device_only_those_with_a_pin_sign() -> None:
    shared, own = Device(name="t"), Device(name="own", shared=False)
    person = Person(name="B. Vet", role="anaesthetist")
    check_pin(person, None, "own", [shared, own])
    with pytest.raises(RecordError, match="no"):
        check_pin(person, None, "t", [shared, own])


def test_a_pin_that_was_mangled_fits_nothing() -> None:
    assert not read_pin("$argon2id$v=19$m=65536,t=3,p=4$!$!").fits("4711")


@pytest.mark.parametrize("typed", ["123", "abcd", "", "12 34"])
def test_a_weak_pin_is_refused_without_being_repeated(typed: str) -> None:
    with pytest.raises(InputError) as refused:
        new_pin(typed)
    assert not typed or typed not in str(refused.value)


def test_a_pin_in_clear_is_refused_without_being_repeated() -> None:
    for line in ("4711", "$argon2id$4711", "md5:YQ==:YQ=="):
        with pytest.raises(InputError) as refused:
            read_pin(line)
        assert "4711" not in str(refused.value)


@pytest.mark.parametrize(
    "text",
    [
        "people = 3",
        "[people]\nname = 'A'",
        "[[people]]\nname = 'A'",
        "[[people]]\nname = 'A'\nrole = 'king'",
        "[[people]]\nname = 'A'\nrole = 'teacher'\nage = 3",
        "not toml",
        "[[devices]]\nshared = true",
    ],
)
def test_a_file_that_cannot_be_used_is_refused(tmp_path: Path, text: str) -> None:
    path = tmp_path / "people.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(LungelineError):
        _ = read_people(path), read_devices(path)
