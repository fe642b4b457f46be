"""Who may do what: people, their roles and rights, the devices they share, and their PINs.

Anybody may record under a name without having signed in: an emergency does not wait. Signing wants more.
"""

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

from lungeline.case.checks import check_record, checked_table
from lungeline.case.fields import choice, described, switch, text
from lungeline.errors import InputError, MissingError, RecordError

Right = Literal["view", "record", "sign", "teach", "administer"]
Role = Literal["observer", "student", "recorder", "anaesthetist", "veterinarian", "teacher", "administrator"]
FILE = "people.toml"
RIGHTS: Mapping[Role, frozenset[Right]] = {
    "observer": frozenset({"view"}),
    "student": frozenset({"view", "record"}),
    "recorder": frozenset({"view", "record"}),
    "anaesthetist": frozenset({"view", "record", "sign"}),
    "veterinarian": frozenset({"view", "record", "sign"}),
    "teacher": frozenset({"view", "record", "sign", "teach"}),
    "administrator": frozenset({"view", "record", "administer"}),
}
NEEDS: Mapping[str, Right] = {
    "list": "view",
    "show": "view",
    "verify": "view",
    "export": "view",
    "new": "record",
    "enter": "record",
    "correct": "record",
    "strike": "record",
    "backup": "record",
    "sign": "sign",
    "restore": "administer",
    "people": "administer",
}
_LEAST_DIGITS = 4  # on a device in the same room, where wrong guesses wait; assumption
_LINE = 200
_ANYBODY: frozenset[Right] = frozenset({"view", "record"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Pin:
    """A PIN as it may be kept: salted and hashed slowly (Argon2id, RFC 9106).

    hashed: by the scheme's own way of writing; reading it gives nothing but time to guess.
    """

    hashed: str = field(repr=False)

    def fits(self, typed: str) -> bool:
        """Whether this is the PIN."""
        from argon2 import PasswordHasher
        from argon2.exceptions import InvalidHashError, VerificationError

        try:
            return PasswordHasher().verify(self.hashed, typed)
        except (VerificationError, InvalidHashError):
            return False

    def written(self) -> str:
        """Return it as a line of the people's file."""
        return self.hashed


def new_pin(typed: str) -> Pin:
    """Return a PIN to keep, of at least four digits."""
    from argon2 import PasswordHasher

    if not typed.isdecimal() or len(typed) < _LEAST_DIGITS:
        raise InputError(
            where="pin",
            given=f"{len(typed)} characters",
            allowed=f"{_LEAST_DIGITS} digits or more",
            do="Choose another.",
        )
    return Pin(hashed=PasswordHasher().hash(typed))


def read_pin(line: str) -> Pin:
    """Return the PIN of a line of the people's file."""
    from argon2 import extract_parameters
    from argon2.exceptions import InvalidHashError

    try:
        extract_parameters(line)
    except InvalidHashError:
        # what stands there may be a PIN in clear, and is not repeated
        raise InputError(
            where="people.pin",
            given="…",
            allowed="what case people pin writes",
            do="Take the line out, and set the PIN anew.",
        ) from None
    return Pin(hashed=line)


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Somebody with a name.

    retired: no longer there; what they entered keeps its author and role. listed: whether the people's
    file names them.
    """

    name: str = field(metadata=text(_LINE, "name"))
    role: Role = field(default="recorder", metadata=choice(tuple(RIGHTS), "role"))
    retired: bool = field(default=False, metadata=switch("no longer there"))
    pin: Pin | None = None
    listed: bool = True

    def __post_init__(self) -> None:
        """Refuse a role that is none."""
        check_record(self, "people")

    @property
    def rights(self) -> frozenset[Right]:
        """What the role allows; of somebody retired, no more than of anybody who is not listed."""
        return RIGHTS[self.role] & _ANYBODY if self.retired else RIGHTS[self.role]


@dataclass(frozen=True, slots=True, kw_only=True)
class Device:
    """What is entered on. shared: nobody's own, so that only those who have a PIN can sign on it."""

    name: str = field(metadata=text(_LINE, "name"))
    shared: bool = field(default=True, metadata=switch("used by several people"))

    def __post_init__(self) -> None:
        """Refuse a name that is none."""
        check_record(self, "devices")


def read_people(path: Path) -> tuple[Person, ...]:
    """Return the people of a file, nobody where there is none."""
    return tuple(_person(row) for row in _tables(path, "people"))


def read_devices(path: Path) -> tuple[Device, ...]:
    """Return the devices of a people's file."""
    return tuple(
        Device(**checked_table(described(Device), row, "devices")) for row in _tables(path, "devices")
    )


def _tables(path: Path, name: str) -> Sequence[Mapping[str, Any]]:
    try:
        rows = tomllib.loads(path.read_text(encoding="utf-8-sig")).get(name, [])
    except FileNotFoundError:
        return ()
    except (OSError, ValueError) as error:
        raise _unreadable(path, str(error)) from None
    if not isinstance(rows, list) or not all(isinstance(row, Mapping) for row in rows):
        raise _unreadable(path, f"{name} as a single table or value")
    return rows


def _unreadable(path: Path, given: str) -> InputError:
    return InputError(
        where=str(path),
        given=given,
        allowed="[[people]] with name, role, perhaps pin and retired; [[devices]] with name and shared",
        do="Correct the file.",
    )


def _person(row: Mapping[str, Any]) -> Person:
    unknown = row.keys() - {*described(Person), "pin"}
    if unknown or "name" not in row or "role" not in row:
        raise InputError(
            where="people",
            given=", ".join(row),
            allowed="name, role, and perhaps pin and retired",
            do="Correct the file.",
        )
    pin = read_pin(str(row["pin"])) if "pin" in row else None
    return Person(name=row["name"], role=row["role"], retired=row.get("retired", False), pin=pin)


def same_person(one: str, other: str) -> bool:
    """Whether two names are the same but for case and spaces."""
    return " ".join(one.split()).casefold() == " ".join(other.split()).casefold()


def person_named(name: str, people: Sequence[Person]) -> Person:
    """Return who has a name: as listed; where nobody is listed at all, anybody may sign with their name."""
    if not name.strip():
        raise MissingError(where="name", given="nothing", allowed="the name of a person", do="Say who it is.")
    found = next((person for person in people if same_person(person.name, name)), None)
    role: Role = "recorder" if people else "anaesthetist"
    return found or Person(name=name.strip(), role=role, listed=False)


def check_right(person: Person, command: str) -> None:
    """Refuse a command that a person's role does not allow."""
    if NEEDS[command] not in person.rights:
        allowing = ", ".join(role for role, rights in RIGHTS.items() if NEEDS[command] in rights)
        raise RecordError(
            where=f"case {command}",
            given=f"{person.name}, {person.role}",
            allowed=allowing,
            do="Ask one of these to do it.",
        )


def check_pin(person: Person, typed: str | None, device: str = "", devices: Sequence[Device] = ()) -> None:
    """Refuse somebody who has a PIN and did not type it, or has none and sits at a shared device."""
    if person.pin is None and any(it.shared and it.name == device for it in devices):
        raise RecordError(
            where="pin",
            given=f"{person.name}, who has none",
            allowed=f"people with a PIN on {device}, which several share",
            do="Sign on a device of your own, or have a PIN set.",
        )
    if person.pin is not None and (typed is None or not person.pin.fits(typed)):
        raise RecordError(
            where="pin",
            given="nothing" if not typed else "another",
            allowed=f"the PIN of {person.name}",
            do="Type it again.",
        )
