"""The second step of a dose: two people confirm it; and what a changed weight means for the others."""

from collections.abc import Collection, Iterable
from dataclasses import replace

from lungeline.case import Finding
from lungeline.errors import InputError, OutOfRangeError
from lungeline.plan.drugs.dose_strength import volume_findings
from lungeline.plan.drugs.dose_text import dose_text, read_dose
from lungeline.plan.drugs.doses import AnimalDose, amounts

_ROUNDING_FRACTION = 1e-9


def confirm(
    dose: AnimalDose, *, first_person: str, second_person: str, dose_again: str, reason: str = ""
) -> AnimalDose:
    """Return the dose confirmed: the step without which nothing stopped is ever drawn up.

    dose_again: the dose for each kilogram, typed once more. reason: needed for a stopped dose.
    Raises InputError where the two people are one, the dose differs, or the reason is missing.
    """
    where = f"{dose.chosen.name}.confirmation"
    _check_people(first_person, second_person, where)
    _check_dose(dose, dose_again, where)
    if dose.status == "stopped" and not reason.strip():
        raise InputError(where=where, given="no reason", allowed="a reason", do="Say why this dose is meant.")
    made = amounts(dose.chosen, dose.whom, dose.strength, "confirmed")
    return replace(
        made,
        confirmed_by=(first_person.strip(), second_person.strip()),
        confirmed_because=reason.strip(),
        findings=_passed(dose, made),
    )


def doses_to_recheck(
    old_doses: Iterable[AnimalDose], new_weight_kg: float, given_names: Collection[str] = ()
) -> tuple[Finding, ...]:
    """Return a caution for every dose not yet given, where the weight has changed; given ones stay.

    given_names: drug and use of what was given, such as "xylazine.premedication".
    """
    if not new_weight_kg > 0:
        raise OutOfRangeError(
            where="weight_kg", given=new_weight_kg, allowed="above 0 kg", do="Give the new weight."
        )
    return tuple(
        _recheck(dose, new_weight_kg)
        for dose in old_doses
        if dose.name not in given_names and dose.whom.weight_kg != new_weight_kg
    )


def _recheck(dose: AnimalDose, new_weight_kg: float) -> Finding:
    ratio = new_weight_kg / dose.whom.weight_kg
    told: dict[str, float | str | None] = {
        "drug": dose.chosen.drug.name,
        "use": dose.chosen.use,
        "old_weight_kg": dose.whom.weight_kg,
        "new_weight_kg": new_weight_kg,
        "old_total_mg": dose.total_mg.value,
        "new_total_mg": _times(dose.total_mg.value, ratio),
        "old_volume_ml": dose.volume_ml.value,
        "new_volume_ml": _times(dose.volume_ml.value, ratio),
    }
    return Finding(code="dose_to_recheck", severity="caution", about=dose.total_mg.name, figures=told)


def _times(value: float | None, ratio: float) -> float | None:
    return None if value is None else value * ratio


def _check_people(first_person: str, second_person: str, where: str) -> None:
    first, second = first_person.strip().casefold(), second_person.strip().casefold()
    if not first or not second or first == second:
        raise InputError(
            where=where,
            given=f"{first_person!r} and {second_person!r}",
            allowed="two different people",
            do="Let a second person check it.",
        )


def _check_dose(dose: AnimalDose, dose_again: str, where: str) -> None:
    meant = dose.dose.value or 0.0
    again = read_dose(dose_again, where).in_unit(dose.dose.unit, where)
    if abs(again - meant) > _ROUNDING_FRACTION * meant:
        raise InputError(
            where=where,
            given=dose_again,
            allowed=dose_text(meant, dose.dose.unit),
            do="Type the same dose again, or correct the order.",
        )


def _passed(dose: AnimalDose, made: AnimalDose) -> tuple[Finding, ...]:
    """Return the findings kept: a stop that was passed stays as a caution, the unsigned is settled."""
    kept = [finding for finding in dose.findings if finding.code != "dose_confirm_before_use"]
    turned = [
        replace(
            finding,
            code="dose_confirmed_beyond",
            severity="caution",
            figures={"drug": dose.chosen.drug.name, "use": dose.chosen.use, **finding.figures},
        )
        if finding.severity == "stop"
        else finding
        for finding in kept
    ]
    measured = volume_findings(made.chosen, made.strength, made.volume_ml)
    return (*turned, *(finding for finding in measured if finding not in turned))
