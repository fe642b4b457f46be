"""Laws of supplies and priming: monotone in leak and flow, round trips, finite and never negative."""

import math
from collections.abc import Iterable
from dataclasses import replace
from typing import get_args

from hypothesis import given
from hypothesis import strategies as st

from lungeline.case import (
    Animal,
    Case,
    Cylinder,
    Equipment,
    Place,
    Procedure,
    Profile,
    Reasoned,
    Settings,
    Start,
    Supply,
)
from lungeline.case.animal import WEIGHT_RANGE_KG, Species
from lungeline.case.settings import Agent
from lungeline.case.supply import DriveGas, OxygenSource
from lungeline.plan.animal.tubes import tubes
from lungeline.plan.animal.weight import weight
from lungeline.plan.gas.filling import Filling
from lungeline.plan.gas.priming import priming
from lungeline.plan.gas.supplies import supplies
from lungeline.plan.gas.vaporiser import Vaporiser

LEAKS_ML_MIN = st.floats(0.0, 100000.0)
FLOWS_L_MIN = st.floats(0.5, 40.0)
ENDLESS = math.inf


def animals() -> st.SearchStrategy[Animal]:
    """Every species at 5 to 95 % of its weight range."""

    def of(species: Species) -> st.SearchStrategy[Animal]:
        low, high = WEIGHT_RANGE_KG[species]
        span = high - low
        weights = st.floats(low + 0.05 * span, low + 0.95 * span)
        return weights.map(lambda kg: Animal(species=species, weight_kg=kg))

    return st.sampled_from(get_args(Species)).flatmap(of)


def a_case(leak_ml_min: float = 0.0, flow_l_min: float = 5.0) -> Case:
    """A horse on a cylinder."""
    return Case(
        animal=Animal(species="horse", weight_kg=500.0),
        start=Start(state="induced"),
        equipment=Equipment(leak_at_30_cmh2o_ml_min=leak_ml_min),
        settings=Settings(fresh_gas_flow_l_min=flow_l_min),
        supply=Supply(oxygen="cylinders", agent_liquid_ml=250.0),
        cylinders=(Cylinder(size="uk_j", gauge_bar=137.0),),
    )


def minutes(reasoned: Reasoned) -> float:
    """A number of minutes, infinite where it has no end."""
    return ENDLESS if reasoned.value is None else reasoned.value


@given(leaks=st.tuples(LEAKS_ML_MIN, LEAKS_ML_MIN), flow_l_min=FLOWS_L_MIN)
def test_more_leak_never_lengthens_endurance(leaks: tuple[float, float], flow_l_min: float) -> None:
    tight, leaky = (supplies(a_case(leak, flow_l_min), Profile()).oxygen_minutes for leak in sorted(leaks))
    assert minutes(leaky) <= minutes(tight)


@given(leaks=st.tuples(LEAKS_ML_MIN, LEAKS_ML_MIN))
def test_more_leak_never_lengthens_keeping_nor_shortens_priming(leaks: tuple[float, float]) -> None:
    tight, leaky = (priming(a_case(leak), Profile()) for leak in sorted(leaks))
    assert minutes(leaky.keeps_plugged_minutes) <= minutes(tight.keeps_plugged_minutes)
    assert minutes(leaky.keeps_open_minutes) <= minutes(tight.keeps_open_minutes)
    assert minutes(leaky.minutes) >= minutes(tight.minutes) * (1.0 - 1e-12)


@given(flows=st.tuples(FLOWS_L_MIN, FLOWS_L_MIN), leak_ml_min=LEAKS_ML_MIN)
def test_more_flow_never_lengthens_oxygen_or_agent(flows: tuple[float, float], leak_ml_min: float) -> None:
    low, high = (supplies(replace(a_case(leak_ml_min, flow)), Profile()) for flow in sorted(flows))
    assert minutes(high.oxygen_minutes) <= minutes(low.oxygen_minutes)
    assert minutes(high.agent.agent_minutes) <= minutes(low.agent.agent_minutes)


@given(gauges=st.tuples(st.floats(0.0, 300.0), st.floats(0.0, 300.0)))
def test_more_pressure_never_shortens(gauges: tuple[float, float]) -> None:
    less, more = (
        supplies(
            replace(a_case(), cylinders=(Cylinder(size="metric_50l", gauge_bar=gauge),)), Profile()
        ).oxygen_minutes
        for gauge in sorted(gauges)
    )
    assert minutes(more) >= minutes(less)


@given(reserves=st.tuples(st.floats(0.0, 0.9), st.floats(0.0, 0.9)))
def test_more_reserve_never_lengthens(reserves: tuple[float, float]) -> None:
    small, large = (
        supplies(a_case(), Profile(reserve_fraction=part)).oxygen_minutes for part in sorted(reserves)
    )
    assert minutes(large) <= minutes(small)


@given(
    flow_l_min=st.floats(2.0, 40.0),
    loss_l_min=st.floats(0.0, 1.9),
    circle_volume_l=st.floats(5.0, 60.0),
    ceiling_l=st.floats(1.0, 60.0),
    mixing_number=st.floats(0.5, 1.5),
    target=st.floats(0.22, 0.97),
)
def test_time_to_a_fraction_round_trips(  # noqa: PLR0913, PLR0917  what a filling is made of
    flow_l_min: float,
    loss_l_min: float,
    circle_volume_l: float,
    ceiling_l: float,
    mixing_number: float,
    target: float,
) -> None:
    filling = Filling(
        flow_l_min=flow_l_min,
        loss_l_min=loss_l_min,
        circle_volume_l=circle_volume_l,
        content_l=0.0,
        ceiling_l=ceiling_l,
        mixing_number=mixing_number,
    )
    lasts = filling.time_to_min(0.21, 1.0, target)
    assert math.isclose(filling.fraction_after(0.21, 1.0, lasts), target, rel_tol=1e-6)


@given(agent=st.sampled_from(get_args(Agent)), dial=st.floats(0.0, 8.0), altitude_m=st.floats(0.0, 4000.0))
def test_dial_round_trips(agent: Agent, dial: float, altitude_m: float) -> None:
    case = Case(
        animal=Animal(species="horse", weight_kg=500.0),
        place=Place(altitude_m=altitude_m),
        settings=Settings(agent=agent),
    )
    vaporiser = Vaporiser.of(case)
    back = vaporiser.dial_percent(vaporiser.delivered_fraction(dial))
    assert math.isclose(back, dial, rel_tol=1e-9, abs_tol=1e-12)


def every_number(case: Case, profile: Profile) -> Iterable[Reasoned]:
    """Every number a plan tells of supplies, priming, tubes and weight."""
    found = supplies(case, profile)
    primed = priming(case, profile)
    yield from found.numbers
    yield from primed.numbers
    if primed.with_agent is not None:
        yield from primed.with_agent.numbers
    yield from tubes(case).numbers
    yield weight(case.animal).weight_kg


@given(
    animal=animals(),
    agent=st.sampled_from(get_args(Agent)),
    oxygen=st.sampled_from(get_args(OxygenSource)),
    drive=st.sampled_from(get_args(DriveGas)),
    altitude_m=st.floats(0.0, 3500.0),
    expected_min=st.floats(5.0, 600.0),
    gauge_bar=st.floats(0.0, 300.0),
    dial=st.floats(0.0, 5.0),
)
def test_every_number_is_finite_and_not_negative(  # noqa: PLR0913, PLR0917  what a plan depends on
    animal: Animal,
    agent: Agent,
    oxygen: OxygenSource,
    drive: DriveGas,
    altitude_m: float,
    expected_min: float,
    gauge_bar: float,
    dial: float,
) -> None:
    case = Case(
        animal=animal,
        place=Place(altitude_m=altitude_m),
        settings=Settings(agent=agent),
        procedure=Procedure(expected_min=expected_min),
        supply=Supply(oxygen=oxygen, drive_gas=drive, agent_liquid_ml=150.0),
        cylinders=(Cylinder(size="us_e", gauge_bar=gauge_bar), Cylinder(size="metric_50l", gauge_bar=100.0)),
    )
    profile = Profile(priming_vaporiser_percent=dial, agent_price_per_100ml=20.0, oxygen_price_per_1000l=5.0)
    for each in every_number(case, profile):
        for value in (each.value, each.low, each.high):
            assert value is None or (math.isfinite(value) and value >= 0.0), each.name
        if each.value is not None and each.low is not None and each.high is not None:
            assert each.low <= each.value * (1.0 + 1e-12), each.name
            assert each.value <= each.high * (1.0 + 1e-12), each.name


@given(animal=animals())
def test_no_young_animal_gets_an_adult_tube(animal: Animal) -> None:
    offered = tubes(Case(animal=animal)).options
    widest = max(each.internal_diameter_mm.value or 0.0 for each in offered if each.fits)
    if animal.species in {"foal", "calf"}:
        assert widest <= 22.0
    assert widest <= 30.0
