"""Spare gas: the sum, what the simulated first breath really takes, and manoeuvres."""

from dataclasses import replace

import pytest

from lungeline.case import Animal, Case, Change, DeepBreath, Equipment, Profile, Settings, Start
from lungeline.plan.gas.spare import Spare, spare
from lungeline.plan.model import Model
from lungeline.plan.starting import starting
from lungeline.simulate.run import simulate

pytestmark = pytest.mark.slow  # runs the compiled kernel


def planned(case: Case, profile: Profile | None = None) -> tuple[Settings, Spare]:
    chosen = profile or Profile()
    settings = starting(case, chosen).settings
    return settings, spare(Model(case), settings, chosen)


def horse(weight_kg: float, **equipment: float) -> Case:
    return Case(animal=Animal(species="horse", weight_kg=weight_kg), equipment=Equipment(**equipment))  # type: ignore[arg-type]  # numbers only


@pytest.mark.parametrize("weight_kg", [410.0, 500.0, 620.0])
def test_common_practice_of_spare_gas(weight_kg: float) -> None:
    # common practice, no source: about twice the tidal volume to begin with, 0.8 to 1 once settled
    settings, found = planned(horse(weight_kg))
    assert 1.8 <= found.value("to_begin_l") / settings.tidal_volume_l <= 2.4
    assert 0.8 <= found.value("settled_l") / settings.tidal_volume_l <= 1.0


@pytest.mark.parametrize("weight_kg", [410.0, 500.0, 620.0])
def test_a_first_breath_of_twice_the_tidal_volume_does_not_empty_the_reservoir(weight_kg: float) -> None:
    case = horse(weight_kg)
    settings, found = planned(case)
    deep = DeepBreath(volume_l=2.0 * settings.tidal_volume_l)
    connected = replace(
        case,
        settings=replace(settings, spare_volume_l=found.value("to_begin_l"), pressure_limit_cmh2o=60.0),
        assumed_settings=(),
        start=Start(state="induced"),
        changes=(Change(at_min=0.0, manoeuvre=deep),),
    )
    run = simulate(connected, 3.0)
    assert (
        max(breath.tidal_volume_inspired_l or 0.0 for breath in run.breaths) >= 1.9 * settings.tidal_volume_l
    )
    assert min(breath.spare_volume_l for breath in run.breaths if breath.spare_volume_l is not None) > 0.0
    assert run.at_end.room_air_entrained_l == 0.0


@pytest.mark.parametrize("weight_kg", [410.0, 500.0, 620.0])
def test_nor_do_the_breaths_it_takes_itself_after_induction(weight_kg: float) -> None:
    case = horse(weight_kg)
    settings, found = planned(case)
    breathes = replace(
        case,
        settings=replace(settings, mode="spontaneous", spare_volume_l=found.value("to_begin_l")),
        assumed_settings=(),
        start=Start(state="induced"),
    )
    run = simulate(breathes, 10.0)
    deepest_l = max(breath.tidal_volume_inspired_l or 0.0 for breath in run.breaths)
    assert deepest_l > settings.tidal_volume_l
    assert min(breath.spare_volume_l for breath in run.breaths if breath.spare_volume_l is not None) > 0.0


def test_the_need_is_the_sum_of_its_parts() -> None:
    settings, found = planned(horse(500.0))
    total_l = sum(part.value or 0.0 for part in found.parts.values())
    assert found.value("needed_l") == pytest.approx(total_l - settings.tidal_volume_l)


def test_a_reservoir_too_small_is_a_stop() -> None:
    _, found = planned(horse(600.0, reservoir_capacity_l=12.0))
    assert {each.code for each in found.findings if each.severity == "stop"} == {"spare_below_need"}
    assert found.value("ceiling_l") <= 12.0


def test_more_leak_and_more_peep_never_need_less() -> None:
    settings, tight = planned(horse(500.0))
    _, leaky = planned(horse(500.0, leak_at_30_cmh2o_ml_min=4000.0))
    assert leaky.value("needed_l") > tight.value("needed_l")
    model = Model(horse(500.0))
    higher = spare(model, replace(settings, peep_cmh2o=settings.peep_cmh2o + 10.0), Profile())
    assert higher.value("needed_l") > tight.value("needed_l")


def test_recruitment_is_told_to_be_beyond_a_usual_reservoir() -> None:
    _, found = planned(horse(550.0))
    need = next(each for each in found.manoeuvres if each.name.startswith("recruitment"))
    assert (
        not need.one_delivery
    )  # 60 to 80 cmH2O take 15 to 21 L of a 550 kg horse: arithmetic from compliance
    assert 15.0 <= need.needed_l + found.parts["first_breath_l"].value / 2.0 <= 35.0  # type: ignore[operator]  # always a number
    assert need.oxygen_after_fraction < 0.95
    assert any(each.code == "manoeuvre_beyond_reservoir" for each in found.findings)


def test_a_smaller_spare_makes_the_circle_follow_faster() -> None:
    _, found = planned(horse(500.0))
    assert found.value("time_constant_settled_min") < found.value("time_constant_to_begin_min")
