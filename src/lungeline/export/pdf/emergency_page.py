"""The emergency card: large type, each drug in milligram and millilitre from every strength that is about."""

from collections.abc import Iterator
from typing import Any

from lungeline.case import Reasoned
from lungeline.export.pdf.heading import weight_band
from lungeline.export.pdf.number_print import amount, band, of, plain, text
from lungeline.export.pdf.told_findings import dose_name
from lungeline.plan import Plan
from lungeline.plan.drugs.dose_text import dose_text
from lungeline.plan.drugs.doses import AnimalDose
from lungeline.plan.drugs.emergency import EmergencyCard, EmergencyLine, volumes_by_strength
from lungeline.plan.drugs.labels import printed

_MISSING = "emergency_dose_missing"
_MEMORY = "from memory"
_FACTS = {
    "compressions_per_min": "chest compressions",
    "etco2_before_mmhg": "EtCO2, circulation stopped",
    "etco2_at_return_mmhg": "EtCO2, circulation coming back",
}


def emergency_page(plan: Plan) -> dict[str, Any]:
    """Return the content of the emergency card."""
    animal, card = plan.case.animal, plan.emergency
    missing = [finding for finding in card.findings if finding.code == _MISSING]
    return {
        "kind": "emergency",
        "title": "EMERGENCY",
        "species": animal.species,
        "weight": amount("weight_kg", animal.weight_kg),
        "weight_band": weight_band(plan),
        "unsigned": "NOT SIGNED: doses as published. Settle one of each before you begin."
        if any(line.chosen is None for line in card.lines)
        else "",
        "lines": [_line(line, card) for line in card.lines],
        "missing": f"NO DOSE for a {animal.species}: {', '.join(map(dose_name, missing))}."
        if missing
        else "",
        "facts_title": "Resuscitation, as published",
        "facts": sorted(_facts(card.facts), key=lambda fact: fact["label"]),
    }


def _line(line: EmergencyLine, card: EmergencyCard) -> dict[str, Any]:
    doses = line.published if line.chosen is None else (line.chosen,)
    return {
        "drug": plain(line.drug),
        "use": plain(line.use),
        "signed": _signature(line, card),
        "doses": [_dose(dose, chosen=line.chosen is not None) for dose in doses],
    }


def _signature(line: EmergencyLine, card: EmergencyCard) -> str:
    if line.chosen is not None:
        return f"signed {line.chosen.chosen.signed_by}, {line.chosen.chosen.signed_on}"
    place = f"emergency.{line.drug}.{line.use}."
    stopped = any(each.severity == "stop" and each.about.startswith(place) for each in card.findings)
    return "SIGNED DOSE STOPPED: doses as published" if stopped else "NOT SIGNED"


def _dose(dose: AnimalDose, *, chosen: bool) -> dict[str, Any]:
    return {
        "dose": printed(dose_text(dose.dose.value or 0.0, dose.dose.unit)),
        "route": dose.chosen.route,
        "total": of(dose.total_mg),
        "volumes": list(_volumes(dose)),
        "source": "" if chosen else _source(dose),
    }


def _volumes(dose: AnimalDose) -> Iterator[dict[str, str]]:
    """Yield the signed strength's volume, else that from each strength that is about."""
    if dose.volume_ml.value is not None:
        known = dose.strength.strength_mg_ml if dose.strength else None
        yield of(dose.volume_ml) | {"of": text("mg_ml", known) if known else ""}
        return
    for each in volumes_by_strength(dose):
        yield amount("volume_ml", each["volume_ml"]) | {"of": text("mg_ml", each["strength_mg_ml"])}


def _source(dose: AnimalDose) -> str:
    published = dose.chosen.published[0].figure
    return _MEMORY if published.rests_on_memory else published.source


def _facts(facts: tuple[Reasoned, ...]) -> Iterator[dict[str, str]]:
    for fact in facts:
        what = fact.name.rpartition(".")[2]
        shown = of(fact)
        yield {
            "label": _FACTS.get(what, plain(what.removesuffix(f"_{fact.unit}"))),
            "value": f"{band(fact) or shown['value']} {shown['unit']}",
            "source": _MEMORY if fact.basis == "memory" else fact.sources[0],
            "note": fact.note,
        }
