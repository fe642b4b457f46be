"""What if I had …: what was done up to a moment stays, from there on something else is done."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from lungeline.errors import OutOfRangeError
from lungeline.rehearse.acting import Act
from lungeline.rehearse.debrief import clock
from lungeline.rehearse.outcome import CriticalMet, Outcome
from lungeline.rehearse.quantities import HARM, harm_told, label, told
from lungeline.rehearse.scenario import Happening, Scenario, Step
from lungeline.rehearse.script import play
from lungeline.rehearse.timeline import Timeline, timeline

SCHEMA = "lungeline.what-if/1"
# of the animal when it is over, what a person would look at first
AT_END = (
    "pao2_mmhg", "paco2_mmhg", "spo2_fraction", "map_mmhg", "cardiac_output_l_min", "etco2_mmhg",
    "peak_pressure_cmh2o", "fio2_fraction", "mac_multiple", "spare_volume_l",
)  # fmt: skip
_SECONDS_PER_MINUTE = 60.0
_NAME_WIDTH, _VALUE_WIDTH = 48, 18


@dataclass(frozen=True, slots=True, kw_only=True)
class Apart:
    """One number as it was and as it would have been; key names its unit."""

    key: str
    was: float | None
    would: float | None

    @property
    def change(self) -> float | None:
        """What it would have been, less what it was; None where either is missing."""
        return None if self.was is None or self.would is None else self.would - self.was

    def as_json(self) -> dict[str, Any]:
        """Return it as a plain object."""
        return {"key": self.key, "was": self.was, "would": self.would, "change": self.change}


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIf:
    """Two ways through a scenario that part at a moment.

    was, would: how it went, and how it would have gone. was_line, would_line: both over time.
    """

    from_s: float
    was: Outcome
    would: Outcome
    was_line: Timeline
    would_line: Timeline

    @property
    def harm(self) -> tuple[Apart, ...]:
        """Every sum of harm."""
        names = self.was.harm.__slots__
        return tuple(
            Apart(key=name, was=getattr(self.was.harm, name), would=getattr(self.would.harm, name))
            for name in names
        )

    @property
    def critical_actions(self) -> tuple[tuple[CriticalMet, CriticalMet], ...]:
        """Each critical action as it was and as it would have been."""
        return tuple(zip(self.was.critical_actions, self.would.critical_actions, strict=True))

    @property
    def at_end(self) -> tuple[Apart, ...]:
        """The animal's numbers when it is over."""
        was, would = self.was.at_end, self.would.at_end
        return tuple(
            Apart(key=key, was=getattr(was, key, None), would=getattr(would, key, None)) for key in AT_END
        )

    def as_json(self) -> dict[str, Any]:
        """Return the result object."""
        return {
            "schema": SCHEMA,
            "simulated": True,
            "from_s": self.from_s,
            "was": self.was.as_json(),
            "would": self.would.as_json(),
            "harm": [each.as_json() for each in self.harm],
            "critical_actions": [
                {
                    "code": was.code,
                    "says": was.says,
                    "was": {"met": was.met, "how": was.how, "at_s": was.at_s},
                    "would": {"met": would.met, "how": would.how, "at_s": would.at_s},
                }
                for was, would in self.critical_actions
            ],
            "at_end": [each.as_json() for each in self.at_end],
        }


def what_if(
    scenario: Scenario,
    acts: Iterable[Act | Step],
    instead: Iterable[Step],
    *,
    from_s: float,
    seed: int | None = None,
) -> WhatIf:
    """Return how a rehearsal went, and how it would have gone with other acts from a moment on.

    acts: what was done, as a rehearsal or a script has it; of a rehearsal that still runs, as if nothing more
    were done. instead: what is done from `from_s` on in place of what was. Both ways are played from the
    beginning with one seed, so that the same question has the same answer. Raises InputError for a moment
    that is none of the scenario's, or for something instead that comes before it.
    """
    done, other = [_step(act) for act in acts], list(instead)
    _check(scenario, other, from_s)
    kept = [step for step in done if step.at_s < from_s]
    was, was_run = play(scenario, done, seed=seed)
    would, would_run = play(scenario, [*kept, *other], seed=seed)
    return WhatIf(
        from_s=from_s, was=was, would=would, was_line=timeline(was_run), would_line=timeline(would_run)
    )


class TrainersDeed(Protocol):
    """Something a trainer did to a rehearsal: when [s], what ("fault", "set", "say" …), with what."""

    @property
    def at_s(self) -> float:
        """Seconds since the learner took over."""

    @property
    def hand(self) -> str:
        """What."""

    @property
    def given(self) -> Mapping[str, Any]:
        """With what."""


def with_trainer(scenario: Scenario, hands: Iterable[TrainersDeed]) -> Scenario:
    """Return a scenario in which what a trainer did happens by itself, so that it can be played again."""
    added = [_happening(f"trainer_{number}", each) for number, each in enumerate(hands, start=1)]
    happenings = (*scenario.happenings, *(each for each in added if each is not None))
    return scenario.model_copy(update={"happenings": happenings})


def _happening(name: str, done: TrainersDeed) -> Happening | None:
    """Return what a trainer did as a happening; None for what touches neither animal nor learner."""
    at_min, given = done.at_s / _SECONDS_PER_MINUTE, done.given
    match done.hand:
        case "fault":
            return Happening(
                name=name, at_min=at_min, fault=given["code"], severity=given["severity"],
                over_min=given["over_min"],
            )  # fmt: skip
        case "set":
            return Happening(name=name, at_min=at_min, set=dict(given))
        case "say":
            return Happening(name=name, at_min=at_min, say=given["text"])
    return None


def _step(act: Act | Step) -> Step:
    if isinstance(act, Step):
        return act
    return Step.model_validate({"at_s": act.at_s, "deed": act.deed, "with": dict(act.given)})


def _check(scenario: Scenario, instead: Sequence[Step], from_s: float) -> None:
    end_s = scenario.minutes * _SECONDS_PER_MINUTE
    if not 0.0 <= from_s < end_s:
        raise OutOfRangeError(
            where="what if: from_s",
            given=from_s,
            allowed=f"0 s to before {end_s:g} s",
            do="Give a moment within the scenario.",
        )
    early = min((step.at_s for step in instead), default=from_s)
    if early < from_s:
        raise OutOfRangeError(
            where="what if: at_s",
            given=early,
            allowed=f"{from_s:g} s or later",
            do="What came before that moment stays as it was: leave it out, or part the ways earlier.",
        )


def what_if_lines(found: WhatIf) -> list[str]:
    """Return both ways side by side as text."""
    lines = [f"What if, from {clock(found.from_s)} on, it had been done otherwise?", ""]
    lines += [_row("", "it was", "it would be")]
    lines += [_row("passed", *("yes" if each.passed else "no" for each in (found.was, found.would))), ""]
    lines += [_row(was.says, _how(was), _how(would)) for was, would in found.critical_actions]
    lines += ["", "What the animal goes through:"]
    lines += [
        _row(HARM[it.key][0], *(harm_told(it.key, value or 0.0) for value in (it.was, it.would)))
        for it in found.harm
    ]
    lines += ["", "At the end:"]
    return lines + [_row(label(it.key), told(it.key, it.was), told(it.key, it.would)) for it in found.at_end]


def _row(name: str, was: str, would: str) -> str:
    """Return a line of three columns; a long name stands above its numbers."""
    above, beside = (f"  {name}\n", "") if len(name) > _NAME_WIDTH else ("", name)
    return f"{above}  {beside:<{_NAME_WIDTH}}{was:>{_VALUE_WIDTH}}{would:>{_VALUE_WIDTH}}"


def _how(each: CriticalMet) -> str:
    when = "" if each.at_s is None else f" {clock(each.at_s)}"
    return f"{'met' if each.met else 'NOT MET'}{when}"
