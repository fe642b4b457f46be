"""Rules of thumb: what is set where nothing was said, from which figure, and that it says so."""

from typing import get_args

import pytest

from lungeline.case import Animal, Case, Equipment, Settings, Start
from lungeline.case.animal import WEIGHT_RANGE_KG, Species
from lungeline.case.defaults import RULED_SETTINGS
from lungeline.case.settings import Agent
from lungeline.errors import UnknownNameError
from lungeline.reference import figure, sources


def horse(**given: object) -> Case:
    return Case(animal=Animal(species="horse", weight_kg=500), settings=Settings(**given))  # type: ignore[arg-type]  # any setting


def test_a_horse_of_500_kg_is_set_as_is_common() -> None:
    # practice.horse_500kg: 5 L, 8 /min, 2 s in; arithmetic: 10 mL/kg × 500 kg = 5 L, 10 mL/kg/min = 5 L/min
    settings = horse().settings
    assert settings.tidal_volume_l == pytest.approx(figure("practice.horse_500kg.tidal_volume_l").value)
    assert settings.respiratory_rate_per_min == figure("practice.horse_500kg.respiratory_rate_per_min").value
    assert settings.inspiratory_time_s == figure("practice.horse_500kg.inspiratory_time_s").value
    assert settings.fresh_gas_flow_l_min == pytest.approx(5)


@pytest.mark.parametrize("species", get_args(Species))
def test_every_species_needs_no_more_than_a_weight(species: Species) -> None:
    for weight_kg in WEIGHT_RANGE_KG[species]:
        roomy = Equipment(reservoir_capacity_l=60)
        case = Case(animal=Animal(species=species, weight_kg=weight_kg), equipment=roomy)
        assert case.assumed_settings == RULED_SETTINGS
        for name, rule in case.rules_of_thumb().items():
            assert rule.name == f"settings.{name}"
            assert rule.source in sources()
            assert getattr(case.settings, name) == rule.value
            assert rule.low <= rule.value <= rule.high


def test_what_was_said_is_left_alone() -> None:
    case = horse(peep_cmh2o=0, tidal_volume_l=6.5)
    assert case.settings.peep_cmh2o == 0
    assert case.settings.tidal_volume_l == 6.5
    assert not {"peep_cmh2o", "tidal_volume_l"} & set(case.assumed_settings)
    assert case.rules_of_thumb()["tidal_volume_l"].value == pytest.approx(5)  # shown beside, not used


@pytest.mark.parametrize("agent", get_args(Agent))
def test_the_dial_follows_the_agent(agent: Agent) -> None:
    expected = figure(f"defaults.horse.vaporiser_{agent}_percent").value
    assert horse(agent=agent).settings.vaporiser_percent == expected


def test_a_small_foal_still_gets_the_least_fresh_gas() -> None:
    case = Case(animal=Animal(species="foal", weight_kg=40))
    # arithmetic: 15 mL/kg/min × 40 kg = 0.6 L/min, less than the least flow
    assert case.settings.fresh_gas_flow_l_min == figure("defaults.foal.fresh_gas_flow_least_l_min").value


def test_a_fast_rate_shortens_an_inspiration_nobody_chose() -> None:
    # arithmetic: 60 / 20 = 3 s, a third of it 1 s
    assert horse(respiratory_rate_per_min=20).settings.inspiratory_time_s == pytest.approx(1)
    rule = horse(respiratory_rate_per_min=20).rules_of_thumb()["inspiratory_time_s"]
    assert "third" in rule.note


def test_the_spare_volume_is_about_a_breath_once_settled_and_two_to_begin_with() -> None:
    animal = Animal(species="horse", weight_kg=500)
    # arithmetic on a breath of 5 L: 0.9 × 5 and 2 × 5
    assert Case(animal=animal).settings.spare_volume_l == pytest.approx(4.5)
    assert Case(animal=animal, start=Start(state="induced")).settings.spare_volume_l == pytest.approx(10)


def test_the_spare_volume_never_asks_for_more_than_the_reservoir_holds() -> None:
    small = Equipment(reservoir_capacity_l=8)
    case = Case(animal=Animal(species="horse", weight_kg=500), equipment=small)
    assert case.settings.spare_volume_l == pytest.approx(3)  # arithmetic: 8 - 5


def test_the_needle_lends_depth_just_after_induction() -> None:
    assert Start().injectable_mac_multiple == 0
    assert Start(state="induced").injectable_mac_multiple == 0.8
    assert Start(state="induced", injectable_mac_multiple=0.3).injectable_mac_multiple == 0.3
    animal = Animal(species="horse", weight_kg=500)
    # the dose of the start wanes by itself; only an infusion is a setting
    assert Case(animal=animal, start=Start(state="induced")).settings.injectable_mac_multiple == 0.0


def test_only_settings_with_a_rule_can_be_assumed() -> None:
    with pytest.raises(UnknownNameError, match="peep_cmh2o"):
        Case(animal=Animal(species="horse", weight_kg=500), assumed_settings=("peep",))
