"""Allometry, dead space and oxygen use by weight."""

import pytest

from lungeline.physiology.allometry import (
    dead_space_stahl1967_l,
    functional_residual_capacity_stahl1967_l,
    lung_compliance_stahl1967_l_cmh2o,
    minute_volume_stahl1967_l_min,
    oxygen_use_stahl1967_ml_min,
    resistance_stahl1967_cmh2o_s_l,
    respiratory_rate_stahl1967_per_min,
    tidal_volume_stahl1967_l,
    total_lung_capacity_stahl1967_l,
)
from lungeline.physiology.size import (
    airway_dead_space_l,
    oxygen_use_at_temperature_ml_min,
    oxygen_use_brody1945_ml_min,
)

# Stahl, J Appl Physiol 1967;22:453-460, coefficients from memory; table worked out once apart from this code:
# kg, FRC L, TLC L, VT L, VD L, VO2 mL/kg/min, VE L/min, rate, lung compliance mL/cmH2O, resistance
TABLE = (
    (50.0, 2.0, 3.4, 0.45, 0.12, 4.5, 8.7, 19.0, 91.0, 1.58),
    (140.0, 6.4, 10.1, 1.31, 0.32, 3.5, 19.7, 15.0, 266.0, 0.77),
    (300.0, 15.2, 22.6, 2.90, 0.66, 3.0, 36.0, 12.0, 588.0, 0.45),
    (500.0, 27.0, 38.8, 4.9, 1.08, 2.6, 55.0, 10.6, 1000.0, 0.31),
    (650.0, 36.4, 51.3, 6.5, 1.38, 2.5, 67.0, 9.9, 1314.0, 0.26),
)


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row[0]:.0f} kg")
def test_stahl_table(row: tuple[float, ...]) -> None:
    weight_kg, frc, tlc, tidal, dead, oxygen, minute, rate, compliance, resistance = row
    assert functional_residual_capacity_stahl1967_l(weight_kg) == pytest.approx(frc, abs=0.06)
    assert total_lung_capacity_stahl1967_l(weight_kg) == pytest.approx(tlc, abs=0.06)
    assert tidal_volume_stahl1967_l(weight_kg) == pytest.approx(tidal, abs=0.06)
    assert dead_space_stahl1967_l(weight_kg) == pytest.approx(dead, abs=0.006)
    assert oxygen_use_stahl1967_ml_min(weight_kg) / weight_kg == pytest.approx(oxygen, abs=0.06)
    assert minute_volume_stahl1967_l_min(weight_kg) == pytest.approx(minute, rel=0.01)
    assert respiratory_rate_stahl1967_per_min(weight_kg) == pytest.approx(rate, rel=0.03)
    assert 1000.0 * lung_compliance_stahl1967_l_cmh2o(weight_kg) == pytest.approx(compliance, rel=0.01)
    assert resistance_stahl1967_cmh2o_s_l(weight_kg) == pytest.approx(resistance, abs=0.006)


def test_textbook_lung_volume_of_a_standing_horse() -> None:
    # 51 mL/kg, textbook (second-hand); Stahl gives 54 at 500 kg
    assert 1000.0 * functional_residual_capacity_stahl1967_l(500.0) / 500.0 == pytest.approx(51.0, rel=0.07)


# 10 × kg^0.75 (memory); mL/kg/min worked out once apart from this code
@pytest.mark.parametrize(
    ("weight_kg", "oxygen_ml_kg_min"),
    [(50.0, 3.8), (100.0, 3.2), (200.0, 2.7), (300.0, 2.4), (500.0, 2.1), (600.0, 2.0), (800.0, 1.9)],
)
def test_oxygen_use_by_weight(weight_kg: float, oxygen_ml_kg_min: float) -> None:
    assert oxygen_use_brody1945_ml_min(weight_kg) / weight_kg == pytest.approx(oxygen_ml_kg_min, abs=0.06)


def test_oxygen_use_by_temperature() -> None:
    # × 1.07 a degree (memory): arithmetic for two degrees of cooling
    assert oxygen_use_at_temperature_ml_min(1000.0, 35.5) == pytest.approx(1000.0 / 1.07**2, rel=1e-12)


def test_dead_space_is_the_sum_of_its_parts() -> None:
    # arithmetic; 2.2 mL/kg is Stahl's at 500 kg (memory): 1.08 L
    assert airway_dead_space_l(500.0, 2.2, 0.0, 0.0) == pytest.approx(dead_space_stahl1967_l(500.0), rel=0.03)
    assert airway_dead_space_l(500.0, 2.5, 0.53, 0.15) == pytest.approx(1.93, abs=1e-9)
