"""What stands on the labels of the syringes: class and colour in words and as a colour, amounts, animal.

The colour helps to find a drug's class and never stands for the name: each label tells its class in words.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from lungeline.case.profile import Language
from lungeline.plan.drugs.dose_text import dose_text
from lungeline.plan.drugs.doses import AnimalDose
from lungeline.plan.drugs.infusions import Infusion
from lungeline.reference.formulary import Drug

_WAITS = "stopped"


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """One label. Numbers are None where they are still to be settled; the strength is then written by hand.

    dose and strength: as a person reads them, microgram spelled out. hex_colour: of the class, for a screen;
    striped: white stripes over it, for drugs of opposite action. from_memory: the colour was not seen.
    """

    drug: str
    use: str
    label_class: str
    class_title: str
    colour: str
    hex_colour: str
    pantone: str
    striped: bool
    from_memory: bool
    dose: str
    strength: str
    route: str
    total_mg: float | None
    volume_ml: float | None
    pump_ml_h: float | None
    species: str
    weight_kg: float
    status: str
    double_check: bool

    def as_json(self) -> dict[str, Any]:
        """Return the label as a plain object."""
        return {name: getattr(self, name) for name in self.__slots__}


def labels(
    doses: Iterable[AnimalDose], infusions: Iterable[Infusion] = (), language: Language = "en"
) -> tuple[Label, ...]:
    """Return a label for every dose and infusion that may be drawn up; a stopped one gets none."""
    of_doses = [_of_dose(dose, language) for dose in doses if dose.status != _WAITS]
    return (*of_doses, *(_of_infusion(each, language) for each in infusions if each.status != _WAITS))


def printed(text: str) -> str:
    """Return a dose or strength for print: microgram is spelled, for a µ is soon read as m.

    >>> printed("80 µg/kg")
    '80 microgram/kg'
    """
    return text.replace("\N{MICRO SIGN}g", "microgram")


def _of_dose(dose: AnimalDose, language: Language) -> Label:
    strength = dose.strength
    written = ""
    if strength is not None and strength.strength_mg_ml is not None:
        written = f"{strength.strength_mg_ml:g} mg/mL"
    elif strength is not None and strength.puff_ug is not None:
        written = printed(f"{strength.puff_ug:g} \N{MICRO SIGN}g/puff")
    return Label(
        **_class_of(dose.chosen.drug, language),
        use=dose.chosen.use,
        dose=printed(dose_text(dose.dose.value or 0.0, dose.dose.unit)),
        strength=written,
        route=dose.chosen.route,
        total_mg=dose.total_mg.value,
        volume_ml=dose.volume_ml.value,
        pump_ml_h=None,
        species=dose.whom.animal.species,
        weight_kg=dose.whom.weight_kg,
        status=dose.status,
    )


def _of_infusion(running: Infusion, language: Language) -> Label:
    strength_mg_ml = running.pump_ml_h.inputs.get("strength_mg_ml")
    return Label(
        **_class_of(running.chosen.drug, language),
        use=running.chosen.use,
        dose=printed(dose_text(running.rate.value or 0.0, running.rate.unit)),
        strength=f"{strength_mg_ml:g} mg/mL" if isinstance(strength_mg_ml, float) else "",
        route=running.chosen.route,
        total_mg=None,
        volume_ml=running.order.container_ml,
        pump_ml_h=running.pump_ml_h.value,
        species=running.whom.animal.species,
        weight_kg=running.whom.weight_kg,
        status=running.status,
    )


def _class_of(drug: Drug, language: Language) -> dict[str, Any]:
    found = drug.label_class
    return {
        "drug": drug.german if language == "de" else drug.name.replace("_", " "),
        "label_class": found.key,
        "class_title": found.title,
        "colour": found.colour,
        "hex_colour": found.hex_colour,
        "pantone": found.pantone,
        "striped": found.striped,
        "from_memory": found.seen == "memory",
        "double_check": drug.double_check,
    }
