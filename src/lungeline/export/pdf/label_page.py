"""Labels for syringes and bags: class in words above its colour, then drug, amounts and whose it is."""

from typing import Any

from lungeline.export.pdf.number_print import amount, plain, text
from lungeline.plan import Plan
from lungeline.plan.drugs.labels import Label

_WHITE = "#FFFFFF"
_FROM_MEMORY = "*"
_RATES = ("/h", "/min")
_BY_VOLUME, _BY_VOLUME_WORDS = "mL/kg", "as it comes"


def label_page(plan: Plan) -> dict[str, Any]:
    """Return the content of the labels sheet."""
    return {
        "kind": "labels",
        "title": "Labels",
        "lead": "A colour tells the class only; read the name. A blank is filled in by hand from the bottle.",
        "foot": f"{_FROM_MEMORY} this class's colour was not seen in the standard (ISO 26825)."
        if any(label.from_memory for label in plan.labels)
        else "",
        "none": "" if plan.labels else "No drug may be drawn up: see the drug sheet.",
        "labels": [_label(label) for label in plan.labels],
        "words": {"drawn": "drawn, time", "second": "checked"},
    }


def _label(label: Label) -> dict[str, Any]:
    infused = label.dose.endswith(_RATES)
    inhaled = label.route.casefold().startswith("inhal")
    return {
        "class": f"{label.class_title}{_FROM_MEMORY if label.from_memory else ''}",
        "colour": label.hex_colour or _WHITE,
        "colour_name": label.colour,
        "striped": label.striped,
        "drug": plain(label.drug),
        "use": plain(label.use),
        "dose": label.dose,
        "route": label.route,
        "total": amount("total_mg", label.total_mg) if label.total_mg is not None else None,
        "volume": _volume(label),
        "blank_unit": "mL/h" if infused else ("puffs" if inhaled else "mL"),
        "blank_strength": "microgram/puff" if inhaled else "mg/mL",
        "strength": label.strength or (_BY_VOLUME_WORDS if infused and _BY_VOLUME in label.dose else ""),
        "whom": f"{label.species} {text('weight_kg', label.weight_kg)}",
        "status": label.status,
        "double_check": label.double_check,
    }


def _volume(label: Label) -> dict[str, str] | None:
    """Return what to draw up, or what the pump is set to; None where it is still to be settled."""
    if label.pump_ml_h is not None:
        return amount("pump_ml_h", label.pump_ml_h)
    return amount("volume_ml", label.volume_ml) if label.volume_ml is not None else None
