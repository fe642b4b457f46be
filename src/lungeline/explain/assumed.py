"""What is assumed and not known: how readings wander, how common causes are, what a look or a feel tells."""

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from lungeline.errors import InputError, MissingError
from lungeline.simulate.faults import FAULTS

NO_FAULT, NONE_OF_THESE = "no_fault", "none_of_these"
BASIS = "assumed"
_CHANCES_SUM_TO_ONE = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """One cause as explanation sees it.

    code: of the fault, or no_fault, or none_of_these; weight: how common, one against another;
    action: group of causes that share a first action; lethal: never called unlikely before one of
    `excluded_by` was observed; impossible_with: observations that leave no room for it.
    """

    code: str
    weight: float
    action: str
    lethal: bool = False
    excluded_by: tuple[str, ...] = ()
    impossible_with: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Observation:
    """Readings which together exclude a cause: each at least, or at most, this."""

    at_least: Mapping[str, float] = field(default_factory=dict)
    at_most: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class BedsideTest:
    """Something to look at, feel or measure.

    code: its name; minutes: what it costs; interrupts: whether breathing stops meanwhile.
    reads: quantities a measured test shows; answers: what a look may find otherwise.
    usual: chance of each answer; given: the same where one cause is present.
    """

    code: str
    minutes: float
    interrupts: bool
    reads: tuple[str, ...] = ()
    answers: tuple[str, ...] = ()
    usual: tuple[float, ...] = ()
    given: Mapping[str, tuple[float, ...]] = field(default_factory=dict)

    def chances(self, cause: str) -> tuple[float, ...]:
        """Return the chance of each answer where this cause is present."""
        return self.given.get(cause, self.usual)


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumed:
    """Everything assumed, of one file."""

    wander: Mapping[str, float]
    bias: Mapping[str, float]
    unlisted: Mapping[str, float]
    misfit: Mapping[str, float]
    forecast: Mapping[str, float]
    matters: Mapping[str, float]
    clears: Mapping[str, float]
    watching: Mapping[str, float]
    causes: Mapping[str, Cause]
    observations: Mapping[str, Observation]
    tests: Mapping[str, BedsideTest]


@cache
def assumed() -> Assumed:
    """Return what the project assumes."""
    text = files("lungeline.explain").joinpath("assumed.toml").read_text(encoding="utf-8")
    return assumed_from_tables(tomllib.loads(text))


def load_assumed(path: str | Path) -> Assumed:
    """Return what somebody else assumes, from a file written as `assumed.toml` is."""
    try:
        return assumed_from_tables(tomllib.loads(Path(path).read_text(encoding="utf-8")))
    except FileNotFoundError:
        do = "Check the name and the folder."
        raise MissingError(where="assumed file", given=str(path), allowed="a file", do=do) from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, OSError) as error:
        raise _refuse(where="assumed file", given=error, allowed="a TOML file in UTF-8") from error


def assumed_from_tables(tables: Mapping[str, Any]) -> Assumed:
    """Return what is assumed. Raises InputError for the first thing that cannot be."""
    try:
        found = Assumed(
            wander=dict(tables["wander"]),
            bias=dict(tables["bias"]),
            unlisted=dict(tables["unlisted"]),
            misfit=dict(tables["misfit"]),
            forecast=dict(tables["forecast"]),
            matters=dict(tables["matters"]),
            clears=dict(tables["clears"]),
            watching=dict(tables["watching"]),
            causes={code: _cause(code, each) for code, each in tables["causes"].items()},
            observations={code: Observation(**each) for code, each in tables["observations"].items()},
            tests={code: _test(code, each) for code, each in tables["tests"].items()},
        )
    except (KeyError, TypeError, AttributeError) as error:
        raise _refuse(
            where="assumed file", given=error, allowed="the tables and keys of the project's own file"
        ) from error
    _check(found)
    return found


def _cause(code: str, each: Mapping[str, Any]) -> Cause:
    lists = {name: tuple(each.get(name, ())) for name in ("excluded_by", "impossible_with")}
    return Cause(code=code, **{**each, **lists})


def _test(code: str, each: Mapping[str, Any]) -> BedsideTest:
    lists = {name: tuple(each.get(name, ())) for name in ("reads", "answers", "usual")}
    given = {cause: tuple(chances) for cause, chances in each.get("given", {}).items()}
    return BedsideTest(
        code=code, minutes=each["minutes"], interrupts=each["interrupts"], given=given, **lists
    )


def _check(found: Assumed) -> None:
    known = {NO_FAULT, NONE_OF_THESE, *FAULTS}
    for code, cause in found.causes.items():
        if code not in known:
            raise _refuse(where=f"causes.{code}", given=code, allowed=", ".join(sorted(known)))
        if not (math.isfinite(cause.weight) and cause.weight > 0.0):
            raise _refuse(where=f"causes.{code}.weight", given=cause.weight, allowed="above 0")
    for name in ("wander", "bias", "unlisted", "misfit", "forecast", "matters", "clears", "watching"):
        for key, sd in getattr(found, name).items():
            if not (math.isfinite(sd) and sd > 0.0):
                raise _refuse(where=f"{name}.{key}", given=sd, allowed="above 0")
    for test in found.tests.values():
        _check_test(test)


def _check_test(test: BedsideTest) -> None:
    if bool(test.reads) == bool(test.answers):
        raise _refuse(where=f"tests.{test.code}", given=test.reads, allowed="either reads or answers")
    for cause, chances in (("usual", test.usual), *test.given.items()):
        wrong = len(chances) != len(test.answers) or (
            test.answers and (min(chances) <= 0.0 or abs(math.fsum(chances) - 1.0) > _CHANCES_SUM_TO_ONE)
        )
        if wrong:
            allowed = "a chance above 0 for each answer, together 1"
            raise _refuse(where=f"tests.{test.code}.{cause}", given=chances, allowed=allowed)


def _refuse(where: str, given: object, allowed: str) -> InputError:
    return InputError(where=where, given=given, allowed=allowed, do="Correct the file of assumptions.")
