"""Carbon dioxide absorbent against stoichiometry and published lives."""

import pytest

from lungeline.physics.absorbent import (
    absorbent_capacity_l,
    absorbent_life_min,
    absorbent_water_g,
    absorber_efficiency_fraction,
    theoretical_capacity_l_100g,
)
from lungeline.physics.gas_laws import molar_volume_l_mol
from lungeline.reference import figure


# stoichiometry (arithmetic): 80 % hydroxide 26.0 L/100 g at 20 °C and 24.2 at 0 °C, 83 % 26.9
@pytest.mark.parametrize(
    ("hydroxide", "temperature_c", "expected"), [(0.80, 20.0, 26.0), (0.80, 0.0, 24.2), (0.83, 20.0, 26.9)]
)
def test_most_that_absorbent_could_take(hydroxide: float, temperature_c: float, expected: float) -> None:
    capacity = theoretical_capacity_l_100g(hydroxide, molar_volume_l_mol(temperature_c, 760.0))
    assert capacity == pytest.approx(expected, abs=0.06)


def trial_life_min(capacity_l_100g: float) -> float:
    """Return the life of the published canister, had it taken so much."""
    mass_kg = figure("absorbents.trial_mass_g").value / 1000.0
    output_l_min = figure("absorbents.trial_carbon_dioxide_ml_min").value / 1000.0
    return absorbent_life_min(absorbent_capacity_l(mass_kg, capacity_l_100g, 0.0), output_l_min, 0.0)


def test_life_of_a_published_canister() -> None:
    # G9: Jørgensen & Jørgensen, Acta Anaesthesiol Scand 1977;21:437 (abstract): 600 g, 300 mL/min, at least
    # 4 h. 12 L/100 g gives exactly 240 min; 10 would give 200, less than seen
    assert trial_life_min(figure("absorbents.capacity_l_100g").value) == pytest.approx(240.0, rel=1e-12)
    assert trial_life_min(10.0) == pytest.approx(200.0, rel=1e-12)


def test_life_of_a_kilogram_for_dogs() -> None:
    # G9: WSAVA 2014 (second-hand): about 30 h; a 20 kg dog gives 67 mL/min (arithmetic)
    life_h = absorbent_life_min(absorbent_capacity_l(1.0, 12.0, 0.0), 0.067, 0.0) / 60.0
    assert life_h == pytest.approx(29.9, abs=0.06)


# 500 kg giving 1.0 L/min, hours by mass and capacity (arithmetic)
@pytest.mark.parametrize(
    ("mass_kg", "capacity_l_100g", "expected_h"),
    [
        (2.5, 10.0, 4.2),
        (2.5, 20.0, 8.3),
        (5.0, 12.0, 10.0),
        (5.0, 15.0, 12.5),
        (7.0, 10.0, 11.7),
        (7.0, 12.0, 14.0),
    ],
)
def test_life_for_a_horse(mass_kg: float, capacity_l_100g: float, expected_h: float) -> None:
    life_h = absorbent_life_min(absorbent_capacity_l(mass_kg, capacity_l_100g, 0.0), 1.0, 0.0) / 60.0
    assert life_h == pytest.approx(expected_h, abs=0.06)


def test_gas_spilled_before_the_absorbent_spares_it() -> None:
    # arithmetic: a fifth spilled, a quarter longer; half used before, half as long
    assert absorbent_life_min(600.0, 1.0, 0.2) == pytest.approx(750.0, rel=1e-12)
    assert absorbent_life_min(absorbent_capacity_l(5.0, 12.0, 0.5), 1.0, 0.0) == pytest.approx(
        300.0, rel=1e-12
    )


# model's breakthrough, written out (closed form): (1 - bypass) / (1 + exp((used - 0.97) / 0.03))
@pytest.mark.parametrize(
    ("used", "bypass", "expected"),
    [
        (0.0, 0.0, 1.0),
        (0.90, 0.0, 0.9116),
        (0.97, 0.0, 0.5),
        (1.0, 0.0, 0.26894),
        (0.97, 0.5, 0.25),
        (2.0, 0.0, 0.0),
    ],
)
def test_breakthrough(used: float, bypass: float, expected: float) -> None:
    assert absorber_efficiency_fraction(600.0 * used, 600.0, bypass) == pytest.approx(expected, abs=5e-5)


def test_water_set_free() -> None:
    # one mole of water for one of carbon dioxide: 24.055 L give 18.015 g
    assert absorbent_water_g(24.055, 24.055) == pytest.approx(18.015, rel=1e-12)
