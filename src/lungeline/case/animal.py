"""The animal on the table."""

from dataclasses import dataclass, field
from typing import Literal, get_args

from lungeline.case.checks import check_record
from lungeline.case.fields import choice, number
from lungeline.errors import InputError, OutOfRangeError

Species = Literal["horse", "pony", "donkey", "foal", "cattle", "calf"]
Position = Literal["dorsal", "left lateral", "right lateral", "sternal"]
Condition = Literal["healthy", "colic", "pregnant"]

# Lightest and heaviest animal [kg] that is taken for one of the species; wide, against slips. Assumption.
WEIGHT_RANGE_KG: dict[str, tuple[float, float]] = {
    "horse": (150.0, 1300.0),
    "pony": (50.0, 350.0),
    "donkey": (50.0, 500.0),
    "foal": (10.0, 300.0),
    "cattle": (150.0, 1500.0),
    "calf": (15.0, 300.0),
}
_RELATED: dict[str, tuple[str, ...]] = {
    "horse": ("foal", "pony"),
    "pony": ("foal", "horse"),
    "donkey": (),
    "foal": ("pony", "horse"),
    "cattle": ("calf",),
    "calf": ("cattle",),
}
_GROWN = {"foal": "pony or horse", "calf": "cattle"}
_OLDEST_YOUNG_YEARS = 1.0  # a foal becomes a yearling


@dataclass(frozen=True, slots=True, kw_only=True)
class Animal:
    """One animal: species, size, how it lies, and what sets it apart.

    species: horse is an adult riding horse, foal and calf are under one year.
    weight_kg: live weight; in a file, girth_cm and length_cm of an adult horse may stand for it.
    position: how it lies.
    age_years: age, where known.
    girth_cm: girth behind the elbow, by tape.
    length_cm: point of shoulder to point of buttock, by tape.
    condition: colic stands for a distended belly.
    head_up_deg: tilt of the table, negative where the head is down.
    temperature_c: body temperature.
    """

    species: Species = field(metadata=choice(get_args(Species), "species"))
    weight_kg: float = field(metadata=number(5, 1500, "weight"))
    position: Position = field(default="dorsal", metadata=choice(get_args(Position), "position"))
    age_years: float | None = field(default=None, metadata=number(0, 60, "age"))
    girth_cm: float | None = field(default=None, metadata=number(30, 320, "girth"))
    length_cm: float | None = field(default=None, metadata=number(30, 320, "body length"))
    condition: Condition = field(default="healthy", metadata=choice(get_args(Condition), "condition"))
    head_up_deg: float = field(default=0.0, metadata=number(-15, 15, "tilt of the table, head up"))
    temperature_c: float = field(default=37.5, metadata=number(30, 43, "body temperature"))

    def __post_init__(self) -> None:
        """Refuse what no animal is."""
        check_record(self, "animal")
        _check_weight(self.species, self.weight_kg)
        _check_age(self)


def _check_weight(species: str, weight_kg: float) -> None:
    low, high = WEIGHT_RANGE_KG[species]
    if low <= weight_kg <= high:
        return
    fitting = [
        other
        for other in _RELATED[species]
        if WEIGHT_RANGE_KG[other][0] <= weight_kg <= WEIGHT_RANGE_KG[other][1]
    ]
    instead = " or ".join(f'species = "{other}"' for other in fitting)
    raise OutOfRangeError(
        where="animal.weight_kg",
        given=weight_kg,
        allowed=f"{low:g} to {high:g} kg for species {species}",
        do=f"Correct the weight{f', or write {instead}' if instead else ''}.",
    )


def _check_age(animal: Animal) -> None:
    grown = _GROWN.get(animal.species)
    if grown and animal.age_years is not None and animal.age_years > _OLDEST_YOUNG_YEARS:
        raise OutOfRangeError(
            where="animal.age_years",
            given=animal.age_years,
            allowed=f"0 to {_OLDEST_YOUNG_YEARS:g} years for species {animal.species}",
            do=f"Correct the age, or write the species as {grown}.",
        )
    if grown and animal.condition == "pregnant":
        raise InputError(
            where="animal.condition",
            given=animal.condition,
            allowed=f"healthy or colic for species {animal.species}",
            do="Correct the condition or the species.",
        )
