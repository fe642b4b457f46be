"""Whether an answer passes a step of a guided check. A tick alone passes no step that has a number."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from lungeline.check.checklist import Step
from lungeline.check.limits import LeakLimits
from lungeline.errors import InputError, MissingError, OutOfRangeError

Result = Literal["pass", "caution", "fail", "skipped"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """What a person answers: a tick or its refusal, numbers, the word of an outcome, or a skip.

    notices: what the machine said meanwhile, by the keys of the list.
    """

    at: str
    by: str = ""
    good: bool | None = None
    values: Mapping[str, float] = field(default_factory=dict)
    word: str = ""
    skipped: bool = False
    note: str = ""
    notices: tuple[str, ...] = ()


def judged(step: Step, given: Given, limits: LeakLimits) -> Result:
    """Return what an answer to a step comes to. A tick alone passes no step that has a number."""
    if given.skipped:
        return "skipped"
    if step.kind == "tick":
        return _tick(step, given)
    if step.kind == "outcome":
        return _outcome(step, given)
    if given.good is False:
        return "fail"  # could not be done, or seen to fail before a number was read
    numbers = _numbers(step, given)
    if step.kind == "leak":
        return _leak(numbers[0], limits)
    value = numbers[0] if step.kind == "number" else _ratio(step, numbers)
    within = (step.least is None or value >= step.least) and (step.most is None or value <= step.most)
    return "pass" if within else "fail"


def _tick(step: Step, given: Given) -> Result:
    if given.good is None:
        raise MissingError(
            where=f"check step {step.key}",
            given="nothing",
            allowed="good, not good, or skip",
            do="Answer one.",
        )
    return "pass" if given.good else "fail"


def _outcome(step: Step, given: Given) -> Result:
    found = {item.key: item.means for item in step.outcomes}
    if given.word not in found:
        raise InputError(
            where=f"check step {step.key}",
            given=given.word,
            allowed=", ".join(found),
            do="Say how the test ended.",
        )
    return found[given.word]


def _numbers(step: Step, given: Given) -> list[float]:
    missing = [name for name in step.numbers if name not in given.values]
    if missing:
        raise MissingError(
            where=f"check step {step.key}",
            given="a tick" if given.good else "nothing",
            allowed=f"a number for {', '.join(missing)}",
            do="Read it: this step is judged by its number, a tick does not pass it.",
        )
    values = [float(given.values[name]) for name in step.numbers]
    if not all(math.isfinite(value) and value >= 0.0 for value in values):
        raise OutOfRangeError(
            where=f"check step {step.key}", given=values, allowed="numbers of 0 or more", do="Read again."
        )
    return values


def _ratio(step: Step, numbers: Sequence[float]) -> float:
    wanted, found = numbers
    if wanted <= 0.0:
        raise OutOfRangeError(
            where=f"check step {step.key}", given=wanted, allowed="above 0", do=f"Give {step.numbers[0]}."
        )
    return found / wanted


def _leak(leak_ml_min: float, limits: LeakLimits) -> Result:
    if leak_ml_min > limits.fail_ml_min:
        return "fail"
    return "caution" if leak_ml_min > limits.pass_ml_min else "pass"
