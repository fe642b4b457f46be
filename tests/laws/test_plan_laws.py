"""What holds for the plan of any animal."""

import json
import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lungeline.case import Animal, Case, Profile
from lungeline.case.animal import WEIGHT_RANGE_KG
from lungeline.plan import make_plan
from lungeline.plan.model import Model
from lungeline.plan.starting import starting
from lungeline.reference import figure

pytestmark = pytest.mark.slow  # runs the compiled kernel
SHARES = (0.05, 0.5, 0.95)


def weight_kg(species: str, share: float) -> float:
    low, high = WEIGHT_RANGE_KG[species]
    return low + share * (high - low)


def numbers_in(told: Any, where: str = "") -> list[tuple[str, float]]:  # noqa: ANN401  any value of JSON
    """Every number of a JSON value, with its place."""
    if isinstance(told, dict):
        return [found for key, each in told.items() for found in numbers_in(each, f"{where}.{key}")]
    if isinstance(told, list):
        return [found for place, each in enumerate(told) for found in numbers_in(each, f"{where}[{place}]")]
    is_number = isinstance(told, int | float) and not isinstance(told, bool)
    return [(where, float(told))] if is_number else []


@pytest.mark.parametrize("species", sorted(WEIGHT_RANGE_KG))
@pytest.mark.parametrize("share", SHARES)
def test_a_plan_for_any_animal_is_finite_and_positive(species: str, share: float) -> None:
    case = Case(animal=Animal(species=species, weight_kg=weight_kg(species, share)))  # type: ignore[arg-type]  # a species of the list
    told = make_plan(case, animals=2).as_json()
    told.pop("case")  # holds what was given, such as an altitude below the sea
    for place, value in numbers_in(told):
        assert math.isfinite(value), place
        # pressure counts from the room's: it dips below while the animal draws in
        assert value >= (-1.0 if "pressure" in place else 0.0), place
    json.dumps(told, allow_nan=False)


@pytest.mark.parametrize("species", ["foal", "calf"])
def test_no_adult_default_on_the_young(species: str) -> None:
    case = Case(animal=Animal(species=species, weight_kg=weight_kg(species, 0.3)))  # type: ignore[arg-type]  # as above
    begun = starting(case, Profile())
    rate = figure(f"defaults.{species}.respiratory_rate_per_min")
    assert begun.settings.respiratory_rate_per_min == rate.value
    plan = make_plan(case, animals=2)
    for dose in plan.drugs.doses:
        assert dose.chosen.borrowed_from == "", dose.name
    assert (plan.tubes.expected_diameter_mm.value or 0.0) < 20.0  # an adult's is 24 to 30 mm


@given(one=st.floats(200.0, 900.0), other=st.floats(200.0, 900.0), per_kg_ml=st.floats(8.0, 15.0))
def test_heavier_never_means_a_smaller_breath(one: float, other: float, per_kg_ml: float) -> None:
    profile = Profile(tidal_volume_ml_kg=per_kg_ml)
    light, heavy = (
        starting(Case(animal=Animal(species="horse", weight_kg=each)), profile).settings.tidal_volume_l
        for each in sorted((one, other))
    )
    assert light <= heavy


@settings(max_examples=8)
@given(weight=st.floats(350.0, 700.0), rate=st.floats(6.0, 9.0))
def test_carbon_dioxide_falls_with_ventilation(weight: float, rate: float) -> None:
    case = Case(animal=Animal(species="horse", weight_kg=weight))
    model = Model(case)
    slow, fast = (
        model.steady(replace(case.settings, respiratory_rate_per_min=each)) for each in (rate, rate + 1.5)
    )
    assert (fast.paco2_mmhg or 0.0) < (slow.paco2_mmhg or 0.0)


@settings(max_examples=8)
@given(weight=st.floats(350.0, 700.0), one=st.floats(0.0, 20.0), other=st.floats(0.0, 20.0))
def test_more_leak_never_means_less_need(weight: float, one: float, other: float) -> None:
    from lungeline.plan.gas.spare import spare

    needs = []
    for leak in sorted((one, other)):
        case = Case(animal=Animal(species="horse", weight_kg=weight))
        leaky = replace(case, equipment=replace(case.equipment, leak_at_30_cmh2o_ml_min=1000.0 * leak))
        needs.append(spare(Model(leaky), leaky.settings, Profile()).value("needed_l"))
    # within what a changed lung volume at the end of half an hour may show
    assert needs[0] <= needs[1] + 0.02
