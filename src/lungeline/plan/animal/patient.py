"""Whom a drug is for: the animal, how well its weight is known, and the clinic's own choices."""

from dataclasses import dataclass, field

from lungeline.case import Animal, Profile, Reasoned
from lungeline.plan.animal.weight import Weight, weight
from lungeline.plan.derive import Reason, derived

_UG_IN_MG = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Patient:
    """An animal with its weight and the profile in force."""

    animal: Animal
    weight: Weight
    profile: Profile = field(default_factory=Profile)

    @property
    def weight_kg(self) -> float:
        """The weight reckoned with."""
        return self.weight.band_kg[1]


def patient(animal: Animal, profile: Profile | None = None) -> Patient:
    """Return the animal with the weight a plan takes for it.

    >>> patient(Animal(species="horse", weight_kg=550)).weight_kg
    550.0
    """
    return Patient(animal=animal, weight=weight(animal), profile=profile or Profile())


def for_weight(
    name: str, dose: Reasoned, whom: Patient, factor: float = 1.0, formula: str = "dose × weight"
) -> Reasoned:
    """Return a dose per kilogram times the weight, and a factor; low and high follow the weight's range.

    The published range of the dose is a choice, not a spread: it is not carried on.
    """
    reason = Reason(formula=formula, parts=(dose, whom.weight.weight_kg), note=dose.note)
    if dose.value is None:
        return derived(name, None, reason)
    low_kg, value_kg, high_kg = whom.weight.band_kg
    each = dose.value * factor
    if low_kg == high_kg:
        return derived(name, each * value_kg, reason)
    return derived(name, each * value_kg, reason, low=each * low_kg, high=each * high_kg)


def divided(
    name: str, number: Reasoned, divisor_number: float | None, formula: str, divisor_name: str
) -> Reasoned:
    """Return a number over another, its range with it; None, and why, where the divisor is not known yet."""
    if divisor_number is None:
        waits = "Not told until the strength is chosen."
        return derived(name, None, Reason(formula=formula, parts=(number,), note=waits))
    reason = Reason(formula=formula, parts=(number,), given={divisor_name: divisor_number}, note=number.note)
    value, low, high = (
        None if part is None else part / divisor_number for part in (number.value, number.low, number.high)
    )
    return derived(name, value, reason, low=low, high=high)


def total_mg(name: str, dose: Reasoned, whom: Patient, strength_mg_ml: float | None) -> Reasoned:
    """Return the whole dose in milligram, of a dose in mg/kg, µg/kg, or mL/kg of a known strength."""
    match dose.unit:
        case "mg_kg":
            return for_weight(name, dose, whom)
        case "ug_kg":
            return for_weight(name, dose, whom, 1.0 / _UG_IN_MG, "dose × weight ÷ 1000")
    if strength_mg_ml is not None:
        return for_weight(name, dose, whom, strength_mg_ml, "dose × weight × strength")
    by_volume = Reason(formula="dose × weight × strength", parts=(dose,), note="Given by volume.")
    return derived(name, None, by_volume)
