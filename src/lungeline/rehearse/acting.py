"""What a learner can do: set, do by hand, look, mend, give, say. Its effects are in deeds.toml."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any, Literal

from lungeline.case.checks import checked_table, checked_value
from lungeline.case.fields import described
from lungeline.case.manoeuvre import MANOEUVRES
from lungeline.case.settings import Settings
from lungeline.errors import InputError, MissingError, UnknownNameError

Sort = Literal["set", "manoeuvre", "look", "mend", "give", "say"]
_FILE = Path(__file__).with_name("deeds.toml")


@dataclass(frozen=True, slots=True, kw_only=True)
class Deed:
    """One thing a learner can do.

    takes_s: from beginning it to its effect. clears: faults it ends. eases: faults it makes milder, to this
    part of their severity, over `over_s`. shows: what is found where a fault is present, by its code;
    otherwise: what is found where none of these is. sets: settings it changes.
    source: where its effect comes from, or that it is a teaching simplification.
    """

    code: str
    label: str
    sort: Sort
    takes_s: float = 0.0
    clears: tuple[str, ...] = ()
    eases: Mapping[str, float] = field(default_factory=dict)
    over_s: float = 0.0
    shows: Mapping[str, str] = field(default_factory=dict)
    otherwise: str = ""
    sets: Mapping[str, Any] = field(default_factory=dict)
    source: str = ""

    def check(self, given: Mapping[str, Any]) -> dict[str, Any]:
        """Return what is given with it as it is used, or raise InputError."""
        if self.sort == "set":
            return _checked_settings(given)
        if self.sort == "manoeuvre":
            record = MANOEUVRES[self.code]
            return checked_table(described(record), given, f"deed {self.code}")
        unknown = set(given) - {"text", "drug", "amount_mg", "cause"}
        if unknown:
            raise UnknownNameError.nearest(
                where=f"deed {self.code}", given=min(unknown), valid=("text", "drug", "amount_mg", "cause")
            )
        return dict(given)


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """A deed that was done: when [s since the learner took over], what, with what, and what it showed."""

    at_s: float
    deed: str
    given: Mapping[str, Any] = field(default_factory=dict)
    shown: str = ""


@cache
def deeds() -> Mapping[str, Deed]:
    """Return everything a learner can do, by code."""
    tables = tomllib.loads(_FILE.read_text(encoding="utf-8"))
    known = {code: Deed(code=code, **_frozen(table)) for code, table in tables.items()}
    for kind in MANOEUVRES:
        known[kind] = Deed(code=kind, label=kind, sort="manoeuvre")
    known["set"] = Deed(code="set", label="set on the ventilator", sort="set")
    return known


def deed_named(code: str) -> Deed:
    """Return a deed by its code; UnknownNameError with the nearest."""
    if code not in deeds():
        raise UnknownNameError.nearest(where="deed", given=code, valid=deeds())
    return deeds()[code]


def _frozen(table: Mapping[str, Any]) -> dict[str, Any]:
    return {key: tuple(value) if isinstance(value, list) else value for key, value in table.items()}


def _checked_settings(given: Mapping[str, Any]) -> dict[str, Any]:
    docs = described(Settings)
    if not given:
        raise MissingError(where="set", given="nothing", allowed=", ".join(docs), do="Give one setting.")
    for key in given:
        if key not in docs:
            raise UnknownNameError.nearest(where="set", given=key, valid=docs)
    if any(value is None for value in given.values()):
        raise InputError(where="set", given="nothing", allowed="a value", do="Give the value to set.")
    return {key: checked_value(docs[key], value, f"set.{key}") for key, value in given.items()}
