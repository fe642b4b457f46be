"""Who has shown which skill, signed off by a teacher: a file of lines to which lines are only added.

It belongs to the people in it. There is no list by result; a view of the group names nobody, and of few
people there is none.
"""

import json
import os
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, get_args

from lungeline.errors import InputError, RecordError, StoreError, UnknownNameError
from lungeline.rehearse.scenario import Skill
from lungeline.theatre.kept_rehearsals import known_scenario
from lungeline.theatre.people import FILE as PEOPLE
from lungeline.theatre.people import RIGHTS, Person, check_pin, person_named, read_people, same_person

FILE = "competence.jsonl"
SKILLS: tuple[str, ...] = get_args(Skill)
FEWEST_SHOWN = 5  # people: of fewer, each could be told; as statistics offices do, from memory
_OWNER_ONLY = 0o600
# where a system would turn ends of lines into others, it must not
_ADDING = os.O_RDWR | os.O_APPEND | os.O_CREAT | getattr(os, "O_BINARY", 0)
_LONGEST_NAME, _LONGEST_NOTE = 200, 2000


@dataclass(frozen=True, slots=True, kw_only=True)
class SignOff:
    """One line: who, which skill, in which scenario, whether it was shown, when, who says so, a note."""

    person: str
    skill: str
    scenario: str
    passed: bool
    at: str
    assessor: str
    note: str = ""

    def as_json(self) -> dict[str, Any]:
        """Return it as a plain object."""
        return asdict(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class SkillShare:
    """How many people were looked at in a skill, and how many have shown it; None where too few to tell."""

    skill: str
    people: int | None
    shown: int | None

    def as_json(self) -> dict[str, Any]:
        """Return it as a plain object."""
        return asdict(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class Competence:
    """The sign-offs of a data folder."""

    folder: Path

    def sign_off(  # noqa: PLR0913  what a line consists of
        self,
        *,
        person: str,
        skill: str,
        scenario: str,
        passed: bool,
        assessor: str,
        pin: str | None,
        at: datetime,
        note: str = "",
    ) -> SignOff:
        """Add a line, once it is on disk. Raises RecordError unless the assessor may teach and typed the PIN.

        scenario: name of one of the program's, a file of one's own, or empty where it was shown at work.
        """
        if skill not in SKILLS:
            raise UnknownNameError.nearest(where="skill", given=skill, valid=SKILLS)
        people = read_people(self.folder / PEOPLE)
        teacher = person_named(assessor, people)
        _check_teacher(teacher, pin)
        learner = _learner(person, people, teacher)
        kept = SignOff(
            person=learner,
            skill=skill,
            scenario=known_scenario(self.folder, scenario).name if scenario else "",
            passed=passed,
            at=at.isoformat(timespec="seconds"),
            assessor=teacher.name,
            note=_short("note", note, _LONGEST_NOTE),
        )
        _append(self.folder / FILE, kept)
        return kept

    def of(self, person: str) -> tuple[SignOff, ...]:
        """Return the lines of one person, oldest first."""
        return tuple(it for it in self.lines() if same_person(it.person, person))

    def standing(self, person: str) -> dict[str, SignOff]:
        """Return by skill the last word on one person."""
        return {it.skill: it for it in self.of(person)}

    def lines(self) -> tuple[SignOff, ...]:
        """Return every line, oldest first. One that was cut off when the power failed is left out."""
        return tuple(_read(self.folder / FILE))

    def group(self) -> tuple[SkillShare, ...]:
        """Return the group without names: by skill, or nothing told where fewer than five were looked at."""
        last = {(it.skill, " ".join(it.person.split()).casefold()): it.passed for it in self.lines()}
        found = []
        for skill in SKILLS:
            passed = [value for (name, _), value in last.items() if name == skill]
            enough = len(passed) >= FEWEST_SHOWN
            found.append(
                SkillShare(
                    skill=skill,
                    people=len(passed) if enough else None,
                    shown=sum(passed) if enough else None,
                )
            )
        return tuple(found)


def _check_teacher(teacher: Person, pin: str | None) -> None:
    if "teach" not in teacher.rights:
        raise RecordError(
            where="sign-off",
            given=f"{teacher.name}, {teacher.role}",
            allowed=", ".join(role for role, rights in RIGHTS.items() if "teach" in rights),
            do="Ask one of these to look and to sign off.",
        )
    if teacher.pin is None:
        raise RecordError(
            where="pin",
            given=f"{teacher.name}, who has none",
            allowed="a teacher with a PIN",
            do="Set one: lungeline case people.",
        )
    check_pin(teacher, pin)


def _learner(person: str, people: Sequence[Person], teacher: Person) -> str:
    """Return the learner's name, as listed where it is."""
    learner = person_named(_short("person", person, _LONGEST_NAME), people).name
    if same_person(learner, teacher.name):
        raise RecordError(
            where="sign-off", given=f"{teacher.name} for {learner}", allowed="somebody else's skill",
            do="Have another teacher look.",
        )  # fmt: skip
    return " ".join(learner.split())


def _short(where: str, text: str, most: int) -> str:
    if len(text) > most:
        raise InputError(
            where=where, given=f"{len(text)} characters", allowed=f"at most {most}", do="Say it shorter."
        )
    return text.strip()


def _append(path: Path, kept: SignOff) -> None:
    """Write a line behind the others and wait until it is on disk; a line cut off before stays alone."""
    line = json.dumps(kept.as_json(), ensure_ascii=False) + "\n"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle = os.open(path, _ADDING, _OWNER_ONLY)
        try:
            size = os.fstat(handle).st_size
            cut_off = size > 0 and _byte_at(handle, size - 1) != b"\n"
            content = (b"\n" if cut_off else b"") + line.encode()
            if os.write(handle, content) != len(content):
                raise OSError(0, "the place is full")
            os.fsync(handle)
        finally:
            os.close(handle)
    except OSError as error:
        raise StoreError(
            where=str(path), given=error.strerror or "an error", allowed="a folder one may write to",
            do="Make room or mend its rights; nothing was signed off.",
        ) from None  # fmt: skip


def _byte_at(handle: int, place: int) -> bytes:
    os.lseek(handle, place, os.SEEK_SET)
    return os.read(handle, 1)


def _read(path: Path) -> Iterator[SignOff]:
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        return
    except OSError as error:
        raise StoreError(
            where=str(path),
            given=error.strerror or "an error",
            allowed="a readable file",
            do="Mend its rights.",
        ) from None
    for line in content.split(b"\n"):
        try:
            yield SignOff(**json.loads(line))
        except (ValueError, TypeError):
            continue
