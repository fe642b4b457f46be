"""The list of a guided check, as data a clinic may change; and whether an answer passes a step of it."""

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal, get_args

from lungeline.case.checks import check_record
from lungeline.case.fields import choice, text
from lungeline.errors import InputError, UnknownNameError
from lungeline.units import unit_of

Kind = Literal["tick", "number", "ratio", "leak", "outcome"]
Form = Literal["full", "short", "after"]
Fails = Literal["stop", "caution"]
Means = Literal["pass", "caution", "fail"]
_NUMBERS_WANTED = {"tick": 0, "number": 1, "ratio": 2, "leak": 1, "outcome": 0}
_LONG, _SHORT = 600, 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """One way a machine's own test can end: its word and its sound, and what they mean."""

    key: str = field(metadata=text(_SHORT, "key"))
    means: Means = field(metadata=choice(get_args(Means), "what it means"))
    word: str = field(default="", metadata=text(_LONG, "word"))
    sound: str = field(default="", metadata=text(_LONG, "sound"))

    def __post_init__(self) -> None:
        """Refuse what cannot be read."""
        check_record(self, "checklist.steps.outcomes")


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step: what to do, by what it passes, where that comes from, what failing means and what then.

    numbers: names, each with its unit, of what is read; least, most: between which the number must lie.
    forms: full, short (between cases), after (use). species: for which it holds, every one where empty.
    """

    key: str = field(metadata=text(_SHORT, "key"))
    title: str = field(metadata=text(_SHORT, "title"))
    do: str = field(metadata=text(_LONG, "what to do"))
    passes: str = field(metadata=text(_LONG, "when it passes"))
    source: str = field(metadata=text(_LONG, "where that comes from"))
    kind: Kind = field(metadata=choice(get_args(Kind), "kind of step"))
    fails: Fails = field(metadata=choice(get_args(Fails), "what failing means"))
    fix: str = field(metadata=text(_LONG, "what to do then"))
    forms: tuple[Form, ...] = ("full",)
    numbers: tuple[str, ...] = ()
    least: float | None = None
    most: float | None = None
    outcomes: tuple[Outcome, ...] = ()
    species: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a step that could not be judged."""
        check_record(self, "checklist.steps")
        where = f"checklist.steps.{self.key}"
        if len(self.numbers) != _NUMBERS_WANTED[self.kind] or not all(map(unit_of, self.numbers)):
            raise InputError(
                where=f"{where}.numbers",
                given=list(self.numbers),
                allowed=f"{_NUMBERS_WANTED[self.kind]} names, each ending in its unit, for a {self.kind}",
                do="Name what is read, such as leak_ml_min.",
            )
        if self.kind in {"number", "ratio"} and self.least is None and self.most is None:
            raise InputError(where=where, given="no limit", allowed="least, most or both", do="Give a limit.")
        if (self.kind == "outcome") != bool(self.outcomes):
            raise InputError(
                where=f"{where}.outcomes",
                given=len(self.outcomes),
                allowed="outcomes where the kind is outcome, and only there",
                do="Give each outcome its table.",
            )

    @property
    def limits_text(self) -> str:
        """The limits a number is judged by, in words."""
        unit = unit_of(self.numbers[0]) if self.numbers and self.kind == "number" else None
        label = f" {unit.label}" if unit and unit.label not in {"1", "multiple"} else ""
        low = f"at least {self.least:.4g}{label}" if self.least is not None else ""
        high = f"at most {self.most:.4g}{label}" if self.most is not None else ""
        return " and ".join(filter(None, (low, high)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Notice:
    """What a machine says that is normal from one step until another, and means a fault at any other time."""

    key: str = field(metadata=text(_SHORT, "key"))
    says: str = field(metadata=text(_LONG, "what it says"))
    normal_from: str = field(metadata=text(_SHORT, "first step at which it is normal"))
    normal_until: str = field(metadata=text(_SHORT, "step from which it is a fault"))
    else_means: str = field(metadata=text(_LONG, "what it means at another time"))

    def __post_init__(self) -> None:
        """Refuse what cannot be read."""
        check_record(self, "checklist.notices")


@dataclass(frozen=True, slots=True, kw_only=True)
class Checklist:
    """All steps in their order, with the notices to expect. `stamp` names exactly this wording."""

    name: str
    version: str
    steps: tuple[Step, ...]
    notices: tuple[Notice, ...] = ()
    content: Mapping[str, Any] = field(default_factory=dict, compare=False, repr=False)

    @property
    def stamp(self) -> str:
        """Name, version and a hash of every word, so that a stored check tells by what it was made."""
        # 30 and 30.0 are one number, whoever wrote the list down in between
        words = json.dumps(_whole(self.content), sort_keys=True, ensure_ascii=False)
        return f"{self.name} {self.version} {hashlib.sha256(words.encode()).hexdigest()[:12]}"

    def form(self, form: Form, species: str = "") -> tuple[Step, ...]:
        """Return the steps of a form, for a species; all animals' where none is named."""
        return tuple(
            step
            for step in self.steps
            if form in step.forms and (not species or not step.species or species in step.species)
        )

    def step(self, key: str) -> Step:
        """Return one step. Raises UnknownNameError with the nearest key."""
        found = {step.key: step for step in self.steps}
        if key not in found:
            raise UnknownNameError.nearest(where="checklist step", given=key, valid=found)
        return found[key]

    def notice(self, key: str) -> Notice:
        """Return one thing a machine may say. Raises UnknownNameError with the nearest key."""
        found = {item.key: item for item in self.notices}
        if key not in found:
            raise UnknownNameError.nearest(where="checklist notice", given=key, valid=found)
        return found[key]

    def notice_is_normal(self, notice: str, at_step: str) -> bool:
        """Whether what a machine says is to be expected at this step."""
        order, found = [step.key for step in self.steps], self.notice(notice)
        first, last = order.index(found.normal_from), order.index(found.normal_until)
        return first <= order.index(self.step(at_step).key) < last

    def normal_at(self, step: str) -> tuple[Notice, ...]:
        """Return what a machine may say at a step without anything being wrong."""
        return tuple(notice for notice in self.notices if self.notice_is_normal(notice.key, step))

    def faults(self, notices: Iterable[str], at_step: str) -> tuple[Notice, ...]:
        """Return, of what a machine said at a step, what is a fault there."""
        return tuple(self.notice(key) for key in notices if not self.notice_is_normal(key, at_step))


def _whole(content: Any) -> Any:  # noqa: ANN401  whatever a TOML file may hold
    """Return content with whole numbers as such."""
    if isinstance(content, Mapping):
        return {key: _whole(value) for key, value in content.items()}
    if isinstance(content, list | tuple):
        return [_whole(value) for value in content]
    return int(content) if isinstance(content, float) and content.is_integer() else content
