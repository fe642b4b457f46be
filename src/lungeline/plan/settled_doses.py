"""A plan with bottles chosen and doses confirmed: who plans reads the strength off, and two people check."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from lungeline.case import gravest_first
from lungeline.errors import UnknownNameError
from lungeline.plan.animal.patient import Patient, patient
from lungeline.plan.drugs.confirming import confirm
from lungeline.plan.drugs.doses import AnimalDose, dose_for
from lungeline.plan.drugs.drug_sheet import look_alikes
from lungeline.plan.drugs.infusions import Infusion, infusion
from lungeline.plan.drugs.labels import labels
from lungeline.plan.planning import Plan


@dataclass(frozen=True, slots=True, kw_only=True)
class DoseChoice:
    """What was settled of one dose or infusion.

    strength: of the bottle, as in "100 mg/mL", empty to leave it as it is.
    first_person, second_person: who confirm it, empty where nobody does yet; dose_again: the dose typed anew.
    """

    drug: str
    use: str
    strength: str = ""
    first_person: str = ""
    second_person: str = ""
    dose_again: str = ""
    reason: str = ""

    @property
    def name(self) -> str:
        """Drug and use."""
        return f"{self.drug}.{self.use}"


def with_doses(plan: Plan, choices: Iterable[DoseChoice]) -> Plan:
    """Return the plan with these choices in its drug sheet, infusions, labels and findings.

    Raises InputError where a choice fits no dose of the plan, or a confirmation is not one.
    """
    wanted = {choice.name: choice for choice in choices}
    known = {dose.name for dose in plan.drugs.doses} | {_name(each) for each in plan.infusions}
    for name in wanted:
        if name not in known:
            raise UnknownNameError.nearest(where="doses", given=name, valid=known)
    whom = patient(plan.case.animal, plan.profile)
    doses = tuple(_dose(dose, wanted.get(dose.name), whom) for dose in plan.drugs.doses)
    running = tuple(_infusion(each, wanted, whom) for each in plan.infusions)
    return _plan_with(plan, doses, running)


def _name(each: Infusion) -> str:
    return f"{each.chosen.drug.name}.{each.chosen.use}"


def _dose(dose: AnimalDose, choice: DoseChoice | None, whom: Patient) -> AnimalDose:
    if choice is None:
        return dose
    made = dose_for(whom, choice.drug, choice.use, strength=choice.strength) if choice.strength else dose
    if not (choice.first_person or choice.second_person):
        return made
    return confirm(
        made,
        first_person=choice.first_person,
        second_person=choice.second_person,
        dose_again=choice.dose_again,
        reason=choice.reason,
    )


def _infusion(each: Infusion, wanted: Mapping[str, DoseChoice], whom: Patient) -> Infusion:
    choice = wanted.get(_name(each))
    if choice is None or not choice.strength:
        return each
    return infusion(whom, replace(each.order, strength=choice.strength))


def _plan_with(plan: Plan, doses: tuple[AnimalDose, ...], running: tuple[Infusion, ...]) -> Plan:
    """Return the plan with other doses: what was said of the old ones is said no longer."""
    old = [*plan.drugs.findings, *(told for each in plan.infusions for told in each.findings)]
    refused = (finding for finding in plan.drugs.findings if finding.code == "dose_refused")
    told = (*refused, *(each for dose in doses for each in dose.findings), *look_alikes(doses))
    kept = [finding for finding in plan.findings if finding not in old]
    found = (*kept, *told, *(each for one in running for each in one.findings))
    return replace(
        plan,
        drugs=replace(plan.drugs, doses=doses, findings=told),
        infusions=running,
        labels=labels(doses, running, plan.profile.language),
        findings=gravest_first(found),
    )
