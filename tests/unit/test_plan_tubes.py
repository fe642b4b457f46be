"""Tubes around the usual size: what they cost, what fits, what is refused."""

from typing import get_args

import pytest

from lungeline.case import Animal, Case, Equipment, Place, Settings
from lungeline.case.animal import WEIGHT_RANGE_KG, Species
from lungeline.plan.animal.tubes import tubes
from lungeline.reference import figure


def a_case(species: Species, weight_kg: float, tube_mm: float | None = None) -> Case:
    """A case with a tube, or none said."""
    return Case(
        animal=Animal(species=species, weight_kg=weight_kg),
        equipment=Equipment(tube_internal_diameter_mm=tube_mm),
    )


def codes(case: Case) -> dict[str, str]:
    """Severity of each finding by its code."""
    return {finding.code: finding.severity for finding in tubes(case).findings}


def test_the_usual_size_is_among_the_options_and_fits() -> None:
    found = tubes(a_case("horse", 500.0))
    assert found.expected_diameter_mm.value == 26.0  # figure tubes.choice.horse_450_up, from memory
    fitting = [each.internal_diameter_mm.value for each in found.options if each.fits]
    assert 26.0 in fitting
    assert all(26.0 <= (each or 0.0) <= 30.0 for each in fitting)


def test_a_narrower_tube_costs_more_and_holds_less() -> None:
    options = tubes(a_case("horse", 350.0)).options
    assert len(options) == 5
    pressures = [each.pressure_cmh2o.value or 0.0 for each in options]
    volumes = [each.volume_l.value or 0.0 for each in options]
    assert pressures == sorted(pressures, reverse=True)
    assert volumes == sorted(volumes)


def test_the_pressure_is_that_of_the_mean_flow() -> None:
    # mean flow 5 L ÷ 2 s = 2.5 L/s, arithmetic; 26 mm × 100 cm at 2.5 L/s by Blasius and 1.5 dynamic heads:
    # 0.43 and 0.56 cmH2O at 4 L/s (worked in the formulas' doctests), by flow^1.75 and flow^2
    case = Case(
        animal=Animal(species="horse", weight_kg=500.0),
        settings=Settings(tidal_volume_l=5.0, inspiratory_time_s=2.0),
    )
    found = tubes(case)
    assert found.flow_l_s.value == 2.5
    option = next(each for each in found.options if each.internal_diameter_mm.value == 26.0)
    expected = 0.43 * (2.5 / 4.0) ** 1.75 + 0.56 * (2.5 / 4.0) ** 2
    assert option.pressure_cmh2o.value == pytest.approx(expected, rel=0.02)
    assert option.resistance_cmh2o_s_l.value == pytest.approx(expected / 2.5, rel=0.02)


def test_a_planned_flow_may_be_given() -> None:
    slow, fast = (tubes(a_case("horse", 500.0), flow).options[0] for flow in (1.0, 4.0))
    assert (fast.pressure_cmh2o.value or 0.0) > 8.0 * (slow.pressure_cmh2o.value or 0.0)


def test_thin_air_costs_less() -> None:
    low, high = (
        tubes(Case(animal=Animal(species="horse", weight_kg=500.0), place=Place(altitude_m=altitude)))
        for altitude in (0.0, 3000.0)
    )
    assert (high.options[0].pressure_cmh2o.value or 0.0) < (low.options[0].pressure_cmh2o.value or 0.0)


@pytest.mark.parametrize("species", ["foal", "calf"])
def test_an_adult_tube_in_the_young_is_refused(species: Species) -> None:
    case = a_case(species, 60.0, 26.0)
    assert codes(case)["tube_adult_size"] == "stop"
    adult = next(each for each in tubes(case).options if each.internal_diameter_mm.value == 26.0)
    assert not adult.fits
    assert adult.why


def test_no_young_animal_is_offered_an_adult_tube() -> None:
    for species in ("foal", "calf"):
        for weight_kg in (20.0, 50.0, 100.0):
            offered = tubes(a_case(species, weight_kg)).options
            assert max(each.internal_diameter_mm.value or 0.0 for each in offered if each.fits) <= 20.0


def test_a_tube_too_wide_for_a_small_horse_is_a_caution() -> None:
    assert codes(a_case("horse", 320.0, 30.0))["tube_too_wide"] == "caution"


def test_the_tube_that_injured_average_horses_is_named() -> None:
    # 30 mm in an average 500 kg horse: a high rate of tracheal injury (Burns 2020, abstract)
    assert codes(a_case("horse", 500.0, 30.0)) == {"tube_wide_injures": "caution"}
    assert codes(a_case("horse", 620.0, 30.0)) == {}


def test_a_narrow_tube_is_named_with_what_it_costs() -> None:
    found = next(each for each in tubes(a_case("horse", 550.0, 18.0)).findings if each.code == "tube_narrow")
    dearer = found.figures["dearer_cmh2o"]
    assert isinstance(dearer, float)
    assert dearer > 0.5


def test_a_size_between_the_listed_ones_is_worked_out() -> None:
    option = next(
        each
        for each in tubes(a_case("horse", 500.0, 25.0)).options
        if each.internal_diameter_mm.value == 25.0
    )
    neighbours = [figure(f"tubes.size.id_{mm}mm.volume_ml").value / 1000.0 for mm in (24, 26)]
    assert neighbours[0] < (option.volume_l.value or 0.0) < neighbours[1]


def test_weights_beyond_the_table_are_said() -> None:
    assert "tube_weight_outside" in codes(a_case("foal", 15.0))
    assert codes(a_case("foal", 50.0)) == {}


def test_every_species_has_tubes_over_its_weights() -> None:
    for species in get_args(Species):
        low, high = WEIGHT_RANGE_KG[species]
        for part in (0.05, 0.5, 0.95):
            found = tubes(a_case(species, low + part * (high - low)))
            assert any(each.fits for each in found.options)
            assert all((each.value or 0.0) > 0.0 for each in found.numbers)


def test_it_has_one_json_form() -> None:
    told = tubes(a_case("horse", 500.0)).as_json()
    assert set(told) == {"expected_diameter_mm", "flow_l_s", "options"}
    assert set(told["options"][0]) >= {"internal_diameter_mm", "pressure_cmh2o", "fits", "why"}
