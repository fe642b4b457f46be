"""An open plan, arranged to be read: what stops first, then what to set, fill, hold ready and draw up."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest

from lungeline.case import Finding, Reasoned
from lungeline.plan import Plan
from lungeline.plan.drugs.dose_text import dose_text
from lungeline.plan.drugs.doses import AnimalDose
from lungeline.plan.drugs.infusions import Infusion
from lungeline.plan.drugs.labels import printed
from lungeline.reference import species_status
from lungeline.web.parts.measures import view_of
from lungeline.web.parts.plan_words import drug_name, finding_told, local

_ALSO_SET = ("pause_s", "inspiratory_pressure_cmh2o", "fresh_gas_oxygen_fraction")
_ASSISTED = ("trigger_flow_l_min", "apnoea_backup_s")
_FOLLOWS = (
    "expiratory_time_s",
    "inspiratory_expiratory_ratio",
    "mean_inspiratory_flow_l_s",
    "minute_volume_l_min",
    "time_constant_s",
    "highest_rate_per_min",
    "cpap_cmh2o",
)
_EXPECTED = (
    "peak_pressure_cmh2o",
    "plateau_pressure_cmh2o",
    "compliance_l_cmh2o",
    "etco2_mmhg",
    "paco2_mmhg",
    "arterial_ph",
    "pao2_mmhg",
    "spo2_fraction",
    "end_tidal_agent_fraction",
    "cardiac_output_l_min",
    "map_mmhg",
    "heart_rate_per_min",
)
_SPARE = (
    "needed_l",
    "rule_of_thumb_l",
    "to_begin_l",
    "ceiling_l",
    "lower_at_min",
    "settled_l",
    "settled_ceiling_l",
    "to_empty_minutes",
)
_PRIMING = (
    "flow_l_min",
    "fill_minutes",
    "oxygen_minutes",
    "minutes",
    "litres_l",
    "keeps_plugged_minutes",
)
_SUPPLIES = (
    "oxygen_minutes",
    "oxygen_all_minutes",
    "oxygen_needed_l",
    "draw_induction_l_min",
    "draw_maintenance_l_min",
    "least_flow_l_min",
    "agent_liquid_ml",
    "agent_minutes",
    "absorbent_hours",
    "co2_equivalent_kg",
)
_WEANING = (
    "breathes_after_stop_minutes",
    "paco2_at_first_breath_mmhg",
    "breathes_at_half_rate_minutes",
    "off_circuit_limit_minutes",
)
_OF_DRUGS = ("drugs", "infusions", "emergency", "profile.doses")


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A number to read, with its wording's key; rule: the rule of thumb beside it; text: in place of it."""

    word: str
    number: Reasoned
    rule: Reasoned | None = None
    text: str = ""


def sections(request: HttpRequest, plan: Plan) -> dict[str, Any]:
    """Return all that the part of the page shows."""
    language = view_of(request)["language"]
    status = species_status(plan.case.animal.species)
    main, of_drugs = _parted(plan.findings)
    return {
        "plan": plan,
        "green": plan.green,
        "status": status,
        "findings": [finding_told(each, language) for each in main],
        "drug_findings": [finding_told(each, language) for each in of_drugs],
        "also_set": _settings(plan, _ALSO_SET),
        "assisted": _settings(plan, _ASSISTED),
        "follows": _picked(plan.ventilation.numbers, _FOLLOWS, language=language),
        "expected": _picked(plan.expected.numbers, _EXPECTED, "expected_"),
        "peep_steps": plan.ventilation.peep_steps,
        "best_peep_cmh2o": plan.ventilation.best_peep_cmh2o,
        "spare": _picked(plan.spare.numbers, _SPARE, "spare_"),
        "spare_parts": [Row(word=f"prepare.part_{name}", number=it) for name, it in plan.spare.parts.items()],
        "priming": _named(plan.priming.numbers, _PRIMING, "priming_"),
        "supplies": _named(plan.supplies.numbers, _SUPPLIES, "supply_"),
        "cylinders": plan.supplies.oxygen.cylinders,
        "tubes": plan.tubes.options,
        "weaning": _picked(plan.weaning.numbers, _WEANING, "weaning_"),
        "indicators": [
            Row(word=f"prepare.{name}", number=it) for name, it in plan.weaning.indicators.items()
        ],
        "later": [{"at_min": each.at_min, "settings": _later(each.settings)} for each in plan.changes],
        "uses": _by_use(_drugs(plan, language)),
        "infusions": [_infusion(each, language) for each in plan.infusions],
        "profile": plan.profile,
    }


def _parted(findings: Iterable[Finding]) -> tuple[list[Finding], list[Finding]]:
    """Return what is read first, and what stands at the doses: stops are always read first."""
    main: list[Finding] = []
    of_drugs: list[Finding] = []
    for finding in findings:
        drugs = finding.severity != "stop" and finding.about.startswith(_OF_DRUGS)
        (of_drugs if drugs else main).append(finding)
    return main, of_drugs


def _settings(plan: Plan, names: Iterable[str]) -> list[Row]:
    rules = plan.begun.reasons
    return [
        Row(word=f"prepare.{name}", number=plan.reasons[name], rule=rules.get(name))
        for name in names
        if name in plan.reasons
    ]


def _picked(
    numbers: dict[str, Reasoned], names: Iterable[str], prefix: str = "", language: str = "en"
) -> list[Row]:
    return [
        Row(
            word=f"prepare.{prefix}{name}",
            number=numbers[name],
            text=local(_as_said(name, numbers[name]), language),
        )
        for name in names
        if name in numbers and numbers[name].value is not None
    ]


def _as_said(name: str, number: Reasoned) -> str:
    """Return a ratio of breathing in to out as people say it, empty for every other number."""
    if name != "inspiratory_expiratory_ratio" or not number.value:
        return ""
    return f"1 : {1.0 / number.value:.1f}"


def _named(numbers: Iterable[Reasoned], names: Iterable[str], prefix: str) -> list[Row]:
    return _picked({each.name.rpartition(".")[2]: each for each in numbers}, names, prefix)


def _later(settings: Any) -> list[dict[str, Any]]:  # noqa: ANN401  the settings of a change, of any kind
    return [{"word": f"prepare.{name}", "name": name, "value": value} for name, value in settings.items()]


def _drugs(plan: Plan, language: str) -> Iterator[dict[str, Any]]:
    for dose in plan.drugs.doses:
        drawn = dose.puffs_number if dose.puffs_number is not None else dose.volume_ml
        yield _dose(dose, dose.dose, language) | {
            "total": dose.total_mg,
            "drawn": drawn,
            "strength_mg_ml": dose.strength.strength_mg_ml if dose.strength else None,
            "confirmed_by": " · ".join(dose.confirmed_by),
        }


def _infusion(each: Infusion, language: str) -> dict[str, Any]:
    found = each.pump_ml_h.inputs.get("strength_mg_ml")
    chosen = found if isinstance(found, float) else None
    told = _dose(each, each.rate, language) | {
        "total": each.mass_mg_h,
        "drawn": each.pump_ml_h,
        "drip": each.drip_per_s if each.drip_per_s.value is not None else None,
        "needed": each.needed_ml,
        "stop": each.stop_min,
        "strength_mg_ml": chosen,
    }
    told["strengths"] = [*each.chosen.drug.strengths_mg_ml, *each.chosen.drug.dilutions_mg_ml]
    return told


def _dose(each: AnimalDose | Infusion, dose: Reasoned, language: str) -> dict[str, Any]:
    drug = each.chosen.drug
    return {
        "name": drug_name(drug, language),
        "drug": drug.name,
        "use": each.chosen.use,
        "use_word": f"prepare.use_{each.chosen.use}",
        "key": f"{drug.name}.{each.chosen.use}",
        "route": each.chosen.route,
        "status": each.status,
        "status_word": f"prepare.status_{each.status.replace(' ', '_')}",
        "dose": dose,
        "dose_text": local(printed(dose_text(dose.value or 0.0, dose.unit)), language),
        "strengths": list(drug.strengths_mg_ml),
        "label_class": drug.label_class.title,
        "hex": drug.label_class.hex_colour,
        "double_check": drug.double_check,
        "signed_by": each.chosen.signed_by,
        "findings": [finding_told(finding, language) for finding in each.findings],
    }


def _by_use(doses: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    groups: dict[str, list[dict[str, Any]]] = {}
    for dose in doses:
        groups.setdefault(dose["use"], []).append(dose)
    return [{"use": use, "word": f"prepare.use_{use}", "doses": rows} for use, rows in groups.items()]
