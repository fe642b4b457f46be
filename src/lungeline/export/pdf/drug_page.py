"""The drug sheet: each dose per kilogram, in milligram and millilitre, with strength, status and remarks."""

from collections.abc import Iterable, Iterator
from itertools import chain
from typing import Any

from lungeline.case import Finding
from lungeline.export.pdf.number_print import UNKNOWN, of, plain, text
from lungeline.export.pdf.told_findings import language_of, told
from lungeline.plan import Plan
from lungeline.plan.drugs.dose_text import dose_text
from lungeline.plan.drugs.doses import AnimalDose
from lungeline.plan.drugs.infusions import Infusion
from lungeline.plan.drugs.labels import printed

_HEADS = ("Drug, use", "Route", "Dose", "Total", "Draw up", "Strength", "Status", "See", "Time, by")
_INFUSION_HEADS = ("Infusion, use", "Route", "Rate", "Mass", "Pump", "Strength", "Status", "See", "Time, by")
# Remarks that many doses share stand as a letter, told once below the table.
_MARKS = {
    "dose_from_memory": ("M", "figure from memory, not seen in its source: look it up before use"),
    "dose_disagreement": ("D", "published doses disagree: choose one and sign it (all with --json)"),
    "dose_of_other_species": ("B", "dose borrowed from a related species"),
    "dose_double_check": ("2", "a second person checks drug, dose and volume"),
    "dose_without_publication": ("N", "no published dose for this species: the clinic's own"),
    "dose_withdrawal": ("W", "food animal: settle the withdrawal period and record it"),
    "strength_from_list": ("L", "the strength was taken from the list: read the bottle"),
}
_BY_STATUS_OR_BOX = {"dose_confirm_before_use", "strength_to_choose"}
_ALIKE = "look_alike_volumes"
_REFUSED = "dose_refused"
_STOPPED = "stopped"
_NOTHING = {"value": UNKNOWN, "unit": ""}  # nothing is told of a stopped one that could be set or drawn up


def drug_page(plan: Plan) -> dict[str, Any]:
    """Return the content of the drug sheet."""
    doses, running = plan.drugs.doses, plan.infusions
    language = language_of(plan)
    findings = [each.findings for each in doses] + [each.findings for each in running]
    return {
        "kind": "drugs",
        "title": "Drug sheet",
        "lead": "Confirm each dose, and read the strength on the bottle, before it is drawn up.",
        "tables": [
            {"heads": _HEADS, "rows": [_dose_row(dose, language) for dose in doses]},
            {"heads": _INFUSION_HEADS, "rows": [_infusion_row(each, language) for each in running]},
        ],
        "legend": [{"mark": mark, "means": means} for mark, means in _used(chain.from_iterable(findings))],
        "notes": [*_refused(plan.drugs.findings, language), *_alike(plan.drugs.findings)],
    }


def _dose_row(dose: AnimalDose, language: str) -> dict[str, Any]:
    total, volume = (of(each) for each in (dose.total_mg, dose.volume_ml))
    if dose.puffs_number is not None:
        volume = of(dose.puffs_number) | {"unit": "puffs"}
    return {
        **_row(dose, language),
        "dose": printed(dose_text(dose.dose.value or 0.0, dose.dose.unit)),
        "total": total,
        "volume": volume,
        "details": [],
        "blank_unit": "puffs" if dose.chosen.drug.puffs_ug else "mL",
        "strength": _strength(dose),
    }


def _infusion_row(running: Infusion, language: str) -> dict[str, Any]:
    stopped = running.status == _STOPPED
    strength_mg_ml = running.pump_ml_h.inputs.get("strength_mg_ml")
    known = text("mg_ml", strength_mg_ml) if isinstance(strength_mg_ml, float) else ""
    by_volume = running.rate.unit.startswith("ml")
    return {
        **_row(running, language),
        "dose": printed(dose_text(running.rate.value or 0.0, running.rate.unit)),
        "total": _NOTHING if stopped else of(running.mass_mg_h),
        "volume": _NOTHING if stopped else of(running.pump_ml_h),
        "blank_unit": "mL/h",
        "details": [] if stopped else list(_details(running)),
        "strength": {"known": known or ("as it comes" if by_volume else ""), "choices": _choices(running)},
    }


def _details(running: Infusion) -> Iterator[str]:
    """Yield what a pump does not show: drops to count, what the case takes, when to stop."""
    if running.drip_per_s.value is not None:
        yield f"{of(running.drip_per_s)['value']} drops a second"
    if running.needed_ml is not None and running.needed_ml.value is not None:
        yield f"{text('needed_ml', running.needed_ml.value)} for the case"
    if running.stop_min is not None:
        yield f"stop {text('stop_min', running.stop_min.value)} after connecting"


def _row(each: AnimalDose | Infusion, language: str) -> dict[str, Any]:
    drug = each.chosen.drug
    return {
        "drug": drug.german if language == "de" else plain(drug.name),
        "use": plain(each.chosen.use),
        "class": drug.label_class.title,
        "route": each.chosen.route,
        "status": each.status,
        "by": " ".join(filter(None, (each.chosen.signed_by, each.chosen.signed_on))),
        "marks": " ".join(mark for mark, _ in _used(each.findings)),
        "remarks": [told(finding, language) for finding in each.findings if _said_in_full(finding)],
    }


def _strength(dose: AnimalDose) -> dict[str, Any]:
    """Return the strength, or those to choose from by hand: no volume is told before one is chosen."""
    found = dose.strength
    if found is None:
        return {"known": "", "choices": _choices(dose)}
    if found.puff_ug is not None:
        return {"known": f"{text('puff_ug', found.puff_ug)}/puff", "choices": []}
    return {"known": text("mg_ml", found.strength_mg_ml), "choices": []}


def _choices(each: AnimalDose | Infusion) -> list[str]:
    drug = each.chosen.drug
    diluted = drug.dilutions_mg_ml if isinstance(each, Infusion) else ()
    by_volume = [text("mg_ml", strength) for strength in (*drug.strengths_mg_ml, *diluted)]
    return [*by_volume, *(f"{text('puff_ug', puff)}/puff" for puff in drug.puffs_ug)]


def _said_in_full(finding: Finding) -> bool:
    return finding.code not in _MARKS and finding.code not in _BY_STATUS_OR_BOX


def _used(findings: Iterable[Finding]) -> list[tuple[str, str]]:
    codes = {finding.code for finding in findings}
    return [mark for code, mark in _MARKS.items() if code in codes]


def _refused(findings: Iterable[Finding], language: str) -> Iterator[str]:
    for finding in findings:
        if finding.code == _REFUSED:
            yield f"NOT GIVEN. {told(finding, language)['says']}"


def _alike(findings: Iterable[Finding]) -> Iterator[str]:
    pairs = sum(finding.code == _ALIKE for finding in findings)
    if pairs:
        yield (
            f"{pairs} pairs of these syringes would hold nearly the same volume {UNKNOWN} label each before "
            "it is filled, and lay no two side by side."
        )
