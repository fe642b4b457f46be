"""What one should know of a chosen dose before it is drawn up."""

from collections.abc import Iterator
from itertools import combinations

from lungeline.case import Finding, Severity
from lungeline.plan.drugs.chosen_dose import ChosenDose
from lungeline.plan.drugs.dose_limits import judged, limits
from lungeline.plan.drugs.dose_text import dose_text, range_text
from lungeline.reference.formulary import PublishedDose
from lungeline.units import UNITS, convert

FOOD_ANIMALS = ("cattle", "calf")


def findings_of(chosen: ChosenDose, species: str) -> tuple[Finding, ...]:
    """Return what speaks for care with a dose: its size, its basis, its route, rivals in print."""
    return (*against(chosen), *_basis(chosen, species), *_rivals(chosen), *_handling(chosen, species))


def against(chosen: ChosenDose) -> tuple[Finding, ...]:
    """Return what speaks against the size of a dose; a "stop" among it forbids drawing it up."""
    within = limits(_comparable(chosen), chosen.ceiling, chosen.dose.unit)
    if within is None or chosen.dose.value is None:
        return ()
    return judged(chosen.dose.name, chosen.dose.value, within)


def _comparable(chosen: ChosenDose) -> tuple[PublishedDose, ...]:
    """Return the doses to judge by: those of the species, or of all where the clinic alone names it."""
    if chosen.published:
        return chosen.published
    quantity = chosen.dose.unit
    same_use = [dose for dose in chosen.drug.doses if dose.use == chosen.use]
    return tuple(dose for dose in same_use if _convertible(dose.figure.unit, quantity))


def _convertible(unit: str, other: str) -> bool:
    return UNITS[unit].quantity == UNITS[other].quantity


def _told(code: str, severity: Severity, chosen: ChosenDose, **told: float | str | None) -> Finding:
    figures = {"drug": chosen.drug.name, "use": chosen.use, **told}
    return Finding(code=code, severity=severity, about=chosen.dose.name, figures=figures)


def _basis(chosen: ChosenDose, species: str) -> Iterator[Finding]:
    dose = dose_text(chosen.dose.value or 0.0, chosen.dose.unit)
    if not chosen.answered_for:
        yield _told("dose_confirm_before_use", "advice", chosen, dose=dose)
    if chosen.from_memory:
        yield _told("dose_from_memory", "caution", chosen, dose=dose)
    if chosen.borrowed_from and chosen.signed is None:
        yield _told("dose_of_other_species", "advice", chosen, species=species, other=chosen.borrowed_from)
    if not chosen.published:
        yield _told("dose_without_publication", "caution", chosen, dose=dose, species=species)
    if chosen.published and chosen.route != chosen.published[0].route:
        yield _told(
            "dose_route_differs", "caution", chosen, route=chosen.route, published=chosen.published[0].route
        )


def _rivals(chosen: ChosenDose) -> Iterator[Finding]:
    """Tell where two published ranges do not even touch."""
    if any(_apart(one, other) for one, other in combinations(chosen.published, 2)):
        yield _told("dose_disagreement", "advice", chosen, published=rivals_text(chosen.published))


def _apart(one: PublishedDose, other: PublishedDose) -> bool:
    low = convert(other.figure.low, other.figure.unit, one.figure.unit)
    high = convert(other.figure.high, other.figure.unit, one.figure.unit)
    return low > one.figure.high or high < one.figure.low


def rivals_text(published: tuple[PublishedDose, ...]) -> str:
    """Return published doses in one line, each with its source."""
    return "; ".join(
        f"{range_text(dose.figure.low, dose.figure.high, dose.figure.unit)} ({dose.figure.source})"
        for dose in published
    )


def _handling(chosen: ChosenDose, species: str) -> Iterator[Finding]:
    if chosen.drug.double_check:
        yield _told("dose_double_check", "note", chosen)
    if species in FOOD_ANIMALS:
        yield _told("dose_withdrawal", "caution", chosen, withdrawal=chosen.drug.withdrawal)
