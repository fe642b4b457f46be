"""The weight every dose and setting rests on, with the range it may lie in."""

from dataclasses import dataclass
from typing import Any

from lungeline.case import Animal, Finding, Reasoned
from lungeline.errors import InputError
from lungeline.physiology.size import KILOGRAMS_PER_POUND
from lungeline.plan.animal.tape import weight_by_tape
from lungeline.plan.derive import Reason, by_last_name, derived
from lungeline.reference import figure

# A weight from girth and length is told from a stated one by being the formula's own, half a kilogram apart.
_SAME_KG = 0.5
# How near the stated weight must be to the taped one in pounds to speak for that slip.
_SLIP_TOLERANCE_FRACTION = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Weight:
    """The animal's weight. low and high of `weight_kg` are carried into every dose and setting.

    weight_kg: as stated, or by tape; tape_weight_kg: what the tape says, where one holds.
    """

    weight_kg: Reasoned
    tape_weight_kg: Reasoned | None = None
    findings: tuple[Finding, ...] = ()

    @property
    def band_kg(self) -> tuple[float, float, float]:
        """Low, value and high [kg]; all one where no range is known."""
        value = self.weight_kg.value or 0.0
        low, high = self.weight_kg.low, self.weight_kg.high
        return (value if low is None else low, value, value if high is None else high)

    def times(self, name: str, per_kg: Reasoned) -> Reasoned:
        """Return a number for each kilogram as a number of this animal, the ranges of both carried on.

        name: of the result; its unit is that of `per_kg` without the kilogram.
        """
        low_kg, value_kg, high_kg = self.band_kg
        each = per_kg.value
        if each is None:
            return derived(name, None, Reason(formula=per_kg.formula, parts=(per_kg,), note=per_kg.note))
        return derived(
            name,
            each * value_kg,
            Reason(formula="for each kilogram × weight", parts=(per_kg, self.weight_kg)),
            low=(each if per_kg.low is None else per_kg.low) * low_kg,
            high=(each if per_kg.high is None else per_kg.high) * high_kg,
        )

    def as_json(self) -> dict[str, Any]:
        """Return the weight as it stands in a plan."""
        numbers = [self.weight_kg, *([self.tape_weight_kg] if self.tape_weight_kg else [])]
        return by_last_name(numbers)


def weight(animal: Animal) -> Weight:
    """Return the weight with its range, and what speaks against it.

    A weight that girth and length gave carries the tape's error; a stated one stands as it is, and the tape,
    where a formula holds for this animal, is its check.
    """
    tape, refused = _tape(animal)
    if tape is not None and tape.value is not None and abs(tape.value - animal.weight_kg) <= _SAME_KG:
        taken = derived(
            "weight.weight_kg",
            tape.value,
            Reason(formula="by tape", parts=(tape,), note=tape.note),
            low=tape.low,
            high=tape.high,
        )
    else:
        taken = _stated(animal)
    findings = [*_against_tape(animal, tape), *refused, *_unusual(animal)]
    return Weight(weight_kg=taken, tape_weight_kg=tape, findings=tuple(findings))


def _stated(animal: Animal) -> Reasoned:
    reason = Reason(
        formula="as stated",
        given={"weight_kg": animal.weight_kg},
        sources=("case",),
        note="No range is known. Weights judged by eye are commonly more than a tenth out.",
    )
    return derived("weight.weight_kg", animal.weight_kg, reason)


def _tape(animal: Animal) -> tuple[Reasoned | None, list[Finding]]:
    """Return the tape's weight, or None and why the tape says nothing."""
    if animal.girth_cm is None:
        return None, []
    try:
        return weight_by_tape(animal), []
    except InputError as error:
        told: dict[str, float | str | None] = {
            "girth_cm": animal.girth_cm,
            "allowed": error.allowed,
            "do": error.do,
        }
        return None, [
            Finding(
                code="weight_tape_refused", severity="advice", about="weight.tape_weight_kg", figures=told
            )
        ]


def _against_tape(animal: Animal, tape: Reasoned | None) -> list[Finding]:
    if tape is None or tape.value is None or tape.low is None or tape.high is None:
        return []
    stated_kg = animal.weight_kg
    told: dict[str, float | str | None] = {
        "weight_kg": stated_kg, "tape_weight_kg": tape.value, "low_kg": tape.low, "high_kg": tape.high
    }  # fmt: skip
    ratio = stated_kg / tape.value
    if abs(ratio * KILOGRAMS_PER_POUND - 1.0) <= _SLIP_TOLERANCE_FRACTION:
        code, right_kg = "weight_in_pounds", stated_kg * KILOGRAMS_PER_POUND
    elif abs(ratio / KILOGRAMS_PER_POUND - 1.0) <= _SLIP_TOLERANCE_FRACTION:
        code, right_kg = "weight_converted_twice", stated_kg / KILOGRAMS_PER_POUND
    elif tape.low <= stated_kg <= tape.high:
        return []
    else:
        return [
            Finding(code="weight_against_tape", severity="caution", about="weight.weight_kg", figures=told)
        ]
    told |= {"right_kg": right_kg}
    return [Finding(code=code, severity="stop", about="weight.weight_kg", figures=told)]


def _unusual(animal: Animal) -> list[Finding]:
    usual = figure(f"species.{animal.species}.weight_kg")
    as_pounds_kg = animal.weight_kg * KILOGRAMS_PER_POUND
    if animal.weight_kg <= usual.high or not usual.low <= as_pounds_kg <= usual.high:
        return []
    told = {"weight_kg": animal.weight_kg, "high_kg": usual.high, "as_pounds_kg": as_pounds_kg}
    return [Finding(code="weight_perhaps_pounds", severity="caution", about="weight.weight_kg", figures=told)]
