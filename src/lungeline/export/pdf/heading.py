"""What stands at the head and foot of every sheet: which animal, by whose choices, and what to beware of."""

from importlib.metadata import version
from typing import Any

from lungeline.export.pdf.number_print import amount, text
from lungeline.plan import Plan
from lungeline.reference import species_status

_CAUTIONS = (
    "Decision support, not a medical device: it controls nothing.",
    "The attending veterinarian decides.",
    "Local codes and licensed practice come first.",
    "Oxygen feeds fire: no flame, spark or grease.",
    "Scavenge waste gas.",
)


def sheet_words(plan: Plan, mark: str = "") -> dict[str, Any]:
    """Return what every sheet bears, so that a loose one can be put back. mark: not real."""
    animal = plan.case.animal
    return words_of_sheet(plan.case.title, f"{animal.species}, {text('weight_kg', animal.weight_kg)}", mark)


def words_of_sheet(title: str, animal: str, mark: str = "") -> dict[str, Any]:
    """Return the words at head and foot of a sheet of anything."""
    return {
        "title": title,
        "animal": animal,
        "cautions": list(_CAUTIONS),
        "maker": f"lungeline {version('lungeline')}",
        "printed_word": "printed",
        "mark": mark,
    }


def plan_heading(plan: Plan) -> dict[str, Any]:
    """Return the head of the plan: animal, job, profile, and whether anything forbids to begin."""
    animal, job = plan.case.animal, plan.case.procedure
    return {
        "title": plan.case.title,
        "species": animal.species,
        "weight": amount("weight_kg", animal.weight_kg),
        "weight_band": weight_band(plan),
        "facts": [animal.position, animal.condition, *_more_facts(plan)],
        "job": f"{job.kind}, {text('expected_min', job.expected_min)} on the circle, "
        f"{text('off_circuit_min', job.off_circuit_min)} off it each way",
        "profile": profile_text(plan),
        "profile_signed": plan.profile.signed,
        "green": plan.green,
        "verdict": "Nothing in this plan forbids to begin."
        if plan.green
        else "DO NOT BEGIN before every STOP is settled.",
        "not_validated": _not_validated(plan),
    }


def weight_band(plan: Plan) -> str:
    """Return how the weight is known, and between what it lies."""
    low, _, high = plan.weight.band_kg
    how = plan.weight.weight_kg.formula
    if low == high:
        return f"{how}, no range known"
    return f"{how}, {amount('weight_kg', low)['value']} to {text('weight_kg', high)}"


def profile_text(plan: Plan) -> str:
    """Return which choices the plan was made by, and who answers for them."""
    profile = plan.profile
    if profile.signed:
        return f"Profile: {profile.name}, signed by {profile.signed_by} on {profile.signed_on}"
    return f"Profile: {profile.name} \N{EN DASH} NOBODY HAS SIGNED IT"


def _more_facts(plan: Plan) -> list[str]:
    animal, place = plan.case.animal, plan.case.place
    found = [f"{text('age_years', animal.age_years)} old"] if animal.age_years is not None else []
    if animal.head_up_deg:
        found.append(f"tilted {text('head_up_deg', animal.head_up_deg)}")
    return [*found, *([f"at {text('altitude_m', place.altitude_m)}"] if place.altitude_m else [])]


def not_validated_mark(plan: Plan) -> str:
    """Return two words for a sheet that bears forecasts but has no room for the reason."""
    return "" if species_status(plan.case.animal.species).validated else " \N{EN DASH} SPECIES NOT VALIDATED"


def _not_validated(plan: Plan) -> str:
    status = species_status(plan.case.animal.species)
    if status.validated:
        return ""
    return f"NOT VALIDATED for this species ({status.species}). {status.reason}"
