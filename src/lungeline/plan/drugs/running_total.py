"""What an animal has had of a drug so far, infusion, loading dose and blocks together; fluids to make up."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from lungeline.case import Finding, Reasoned
from lungeline.errors import InputError, OutOfRangeError
from lungeline.plan.animal.patient import Patient
from lungeline.plan.derive import Reason, derived, number
from lungeline.plan.drugs.doses import AnimalDose
from lungeline.plan.drugs.infusions import Infusion
from lungeline.reference import figures
from lungeline.units import UNITS, convert

_MIN_PER_H = 60.0
_ML_KG_OF_PERCENT = 10.0  # one percent of body weight is 10 mL for each kilogram
_ML_PER_L = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RunningTotal:
    """What was given of a drug up to a time: boluses and blocks, and all together, for each kilogram."""

    bolus_mg_kg: Reasoned
    total_mg_kg: Reasoned
    total_mg: Reasoned
    findings: tuple[Finding, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return the totals as they stand in a plan."""
        return {
            "bolus_mg_kg": self.bolus_mg_kg.as_json(),
            "total_mg_kg": self.total_mg_kg.as_json(),
            "total_mg": self.total_mg.as_json(),
            "findings": [finding.as_json() for finding in self.findings],
        }


def running_total(
    running: Infusion, at_min: float, boluses: Iterable[AnimalDose] = (), blocks_mg: float = 0.0
) -> RunningTotal:
    """Return what the animal has had by a time on the clock of the case, the infusion from its start.

    boluses: given doses of the same drug, as a loading dose. blocks_mg: what went into local blocks.
    """
    if running.rate.value is None or running.rate.unit == "ml_kg_h":
        raise InputError(
            where=running.chosen.name, given="a rate in mL", allowed="a rate in mg or µg", do="Add up the mL."
        )
    if not blocks_mg >= 0.0:
        raise OutOfRangeError(
            where="blocks_mg", given=blocks_mg, allowed="0 mg or more", do="Correct the amount."
        )
    bolus = _bolus(running, tuple(boluses), blocks_mg)
    minutes = max(at_min - running.order.start_min, 0.0)
    rate_mg_kg_h = convert(running.rate.value, running.rate.unit, "mg_kg_h")
    reason = Reason(
        formula="boluses and blocks + rate × time",
        parts=(bolus, running.rate),
        given={"start_min": running.order.start_min, "at_min": at_min},
        sources=("case",),
    )
    name = running.chosen.name
    total = derived(f"{name}.total_mg_kg", number(bolus) + rate_mg_kg_h * minutes / _MIN_PER_H, reason)
    in_mg = Reason(formula="total × weight", parts=(total, running.whom.weight.weight_kg))
    return RunningTotal(
        bolus_mg_kg=bolus,
        total_mg_kg=total,
        total_mg=derived(f"{name}.total_mg", number(total) * running.whom.weight_kg, in_mg),
        findings=_lines(running, bolus, total),
    )


def fluid_deficit_l(whom: Patient, dehydration_percent: float) -> Reasoned:
    """Return the fluid an animal lacks: percent of dehydration × weight × 10 mL.

    Source: common arithmetic of the trade: one percent of a kilogram is 10 mL.
    """
    highest_percent = 20.0
    if not 0.0 <= dehydration_percent <= highest_percent:
        raise OutOfRangeError(
            where="dehydration_percent",
            given=dehydration_percent,
            allowed=f"0 to {highest_percent:g} %",
            do="Write percent of body weight, such as 5.",
        )
    reason = Reason(
        formula="dehydration × weight × 10 mL ÷ 1000",
        parts=(whom.weight.weight_kg,),
        given={"dehydration_percent": dehydration_percent},
        sources=("common-practice",),
    )
    low, value, high = (
        dehydration_percent * kg * _ML_KG_OF_PERCENT / _ML_PER_L for kg in whom.weight.band_kg
    )
    spread = (None, None) if low == high else (low, high)
    return derived("infusions.fluids.deficit_l", value, reason, low=spread[0], high=spread[1])


def _bolus(running: Infusion, boluses: tuple[AnimalDose, ...], blocks_mg: float) -> Reasoned:
    weight_kg = running.whom.weight_kg
    each = [_bolus_mg_kg(running, dose) for dose in boluses]
    reason = Reason(
        formula="boluses + blocks ÷ weight",
        parts=(*(dose.dose for dose in boluses), running.whom.weight.weight_kg),
        given={"blocks_mg": blocks_mg},
        sources=("case",),
    )
    return derived(f"{running.chosen.name}.bolus_mg_kg", sum(each) + blocks_mg / weight_kg, reason)


def _bolus_mg_kg(running: Infusion, dose: AnimalDose) -> float:
    if dose.chosen.drug.name != running.chosen.drug.name:
        raise InputError(
            where=running.chosen.name,
            given=dose.name,
            allowed=f"doses of {running.chosen.drug.name}",
            do="Leave the other drug out.",
        )
    if UNITS[dose.dose.unit].quantity != UNITS["mg_kg"].quantity:
        raise InputError(
            where=running.chosen.name,
            given=dose.name,
            allowed="a dose in mg/kg or µg/kg",
            do="Give it in mg.",
        )
    return convert(dose.dose.value or 0.0, dose.dose.unit, "mg_kg")


def _lines(running: Infusion, bolus: Reasoned, total: Reasoned) -> tuple[Finding, ...]:
    """Tell where a total has crossed a line that is known for the drug."""
    drug = running.chosen.drug.name
    species = running.chosen.borrowed_from or running.whom.animal.species
    known = figures()
    crossed = []
    for code, number_here, key in (
        ("bolus_total_high", bolus, "bolus_mg_kg"),
        ("infusion_total_high", total, "total_mg_kg"),
    ):
        line = known.get(f"formulary.{drug}.line.{species}.{key}")
        if line is not None and number(number_here) > line.value:
            told: dict[str, float | str | None] = {
                "drug": drug,
                "total_mg_kg": number_here.value,
                "line_mg_kg": line.value,
                "source": line.source,
            }
            crossed.append(Finding(code=code, severity="caution", about=number_here.name, figures=told))
    return tuple(crossed)
