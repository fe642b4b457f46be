"""The people's file, changed by program: people listed, given another role or a PIN, and retired."""

import json
import os
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from lungeline.errors import ConflictError, InputError, RecordError, StoreError, UnknownNameError
from lungeline.theatre.people import (
    Device,
    Person,
    Role,
    check_pin,
    check_right,
    new_pin,
    person_named,
    read_devices,
    read_people,
    same_person,
)

_OWNER_ONLY = 0o600


def check_may_list(path: Path, author: str, pin: str | None) -> None:
    """Refuse somebody who does not administer; as long as nobody does, anybody here may list people."""
    people = read_people(path)
    if administrators(people):
        person = person_named(author, people)
        check_right(person, "people")
        check_pin(person, pin)


def administrators(people: Sequence[Person]) -> tuple[Person, ...]:
    """Return those who administer."""
    return tuple(person for person in people if "administer" in person.rights)


def add_person(path: Path, name: str, role: Role) -> Person:
    """List somebody, or somebody retired again."""
    people = read_people(path)
    person = Person(name=" ".join(name.split()), role=role)
    there = next((it for it in people if same_person(it.name, name)), None)
    if there is not None and not there.retired:
        raise ConflictError(
            where="people",
            given=f"{there.name}, who is listed as {there.role}",
            allowed="a name that is not listed",
            do="Change the role instead, or tell the two apart by their names.",
        )
    rest = [it for it in people if it is not there]
    _write(path, [*rest, person])
    return person


def change_role(path: Path, name: str, role: Role) -> Person:
    """Give somebody listed another role."""
    return _changed(path, name, role=role)


def set_pin(path: Path, name: str, typed: str) -> Person:
    """Give somebody listed a PIN, which is kept hashed alone."""
    return _changed(path, name, pin=new_pin(typed))


def retire(path: Path, name: str) -> Person:
    """Take somebody's rights and PIN. The name stays: what they entered is still theirs."""
    return _changed(path, name, retired=True, pin=None)


def _changed(path: Path, name: str, **changes: object) -> Person:
    people = read_people(path)
    there = next((it for it in people if same_person(it.name, name) and not it.retired), None)
    if there is None:
        names = [it.name for it in people if not it.retired]
        raise UnknownNameError.nearest(where="people", given=name, valid=names)
    changed: Person = replace(there, **changes)  # type: ignore[arg-type]  # fields of a person, by our own callers
    after = [changed if it is there else it for it in people]
    if administrators(people) and not administrators(after):
        raise RecordError(
            where="people",
            given=f"{there.name}, the only one who administers",
            allowed="at least one administrator",
            do="List another administrator first.",
        )
    _write(path, after)
    return changed


def _write(path: Path, people: Sequence[Person]) -> None:
    devices = read_devices(path)
    part = path.with_name(f"{path.name}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        part.unlink(missing_ok=True)
        handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, _OWNER_ONLY)
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
            file.write(_text(people, devices))
            file.flush()
            os.fsync(file.fileno())
        if read_people(part) != tuple(people) or read_devices(part) != devices:
            raise InputError(
                where=str(path), given="a name", allowed="one that can be kept", do="Write it otherwise."
            )
        part.replace(path)
    except OSError as error:
        raise StoreError(
            where=str(path), given=error.strerror, allowed="a folder one may write to", do="Mend its rights."
        ) from None


def _text(people: Sequence[Person], devices: Sequence[Device]) -> str:
    lines = ["# Kept by `lungeline case people`, which writes it anew: remarks do not stay."]
    for person in people:
        lines += ["", "[[people]]", f"name = {_quoted(person.name)}", f"role = {_quoted(person.role)}"]
        lines += ["retired = true"] if person.retired else []
        lines += [f"pin = {_quoted(person.pin.written())}"] if person.pin else []
    for device in devices:
        shared = json.dumps(device.shared)
        lines += ["", "[[devices]]", f"name = {_quoted(device.name)}", f"shared = {shared}"]
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    """Return a text as TOML writes it: as JSON does, but for one control character."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
