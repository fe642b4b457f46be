"""Infusions: from a dose rate to the pump, how long a bag lasts, what was given so far, and when to stop."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from lungeline.case import Finding, Reasoned, Severity
from lungeline.errors import InputError
from lungeline.plan.animal.patient import Patient, divided, for_weight
from lungeline.plan.derive import Reason, derived
from lungeline.plan.drugs.chosen_dose import ChosenDose, chosen_dose
from lungeline.plan.drugs.dose_findings import findings_of
from lungeline.plan.drugs.dose_strength import strength_findings, strength_of
from lungeline.plan.drugs.dose_text import RATE_UNITS, dose_text
from lungeline.plan.drugs.doses import AnimalDose, Status, published_json
from lungeline.plan.drugs.infusion_order import InfusionOrder
from lungeline.reference import figure, figures

_MIN_PER_H = 60.0
_S_PER_H = 3600.0
# From a rate's unit to mg/kg/h: the factor, and the rule in words.
_TO_MG_KG_H = {
    "mg_kg_h": (1.0, "rate × weight"),
    "ug_kg_h": (1e-3, "rate × weight ÷ 1000"),
    "ug_kg_min": (60e-3, "rate × weight × 60 ÷ 1000"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Infusion:
    """An infusion for one animal. pump_ml_h has no value where it is stopped, or the strength not chosen.

    drip_per_s: drops in a second, for a giving set without pump. empty_min: on the clock of the case.
    stop_min: when to end it before the end of surgery, where that is published.
    """

    chosen: ChosenDose
    whom: Patient
    order: InfusionOrder
    status: Status
    mass_mg_h: Reasoned
    pump_ml_h: Reasoned
    drip_per_s: Reasoned
    empty_min: Reasoned | None = None
    stop_min: Reasoned | None = None
    needed_ml: Reasoned | None = None
    findings: tuple[Finding, ...] = ()

    @property
    def rate(self) -> Reasoned:
        """The dose rate for each kilogram."""
        return self.chosen.dose

    @property
    def numbers(self) -> tuple[Reasoned, ...]:
        """Every number of it, each to be asked why."""
        later = (self.empty_min, self.stop_min, self.needed_ml)
        told = (each for each in later if each is not None)
        return (self.rate, self.mass_mg_h, self.pump_ml_h, self.drip_per_s, *told)

    def as_json(self) -> dict[str, Any]:
        """Return the infusion as it stands in a plan."""
        drug = self.chosen.drug
        return {
            "drug": drug.name,
            "use": self.chosen.use,
            "label_class": drug.label_class.key,
            "route": self.chosen.route,
            "status": self.status,
            **{each.name.rpartition(".")[2]: each.as_json() for each in self.numbers},
            "container_ml": self.order.container_ml,
            "signed_by": self.chosen.signed_by,
            "signed_on": self.chosen.signed_on,
            "from_memory": self.chosen.from_memory,
            "double_check": drug.double_check,
            "withdrawal": drug.withdrawal,
            "published": [published_json(each) for each in self.chosen.published],
            "findings": [finding.as_json() for finding in self.findings],
        }


def infusion(whom: Patient, order: InfusionOrder) -> Infusion:
    """Return an infusion for an animal.

    Raises InputError where the drug is dosed once, or not for this species.
    """
    chosen = chosen_dose(whom, order.drug, order.use, "infusions")
    if chosen.dose.unit not in RATE_UNITS:
        raise InputError(
            where=chosen.name,
            given=f"a single dose, {dose_text(chosen.dose.value or 0.0, chosen.dose.unit)}",
            allowed="a dose rate",
            do="Ask for it as a dose.",
        )
    strength = strength_of(chosen, order.strength)
    findings = findings_of(chosen, whom.animal.species)
    status: Status = "signed" if chosen.answered_for else "confirm before use"
    if any(finding.severity == "stop" for finding in findings):
        status = "stopped"
    strength_mg_ml = strength.strength_mg_ml if strength else None
    made = _running(chosen, whom, order, None if status == "stopped" else strength_mg_ml)
    found = (*findings, *strength_findings(chosen, strength), *_of_time(made))
    return replace(_silenced(made) if status == "stopped" else made, status=status, findings=found)


def _silenced(made: Infusion) -> Infusion:
    """Return a stopped infusion without a number anybody could set a pump by."""

    def silent(number: Reasoned) -> Reasoned:
        return replace(number, value=None, low=None, high=None, note="Stopped: settle the dose first.")

    needed = None if made.needed_ml is None else silent(made.needed_ml)
    return replace(
        made,
        mass_mg_h=silent(made.mass_mg_h),
        pump_ml_h=silent(made.pump_ml_h),
        drip_per_s=silent(made.drip_per_s),
        needed_ml=needed,
    )


def loading_pump_ml_h(dose: AnimalDose) -> Reasoned | None:
    """Return the pump for a dose that is given over minutes, such as a loading dose; None where it is not."""
    drug, use = dose.chosen.drug.name, dose.chosen.use
    species = dose.chosen.borrowed_from or dose.whom.animal.species
    over = figures().get(f"formulary.{drug}.{use}.{species}.over_min")
    if over is None:
        return None
    reason = Reason(formula="volume ÷ time × 60", parts=(dose.volume_ml, over))
    value, low, high = (
        None if each is None else each / over.value * _MIN_PER_H
        for each in (dose.volume_ml.value, dose.volume_ml.low, dose.volume_ml.high)
    )
    return derived(f"{dose.chosen.name}.over_ml_h", value, reason, low=low, high=high)


def _running(
    chosen: ChosenDose, whom: Patient, order: InfusionOrder, strength_mg_ml: float | None
) -> Infusion:
    mass, pump = _mass_and_pump(chosen, whom, strength_mg_ml)
    drops = order.drops_per_ml_number or figure("formulary.general.giving_set_number").value
    drip = _product(f"{chosen.name}.drip_per_s", pump, drops / _S_PER_H, "pump × drops in 1 mL ÷ 3600", drops)
    stop = _stop(chosen, order)
    made = Infusion(
        chosen=chosen,
        whom=whom,
        order=order,
        status="stopped",
        mass_mg_h=mass,
        pump_ml_h=pump,
        drip_per_s=drip,
    )
    return replace(made, stop_min=stop, empty_min=_empty(made), needed_ml=_needed(made, stop))


def _mass_and_pump(
    chosen: ChosenDose, whom: Patient, strength_mg_ml: float | None
) -> tuple[Reasoned, Reasoned]:
    name, dose = chosen.name, chosen.dose
    if dose.unit == "ml_kg_h":
        by_volume = Reason(formula="rate × weight", parts=(dose,), note="Given by volume.")
        return derived(f"{name}.mass_mg_h", None, by_volume), for_weight(f"{name}.pump_ml_h", dose, whom)
    factor, words = _TO_MG_KG_H[dose.unit]
    mass = for_weight(f"{name}.mass_mg_h", dose, whom, factor, words)
    pump = divided(f"{name}.pump_ml_h", mass, strength_mg_ml, "mass flow ÷ strength", "strength_mg_ml")
    return mass, pump


def _product(name: str, pump: Reasoned, factor: float, words: str, drops_per_ml_number: float) -> Reasoned:
    reason = Reason(formula=words, parts=(pump,), given={"drops_per_ml_number": drops_per_ml_number})
    value, low, high = (None if each is None else each * factor for each in (pump.value, pump.low, pump.high))
    return derived(name, value, reason, low=low, high=high)


def _empty(made: Infusion) -> Reasoned | None:
    """Return when the bag is empty: with the heavier end of the weight it is sooner."""
    volume_ml, pump, start_min = made.order.container_ml, made.pump_ml_h, made.order.start_min
    if volume_ml is None:
        return None
    reason = Reason(
        formula="start + bag ÷ pump",
        parts=(pump,),
        given={"container_ml": volume_ml, "start_min": start_min},
        sources=("case",),
    )
    first, value, last = (
        None if each is None else start_min + volume_ml / each * _MIN_PER_H
        for each in (pump.high, pump.value, pump.low)
    )
    return derived(f"{made.chosen.name}.empty_min", value, reason, low=first, high=last)


def _stop(chosen: ChosenDose, order: InfusionOrder) -> Reasoned | None:
    """Return when to stop before the end; where texts differ, the earliest, with the range they span."""
    before = chosen.drug.stops_before_end
    if order.end_min is None or not before:
        return None
    times = [order.end_min - each.value for each in before]
    reason = Reason(
        formula="published time before the end, taken from the end",
        parts=before,
        given={"end_min": order.end_min},
        sources=("case",),
        note="; ".join(f"{each.value:g} min before the end ({each.source})" for each in before),
    )
    return derived(f"{chosen.name}.stop_min", min(times), reason, low=min(times), high=max(times))


def _needed(made: Infusion, stop: Reasoned | None) -> Reasoned | None:
    order, pump = made.order, made.pump_ml_h
    until_min = stop.value if stop is not None else order.end_min
    if until_min is None or pump.value is None:
        return None
    hours = max(until_min - order.start_min, 0.0) / _MIN_PER_H
    reason = Reason(
        formula="pump × time", parts=(pump,), given={"start_min": order.start_min, "until_min": until_min}
    )
    low, high = (None if each is None else each * hours for each in (pump.low, pump.high))
    return derived(f"{made.chosen.name}.needed_ml", pump.value * hours, reason, low=low, high=high)


def _of_time(made: Infusion) -> Iterator[Finding]:
    yield from _runs_dry(made)
    stop = made.stop_min
    if stop is not None and stop.low != stop.high:
        yield _told("infusion_stop_disagreement", "note", made, first_min=stop.low, last_min=stop.high)
    if stop is not None and stop.value is not None and stop.value <= made.order.start_min:
        yield _told("infusion_too_late", "advice", made, stop_min=stop.value, start_min=made.order.start_min)
    halve = made.chosen.drug.halve_after
    if halve is not None:
        yield _told("infusion_halve", "advice", made, after_min=halve.value, source=halve.source)


def _runs_dry(made: Infusion) -> Iterator[Finding]:
    needed, volume_ml = made.needed_ml, made.order.container_ml
    if needed is None or needed.value is None or volume_ml is None or made.empty_min is None:
        return
    if needed.value > volume_ml:
        yield _told(
            "infusion_runs_dry",
            "caution",
            made,
            empty_min=made.empty_min.value,
            needed_ml=needed.value,
            container_ml=volume_ml,
        )


def _told(code: str, severity: Severity, made: Infusion, **told: float | str | None) -> Finding:
    figures = {"drug": made.chosen.drug.name, "use": made.chosen.use, **told}
    return Finding(code=code, severity=severity, about=made.pump_ml_h.name, figures=figures)
