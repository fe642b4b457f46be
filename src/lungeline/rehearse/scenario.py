"""A scenario: an animal and its equipment, what is wrong, what happens, and what a person should do about it.

All of it is data. Times are minutes from the moment the learner takes over, unless a name says seconds.
"""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from lungeline.case import Case

Name = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]{1,59}$")]
Line = Annotated[str, Field(min_length=1, max_length=500)]
Text = Annotated[str, Field(min_length=1, max_length=5000)]
Minutes = Annotated[float, Field(ge=0, le=300)]
Part = Annotated[float, Field(ge=0, le=1)]
Skill = Literal["check", "set", "watch", "act", "wean", "lead"]


class _Record(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", strict=False, arbitrary_types_allowed=True)


class Limit(_Record):
    """A quantity of a breath above or below something."""

    key: str
    above: float | None = None
    below: float | None = None

    def holds(self, value: float | None) -> bool:
        """Whether a value is so; one that is not there is not."""
        if value is None:
            return False
        return (self.above is None or value > self.above) and (self.below is None or value < self.below)


class Happening(_Record):
    """Something that happens: at a time, some time after a deed, or once the animal has come so far.

    fault: begins with this severity (0 ends it), over so many minutes. say: what the learner is told.
    set: settings that change by another hand.
    """

    name: Name
    at_min: Minutes | None = None
    after_deed: str | None = None
    delay_s: Annotated[float, Field(ge=0, le=3600)] = 0.0
    when: Limit | None = None
    fault: str | None = None
    severity: Part = 1.0
    over_min: Minutes = 0.0
    set: dict[str, Any] = Field(default_factory=dict)
    say: str = ""


class Wanted(_Record):
    """A deed, or a setting brought to where it should be."""

    deed: str
    key: str | None = None
    at_least: float | None = None
    at_most: float | None = None
    value: str | None = None


class Critical(_Record):
    """What must be done, must not be done, or must hold.

    any_of: deeds of which one will do. within_s: of `after`, the name of a happening, or of the beginning.
    never: deeds that must not be done, at all or before one of `before`.
    holds: must be so of every breath from `after` on; `at_end`: of the last one alone.
    """

    code: Name
    says: Line
    any_of: tuple[Wanted, ...] = ()
    after: str | None = None
    within_s: Annotated[float, Field(gt=0, le=20000)] | None = None
    never: tuple[Wanted, ...] = ()
    before: tuple[Wanted, ...] = ()
    holds: Limit | None = None
    at_end: bool = False


class Teaching(_Record):
    """A point to take home, and where it comes from."""

    says: Text
    source: Line


class Eases(_Record):
    """What a deed does in this scenario besides its usual effect: to a fault's severity, over a time."""

    deed: str
    fault: str
    to_fraction: Part = 0.0
    over_s: Annotated[float, Field(ge=0, le=3600)] = 0.0
    say: str = ""


class Step(_Record):
    """A line of a script: when, what, with what. deed and what it takes, as in a script's file."""

    at_s: Annotated[float, Field(ge=0, le=20000)]
    deed: str
    with_: dict[str, Any] = Field(default_factory=dict, alias="with")


class Wrong(_Record):
    """What tempts, and why it is wrong."""

    why: Line
    script: tuple[Step, ...]


class Replayed(_Record):
    """How far the animal of a scenario made of a case is from what was read there.

    rms: root of the mean square of what lies between, in the unit of the key; usual_rms: the same of the
    usual animal, not fitted.
    """

    key: str
    rms: Annotated[float, Field(ge=0)]
    usual_rms: Annotated[float, Field(ge=0)]
    readings: Annotated[int, Field(ge=1)]


class Scenario(_Record):
    """A scenario as its file has it; `case` is read like any case file.

    own_animal: numbers of this animal, as multiples of the usual one. replayed: of a scenario made of a case.
    """

    name: Name
    title: Line
    objective: Line
    number: Annotated[int, Field(ge=1, le=999)]
    minutes: Annotated[float, Field(gt=0, le=240)]
    settle_min: Minutes = 5.0
    seed: Annotated[int, Field(ge=0)] = 1
    story: Text
    hidden_instruments: tuple[str, ...] = ()
    cause: str = ""
    case: Case
    happenings: tuple[Happening, ...] = ()
    eases: tuple[Eases, ...] = ()
    critical: Annotated[tuple[Critical, ...], Field(min_length=1)]
    treats: tuple[Wanted, ...] = ()
    teaching: Annotated[tuple[Teaching, ...], Field(min_length=1)]
    model_answer: Annotated[tuple[Step, ...], Field(min_length=1)]
    wrong: Annotated[tuple[Wrong, ...], Field(min_length=1)]
    simplified: tuple[Line, ...] = ()
    skills: tuple[Skill, ...] = ("act",)
    own_animal: dict[str, Annotated[float, Field(gt=0.01, lt=100)]] = Field(default_factory=dict)
    replayed: tuple[Replayed, ...] = ()
