"""What is assumed: complete, checked, and changeable."""

import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from lungeline.errors import InputError, MissingError
from lungeline.explain.assumed import NO_FAULT, NONE_OF_THESE, assumed, assumed_from_tables, load_assumed
from lungeline.explain.channel import channels
from lungeline.simulate.faults import FAULTS
from lungeline.words import wordings

TEXT = files("lungeline.explain").joinpath("assumed.toml").read_text(encoding="utf-8")


def tables() -> dict[str, Any]:
    return tomllib.loads(TEXT)


def test_the_file_says_that_it_is_assumed() -> None:
    assert TEXT.startswith("# ASSUMED")


def test_every_fault_of_the_register_is_a_cause() -> None:
    assert set(assumed().causes) == {*FAULTS, NO_FAULT, NONE_OF_THESE}


def test_every_reading_has_its_wander_bias_and_size() -> None:
    keys = {name.partition("@")[0] for name in channels()}
    assert keys == set(assumed().wander)
    assert keys == set(assumed().unlisted)
    assert set(assumed().bias) <= keys


def test_every_cause_and_test_is_worded() -> None:
    wanted = {f"cause_{code}" for code in assumed().causes} | {f"test_{code}" for code in assumed().tests}
    assert wanted <= wordings().keys()


def test_what_excludes_a_cause_is_an_answer_or_an_observation_there_is() -> None:
    it = assumed()
    for cause in it.causes.values():
        for name in cause.excluded_by:
            test, _, answer = name.partition(":")
            known = it.tests[test].answers if answer else it.observations
            assert (answer or test) in known, (cause.code, name)


def test_what_leaves_no_room_for_a_cause_also_excludes_it() -> None:
    it = assumed()
    for cause in it.causes.values():
        assert set(cause.impossible_with) <= set(cause.excluded_by) & it.observations.keys()


def test_every_lethal_cause_can_be_excluded() -> None:
    assert [it.code for it in assumed().causes.values() if it.lethal and not it.excluded_by] == []


def test_tests_name_causes_there_are() -> None:
    named = {cause for test in assumed().tests.values() for cause in test.given}
    assert named <= set(FAULTS)


def broken(tables: dict[str, Any], *path: str, to: object) -> dict[str, Any]:
    at = tables
    for name in path[:-1]:
        at = at[name]
    at[path[-1]] = to
    return tables


@pytest.mark.parametrize(
    ("path", "to"),
    [
        (("causes", "circuit_leak", "weight"), 0.0),
        (("causes", "no_such_cause"), {"weight": 1.0, "action": "nothing"}),
        (("wander", "map_mmhg"), -1.0),
        (("tests", "feel_pulse", "usual"), [0.5, 0.5]),
        (("tests", "feel_pulse", "usual"), [0.5, 0.5, 0.5]),
        (("tests", "feel_pulse", "usual"), [0.5, 0.5, 0.0]),
        (("tests", "feel_pulse", "answers"), []),
        (("tests", "feel_pulse", "reads"), ["map_mmhg"]),
        (("causes",), {"circuit_leak": 3}),
    ],
)
def test_what_cannot_be_is_refused(path: tuple[str, ...], to: object) -> None:
    with pytest.raises(InputError):
        assumed_from_tables(broken(tables(), *path, to=to))


def test_another_file_can_be_taken(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text(TEXT.replace("map_mmhg = 3.0", "map_mmhg = 4.5", 1), encoding="utf-8")
    assert load_assumed(file).wander["map_mmhg"] == 4.5
    with pytest.raises(MissingError):
        load_assumed(tmp_path / "none.toml")
    file.write_text("[wander", encoding="utf-8")
    with pytest.raises(InputError):
        load_assumed(file)
