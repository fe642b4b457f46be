"""Alveolar gas against published worked values."""

import pytest

from lungeline.physiology.alveolar_gas import (
    alveolar_arterial_difference_mmhg,
    alveolar_po2_mmhg,
    alveolar_po2_short_mmhg,
    alveolar_ventilation_for_paco2_l_min,
    arterial_alveolar_ratio,
    inspired_po2_mmhg,
    pao2_over_fio2_mmhg,
    rate_for_paco2_per_min,
    respiratory_exchange_ratio,
    steady_paco2_mmhg,
    ventilation_constant_mmhg,
)


def test_inspired_oxygen_at_sea_level() -> None:
    # (760 - 47) × 0.2093 = 149.23, teaching notes (full text)
    assert inspired_po2_mmhg(0.2093, 760.0, 47.0) == pytest.approx(149.23, abs=0.05)


def test_short_equation_on_air() -> None:
    # 99.73, A-a with PaO2 90 is 9.7 (printed 10), respiratory-care workbook answers (full text)
    alveolar = alveolar_po2_short_mmhg(0.21, 760.0, 47.0, 40.0, 0.8)
    assert alveolar == pytest.approx(99.73, abs=0.05)
    assert alveolar_arterial_difference_mmhg(alveolar, 90.0) == pytest.approx(9.7, abs=0.05)


def test_short_equation_with_the_ratio_ignored() -> None:
    # 713 × 0.6 - 40 = 387.8 (printed 388); A-a with 90 is 298, same workbook
    alveolar = alveolar_po2_short_mmhg(0.6, 760.0, 47.0, 40.0, 1.0)
    assert alveolar == pytest.approx(388.0, abs=0.5)
    assert alveolar_arterial_difference_mmhg(alveolar, 90.0) == pytest.approx(298.0, abs=0.5)


def test_short_equation_at_altitude() -> None:
    # PB 667: PIO2 130.2, PAO2 130.2 - 40 × 1.2 = 82.2, A-a with 75 is 7.2, a/A .912, worksheet (full
    # text)
    alveolar = alveolar_po2_short_mmhg(0.21, 667.0, 47.0, 40.0, 1.0 / 1.2)
    assert inspired_po2_mmhg(0.21, 667.0, 47.0) == pytest.approx(130.2, abs=0.05)
    assert alveolar == pytest.approx(82.2, abs=0.05)
    assert alveolar_arterial_difference_mmhg(alveolar, 75.0) == pytest.approx(7.2, abs=0.05)
    assert arterial_alveolar_ratio(75.0, alveolar) == pytest.approx(0.912, abs=0.001)


def test_full_equation_adds_its_correction() -> None:
    # 101.83; the correction F = 40 × .21 × .25 = 2.10, teaching notes give "about 2" (full text)
    full = alveolar_po2_mmhg(0.21, 760.0, 47.0, 40.0, 0.8)
    assert full == pytest.approx(101.83, abs=0.01)
    assert full - alveolar_po2_short_mmhg(0.21, 760.0, 47.0, 40.0, 0.8) == pytest.approx(2.10, abs=1e-9)


# Standard atmosphere with the full equation, computed once apart from this code; air is 0.2095
@pytest.mark.parametrize(
    ("pb_mmhg", "on_air_mmhg", "on_oxygen_mmhg"),
    [
        (760.0, 101.5, 627.0),
        (674.1, 83.5, 545.0),
        (596.3, 67.2, 471.0),
        (525.9, 52.4, 404.0),
        (405.2, 27.1, 290.0),
    ],
)
def test_altitude_table(pb_mmhg: float, on_air_mmhg: float, on_oxygen_mmhg: float) -> None:
    assert alveolar_po2_mmhg(0.2095, pb_mmhg, 47.0, 40.0, 0.8) == pytest.approx(on_air_mmhg, abs=0.15)
    assert alveolar_po2_mmhg(0.95, pb_mmhg, 47.0, 50.0, 0.8) == pytest.approx(on_oxygen_mmhg, abs=0.6)


def test_pao2_over_fio2_of_a_study_gives_its_oxygen() -> None:
    # Tucker et al., Animals 2022;12:353 (abstract): PaO2 437, P/F 455 mmHg, so oxygen was 96 %
    assert pao2_over_fio2_mmhg(437.0, 0.96) == pytest.approx(455.0, abs=0.5)


def test_exchange_ratio() -> None:
    # 200/250 = 0.8, worksheet (full text)
    assert respiratory_exchange_ratio(0.200, 0.250) == pytest.approx(0.8, rel=1e-12)


def test_the_constant_is_863() -> None:
    # 863 is standard (from memory); 760 × 310.15/273.15 by the gas law
    assert ventilation_constant_mmhg(37.0) == pytest.approx(863.0, abs=0.1)


# Derived with 863: a horse ventilated with 15 mL/kg × 6, dead space 0.5, so 45 mL/kg/min reach the alveoli
@pytest.mark.parametrize(("vco2_ml_kg_min", "paco2_mmhg"), [(2.0, 38.0), (2.4, 46.0), (2.8, 54.0)])
def test_steady_carbon_dioxide_of_a_horse(vco2_ml_kg_min: float, paco2_mmhg: float) -> None:
    weight_kg = 500.0
    output, ventilation = vco2_ml_kg_min * weight_kg / 1000.0, 45.0 * weight_kg / 1000.0
    assert steady_paco2_mmhg(output, ventilation, 37.0) == pytest.approx(paco2_mmhg, abs=0.5)
    assert alveolar_ventilation_for_paco2_l_min(output, paco2_mmhg, 37.0) == pytest.approx(
        ventilation, rel=0.01
    )


def test_rate_for_a_target() -> None:
    # arithmetic: with tidal volume and dead space unchanged, PaCO2 goes with one over the rate
    assert rate_for_paco2_per_min(6.0, 60.0, 45.0) == pytest.approx(8.0, rel=1e-12)
