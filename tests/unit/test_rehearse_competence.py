"""Skills signed off: by a teacher with a PIN, one line behind the other, and no list that names the best."""

import json
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path

import pytest

from lungeline.errors import RecordError, UnknownNameError
from lungeline.theatre.competence import FILE, SKILLS, Competence, SignOff
from lungeline.theatre.people_file import add_person, retire, set_pin

AT = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)
PIN = "2580"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    people = tmp_path / "people.toml"
    listed = {
        "T. Teacher": "teacher",
        "V. Vet": "veterinarian",
        "S. Student": "student",
        "N. Nopin": "teacher",
    }
    for name, role in listed.items():
        add_person(people, name, role)  # type: ignore[arg-type]  # roles as they are
    for name in ("T. Teacher", "V. Vet"):
        set_pin(people, name, PIN)
    return tmp_path


def _sign(folder: Path, **other: object) -> SignOff:
    given = {
        "person": "S. Student", "skill": "act", "scenario": "disconnection", "passed": True,
        "assessor": "T. Teacher", "pin": PIN, "at": AT, **other,
    }  # fmt: skip
    return Competence(folder=folder).sign_off(**given)  # type: ignore[arg-type]  # as a test gives them


def test_a_line_says_who_what_where_when_and_who_saw_it(folder: Path) -> None:
    _sign(folder, note="calm, asked for help")
    line = json.loads((folder / FILE).read_text(encoding="utf-8"))
    assert line == {
        "person": "S. Student", "skill": "act", "scenario": "disconnection", "passed": True,
        "at": "2026-05-04T09:00:00+00:00", "assessor": "T. Teacher", "note": "calm, asked for help",
    }  # fmt: skip


def test_lines_are_only_added_and_the_last_word_stands(folder: Path) -> None:
    first = _sign(folder, passed=False)
    before = (folder / FILE).read_bytes()
    second = _sign(folder, person="s.  student")  # the same person, typed otherwise
    assert (folder / FILE).read_bytes().startswith(before)
    competence = Competence(folder=folder)
    assert competence.of("S. Student") == (first, second)
    assert competence.standing("S. Student")["act"].passed
    assert competence.of("somebody else") == ()


@pytest.mark.parametrize(
    ("other", "told"),
    [
        ({"assessor": "V. Vet"}, "teacher"),
        ({"assessor": "nobody listed"}, "teacher"),
        ({"pin": "0000"}, "the PIN of T. Teacher"),
        ({"pin": None}, "the PIN of T. Teacher"),
        ({"assessor": "N. Nopin"}, "a teacher with a PIN"),
        ({"person": "t. teacher"}, "somebody else's skill"),
    ],
)
def test_only_a_teacher_with_the_pin_signs_off_somebody_else(
    folder: Path, other: dict[str, object], told: str
) -> None:
    with pytest.raises(RecordError) as refused:
        _sign(folder, **other)
    assert told in str(refused.value)
    assert PIN not in str(refused.value)
    assert not (folder / FILE).exists()


def test_a_teacher_who_left_signs_nothing_off(folder: Path) -> None:
    retire(folder / "people.toml", "T. Teacher")
    with pytest.raises(RecordError):
        _sign(folder)


def test_where_nobody_is_listed_nobody_signs_off(tmp_path: Path) -> None:
    with pytest.raises(RecordError):
        _sign(tmp_path)


@pytest.mark.parametrize("other", [{"skill": "actt"}, {"scenario": "disconection"}])
def test_what_is_misspelt_is_refused_with_the_nearest(folder: Path, other: dict[str, object]) -> None:
    with pytest.raises(UnknownNameError) as refused:
        _sign(folder, **other)
    assert "act" in str(refused.value) or "disconnection" in str(refused.value)


def test_a_line_cut_off_by_a_power_failure_costs_no_other(folder: Path) -> None:
    _sign(folder)
    with (folder / FILE).open("ab") as file:
        file.write(b'{"person": "S. Stud')
    _sign(folder, skill="lead")
    assert [it.skill for it in Competence(folder=folder).lines()] == ["act", "lead"]


def test_the_group_has_no_names_and_is_not_told_of_few(folder: Path) -> None:
    for number in range(4):
        _sign(folder, person=f"Learner {number}", passed=number != 0)
    assert all(it.people is None and it.shown is None for it in Competence(folder=folder).group())
    _sign(folder, person="Learner 4")
    _sign(folder, person="LEARNER 4")  # the same, once more
    shares = {it.skill: it for it in Competence(folder=folder).group()}
    assert (shares["act"].people, shares["act"].shown) == (
        5,
        4,
    )  # arithmetic: five looked at, the first not yet
    assert shares["lead"].people is None
    assert set(shares) == set(SKILLS)
    assert "Learner" not in json.dumps([it.as_json() for it in shares.values()])


def _many(folder: Path, name: str) -> None:
    for _ in range(5):
        _sign(folder, person=name)


def test_two_who_sign_off_at_once_lose_no_line(folder: Path) -> None:
    with ThreadPoolExecutor(2) as pool:  # each opens the file anew, as two programs would
        list(pool.map(lambda number: _many(folder, f"Learner {number}"), range(2)))
    assert len(Competence(folder=folder).lines()) == 10
