"""One dose for one animal: per kilogram, in milligram and in millilitre, never one without the others.

A dose that lies beyond the ceiling, or looks like a slip of the point, is stopped: nothing is told to draw up
until two people have confirmed it, the dose typed again and a reason given.
"""

from dataclasses import dataclass, replace
from typing import Any, Literal

from lungeline.case import Finding, Reasoned
from lungeline.errors import InputError
from lungeline.plan.animal.patient import Patient, divided, for_weight, total_mg
from lungeline.plan.derive import Reason, derived
from lungeline.plan.drugs.chosen_dose import ChosenDose, chosen_dose
from lungeline.plan.drugs.dose_findings import findings_of
from lungeline.plan.drugs.dose_strength import strength_of, volume_findings
from lungeline.plan.drugs.dose_text import RATE_UNITS, WrittenStrength, dose_text
from lungeline.reference.formulary import PublishedDose

Status = Literal["signed", "confirm before use", "stopped", "confirmed"]
_UG_IN_MG = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class AnimalDose:
    """A dose ready to draw up, or the reason why not.

    total_mg and volume_ml have no value where the dose is stopped; volume_ml also where the strength is still
    to choose, or the drug is inhaled. confirmed_by: the two who passed a stopped or unsigned dose.
    """

    chosen: ChosenDose
    whom: Patient
    status: Status
    strength: WrittenStrength | None
    total_mg: Reasoned
    volume_ml: Reasoned
    puffs_number: Reasoned | None = None
    confirmed_by: tuple[str, ...] = ()
    confirmed_because: str = ""
    findings: tuple[Finding, ...] = ()

    @property
    def name(self) -> str:
        """Drug and use, such as "xylazine.premedication"."""
        return f"{self.chosen.drug.name}.{self.chosen.use}"

    @property
    def dose(self) -> Reasoned:
        """The dose for each kilogram."""
        return self.chosen.dose

    @property
    def numbers(self) -> tuple[Reasoned, ...]:
        """Every number of it, each to be asked why."""
        return tuple(
            each for each in (self.dose, self.total_mg, self.volume_ml, self.puffs_number) if each is not None
        )

    def as_json(self) -> dict[str, Any]:
        """Return the dose as it stands in a plan."""
        drug, strength = self.chosen.drug, self.strength or WrittenStrength()
        return {
            "drug": drug.name,
            "use": self.chosen.use,
            "label_class": drug.label_class.key,
            "route": self.chosen.route,
            "status": self.status,
            **{each.name.rpartition(".")[2]: each.as_json() for each in self.numbers},
            "strength_mg_ml": strength.strength_mg_ml,
            "puff_ug": strength.puff_ug,
            "strengths_mg_ml": list(drug.strengths_mg_ml),
            "puffs_ug": list(drug.puffs_ug),
            "signed_by": self.chosen.signed_by,
            "signed_on": self.chosen.signed_on,
            "from_memory": self.chosen.from_memory,
            "borrowed_from": self.chosen.borrowed_from,
            "double_check": drug.double_check,
            "withdrawal": drug.withdrawal,
            "confirmed_by": list(self.confirmed_by),
            "confirmed_because": self.confirmed_because,
            "published": [published_json(each) for each in self.chosen.published],
            "findings": [finding.as_json() for finding in self.findings],
        }


def published_json(published: PublishedDose) -> dict[str, Any]:
    """Return a published dose as a plain object, with its source."""
    return {
        **published.figure.as_json(),
        "entry": published.entry,
        "species": published.species,
        "route": published.route,
    }


def dose_for(
    whom: Patient, drug_name: str, use: str, *, strength: str = "", prefix: str = "drugs"
) -> AnimalDose:
    """Return one single dose of a drug for an animal.

    strength: of the bottle, as in "100 mg/mL"; needed where several are on the market and none is signed.
    Raises InputError where the drug is infused, not dosed once, or not for this species.
    """
    chosen = chosen_dose(whom, drug_name, use, prefix)
    if chosen.dose.unit in RATE_UNITS:
        raise InputError(
            where=chosen.name,
            given=f"a rate, {dose_text(chosen.dose.value or 0.0, chosen.dose.unit)}",
            allowed="a single dose",
            do="Ask for it as an infusion.",
        )
    return animal_dose(chosen, whom, strength_of(chosen, strength))


def animal_dose(chosen: ChosenDose, whom: Patient, strength: WrittenStrength | None) -> AnimalDose:
    """Return a chosen dose for an animal, with everything there is to say of it."""
    findings = findings_of(chosen, whom.animal.species)
    stopped = any(finding.severity == "stop" for finding in findings)
    status: Status = "signed" if chosen.answered_for else "confirm before use"
    made = _stopped(chosen, whom, strength) if stopped else amounts(chosen, whom, strength, status)
    measured = volume_findings(chosen, made.strength, made.volume_ml)
    return replace(made, findings=(*findings, *measured))


def amounts(
    chosen: ChosenDose, whom: Patient, strength: WrittenStrength | None, status: Status
) -> AnimalDose:
    """Return milligram, millilitre and puffs of a dose, whatever speaks against it."""
    name = chosen.name
    known = strength or WrittenStrength()
    total = total_mg(f"{name}.total_mg", chosen.dose, whom, known.strength_mg_ml)
    return AnimalDose(
        chosen=chosen,
        whom=whom,
        status=status,
        strength=strength,
        total_mg=total,
        volume_ml=_volume_ml(chosen, whom, total, known),
        puffs_number=_puffs(f"{name}.puffs_number", total, known.puff_ug, chosen),
    )


def _volume_ml(chosen: ChosenDose, whom: Patient, total: Reasoned, known: WrittenStrength) -> Reasoned:
    name = f"{chosen.name}.volume_ml"
    if chosen.dose.unit == "ml_kg":
        return for_weight(name, chosen.dose, whom)
    if chosen.drug.puffs_ug:
        inhaled = Reason(formula="total ÷ strength", parts=(total,), note="Inhaled: given in puffs.")
        return derived(name, None, inhaled)
    return divided(name, total, known.strength_mg_ml, "total ÷ strength", "strength_mg_ml")


def _puffs(name: str, total: Reasoned, puff_ug: float | None, chosen: ChosenDose) -> Reasoned | None:
    if not chosen.drug.puffs_ug:
        return None
    puff_mg = None if puff_ug is None else puff_ug / _UG_IN_MG
    return divided(name, total, puff_mg, "total ÷ what one puff holds", "puff_mg")


def _stopped(chosen: ChosenDose, whom: Patient, strength: WrittenStrength | None) -> AnimalDose:
    why = Reason(
        formula="dose × weight", parts=(chosen.dose,), note="Stopped: two people must confirm it first."
    )
    return AnimalDose(
        chosen=chosen,
        whom=whom,
        status="stopped",
        strength=strength,
        total_mg=derived(f"{chosen.name}.total_mg", None, why),
        volume_ml=derived(f"{chosen.name}.volume_ml", None, why),
    )
