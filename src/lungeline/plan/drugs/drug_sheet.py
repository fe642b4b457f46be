"""The drug sheet of one animal: its single doses, what it must not have, and syringes that look alike."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Any

from lungeline.case import Finding
from lungeline.errors import InputError
from lungeline.plan.animal.patient import Patient
from lungeline.plan.drugs.chosen_dose import check_signed_doses, plain_use, published_for, refusal
from lungeline.plan.drugs.dose_text import RATE_UNITS
from lungeline.plan.drugs.doses import AnimalDose, dose_for
from lungeline.reference import figure
from lungeline.reference.formulary import Drug, drug, drugs

Wanted = tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class DrugSheet:
    """The doses to draw up, and what there is to say of them and of those that were refused."""

    doses: tuple[AnimalDose, ...]
    findings: tuple[Finding, ...]

    def as_json(self) -> dict[str, Any]:
        """Return the sheet as it stands in a plan."""
        return {
            "doses": [dose.as_json() for dose in self.doses],
            "findings": [finding.as_json() for finding in self.findings],
        }


def drug_sheet(whom: Patient, wanted: Iterable[Wanted] | None = None) -> DrugSheet:
    """Return the drug sheet. `findings` are those of every dose, and of the sheet as a whole.

    wanted: drug and use of each; None for every single dose published for the species or signed for it.
    """
    check_signed_doses(whom.profile)
    doses, refused = [], []
    for drug_name, use in usual_doses(whom) if wanted is None else wanted:
        found = drug(drug_name)
        error = refusal(found, plain_use(use), whom)
        if error is None:
            doses.append(dose_for(whom, drug_name, use))
        else:
            refused.append(_refusal(found.name, use, error))
    own = (finding for dose in doses for finding in dose.findings)
    return DrugSheet(doses=tuple(doses), findings=(*refused, *own, *look_alikes(doses)))


def usual_doses(whom: Patient) -> tuple[Wanted, ...]:
    """Return every drug and use with a single dose for this species, those for an emergency left out."""
    published = [
        (found.name, use)
        for found in drugs().values()
        for use in _uses(found, whom)
        if use not in found.emergency
    ]
    return tuple(dict.fromkeys(published))


def _uses(found: Drug, whom: Patient) -> Iterator[str]:
    species = whom.animal.species
    for use in dict.fromkeys(dose.use for dose in found.doses):
        doses, _ = published_for(found, use, species)
        allowed = bool(doses) and species not in found.refused
        units = {dose.figure.unit for dose in found.doses if dose.use == use}
        if (allowed or _signed_for(found, use, whom)) and not units & set(RATE_UNITS):
            yield use


def _signed_for(found: Drug, use: str, whom: Patient) -> bool:
    """Whether the clinic signed a dose that names this species."""
    return any(
        drug(dose.drug).name == found.name
        and plain_use(dose.use) == use
        and dose.species == whom.animal.species
        for dose in whom.profile.doses
    )


def _refusal(drug_name: str, use: str, error: InputError) -> Finding:
    told: dict[str, float | str | None] = {
        "drug": drug_name,
        "use": use,
        "given": str(error.given),
        "allowed": error.allowed,
        "do": error.do,
    }
    return Finding(code="dose_refused", severity="caution", about=error.where, figures=told)


def look_alikes(doses: Iterable[AnimalDose]) -> tuple[Finding, ...]:
    """Return a finding for each two syringes of different drugs that are filled alike."""
    alike_ml = figure("formulary.general.lookalike_volume_ml").value
    pairs = combinations([dose for dose in doses if dose.volume_ml.value is not None], 2)
    return tuple(
        _look_alike(one, other)
        for one, other in pairs
        if one.chosen.drug.name != other.chosen.drug.name
        and abs((one.volume_ml.value or 0.0) - (other.volume_ml.value or 0.0)) < alike_ml
    )


def _look_alike(one: AnimalDose, other: AnimalDose) -> Finding:
    told: dict[str, float | str | None] = {
        "one": one.name,
        "other": other.name,
        "one_volume_ml": one.volume_ml.value,
        "other_volume_ml": other.volume_ml.value,
    }
    return Finding(code="look_alike_volumes", severity="advice", about=one.volume_ml.name, figures=told)
