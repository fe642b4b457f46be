"""The emergency card of one animal: one signed dose for each drug; what nobody signed is said while planning.

In an emergency there is no time to weigh published doses against each other. Where the clinic has signed
none, the card shows every published one with its source, each already in milligram and millilitre.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from lungeline.case import Finding, Reasoned, Severity, from_figure
from lungeline.plan.animal.patient import Patient
from lungeline.plan.drugs.chosen_dose import ChosenDose, check_signed_doses, chosen_dose, refusal
from lungeline.plan.drugs.dose_findings import rivals_text
from lungeline.plan.drugs.dose_strength import strength_of
from lungeline.plan.drugs.doses import AnimalDose, animal_dose, published_json
from lungeline.reference import figures
from lungeline.reference.formulary import Drug, PublishedDose, drugs
from lungeline.units import convert

_PREFIX = "emergency"
_FACTS = "formulary.resuscitation"
_FACTS_OF = {"pony": "horse", "donkey": "horse"}  # compressions of the grown horse: assumption


@dataclass(frozen=True, slots=True, kw_only=True)
class EmergencyLine:
    """One drug of the card. chosen: the signed dose, None where there is none that may be drawn up.

    published: each published dose in amounts for this animal, in the order of the data.
    """

    drug: str
    use: str
    chosen: AnimalDose | None
    published: tuple[AnimalDose, ...]

    def as_json(self) -> dict[str, Any]:
        """Return the line as it stands in a plan."""
        return {
            "drug": self.drug,
            "use": self.use,
            "chosen": self.chosen.as_json() if self.chosen else None,
            "published": [_short_json(dose) for dose in self.published],
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class EmergencyCard:
    """The card: its drugs, the facts of resuscitation for this species, and what is still to settle."""

    lines: tuple[EmergencyLine, ...]
    facts: tuple[Reasoned, ...]
    findings: tuple[Finding, ...]

    def as_json(self) -> dict[str, Any]:
        """Return the card as it stands in a plan."""
        return {
            "lines": [line.as_json() for line in self.lines],
            "facts": {
                fact.name.removeprefix(f"{_PREFIX}.resuscitation."): {
                    **fact.as_json(),
                    "basis": fact.basis,
                    "source": fact.sources[0],
                    "note": fact.note,
                }
                for fact in self.facts
            },
            "findings": [finding.as_json() for finding in self.findings],
        }


def emergency_card(whom: Patient) -> EmergencyCard:
    """Return the emergency card of an animal, with what is unsigned, missing, or at odds in print."""
    check_signed_doses(whom.profile)
    lines, findings = [], []
    for found in drugs().values():
        for use in found.emergency:
            line, told = _line(whom, found, use)
            lines += [line] if line else []
            findings += told
    return EmergencyCard(lines=tuple(lines), facts=tuple(_facts(whom)), findings=tuple(findings))


def _line(whom: Patient, found: Drug, use: str) -> tuple[EmergencyLine | None, list[Finding]]:
    name = f"{_PREFIX}.{found.name}.{use}"
    refused = refusal(found, use, whom)
    if refused is not None:
        told = {"drug": found.name, "use": use, "allowed": refused.allowed, "species": whom.animal.species}
        return None, [_finding("emergency_dose_missing", "caution", name, told)]
    chosen = chosen_dose(whom, found.name, use, _PREFIX)
    made = animal_dose(chosen, whom, strength_of(chosen, ""))
    usable = made if chosen.answered_for and made.status != "stopped" else None
    published = tuple(_each(chosen, dose, whom) for dose in chosen.published)
    line = EmergencyLine(drug=found.name, use=use, chosen=usable, published=published)
    return line, [*_unsigned(chosen, name), *_kept(made, chosen)]


def _each(chosen: ChosenDose, dose: PublishedDose, whom: Patient) -> AnimalDose:
    """Return one published dose as an amount for this animal, named by its entry."""
    name = f"{chosen.name}.{dose.entry}"
    unit = chosen.dose.unit
    alone = replace(
        chosen,
        name=name,
        dose=from_figure(f"{name}.dose_{unit}", dose.figure, convert(1.0, dose.figure.unit, unit)),
        route=dose.route,
        published=(dose,),
        signed=None,
        signed_by="",
        signed_on="",
    )
    return animal_dose(alone, whom, strength_of(chosen, ""))


def _unsigned(chosen: ChosenDose, name: str) -> Iterator[Finding]:
    if not chosen.answered_for:
        told = {"drug": chosen.drug.name, "use": chosen.use, "published": rivals_text(chosen.published)}
        told["unsigned"] = chosen.signed.dose if chosen.signed else "none"
        yield _finding("emergency_dose_unsigned", "caution", name, told)


def _kept(made: AnimalDose, chosen: ChosenDose) -> list[Finding]:
    """Return the findings of a dose; of one nobody signed, what the card says already is left out."""
    said = {"dose_confirm_before_use"} if not chosen.answered_for else set()
    return [finding for finding in made.findings if finding.code not in said]


def _facts(whom: Patient) -> Iterator[Reasoned]:
    species = _FACTS_OF.get(whom.animal.species, whom.animal.species)
    for name, found in figures().items():
        if name.startswith(f"{_FACTS}.{species}."):
            yield from_figure(name.replace(_FACTS, f"{_PREFIX}.resuscitation"), found)


def _short_json(dose: AnimalDose) -> dict[str, Any]:
    return {
        **published_json(dose.chosen.published[0]),
        "total_mg": dose.total_mg.as_json(),
        "volume_ml": dose.volume_ml.as_json(),
        "volumes": volumes_by_strength(dose),
    }


def volumes_by_strength(dose: AnimalDose) -> list[dict[str, float]]:
    """Return the volume from every strength that is about: in an emergency the bottle at hand decides."""
    total_mg = dose.total_mg.value
    if total_mg is None:
        return []
    strengths_mg_ml = dose.chosen.drug.strengths_mg_ml
    return [{"strength_mg_ml": each, "volume_ml": total_mg / each} for each in strengths_mg_ml]


def _finding(code: str, severity: Severity, about: str, told: dict[str, str]) -> Finding:
    return Finding(code=code, severity=severity, about=about, figures={**told})
