"""Dead space and shunt against published values."""

import pytest

from lungeline.physiology.alveolar_gas import alveolar_po2_mmhg
from lungeline.physiology.dead_space import (
    alveolar_dead_space_fraction,
    alveolar_ventilation_l_min,
    dead_space_bohr1891_fraction,
    dead_space_enghoff1938_fraction,
    dead_space_l,
    paco2_from_etco2_mmhg,
    physiological_dead_space_fraction,
)
from lungeline.physiology.shunt import f_shunt_from_pressures_fraction, iso_shunt_pao2_mmhg
from lungeline.physiology.size import airway_dead_space_l

HORSE_P50_MMHG = 23.8  # Clerbaux et al. 1993 (abstract)


def alveolar(oxygen_fraction: float, paco2_mmhg: float) -> float:
    return alveolar_po2_mmhg(oxygen_fraction, 760.0, 47.0, paco2_mmhg, 0.8)


# --- dead space ---------------------------------------------------------------------------------------


def test_enghoff_worked_example() -> None:
    # PaCO2 40, mixed expired 27 -> .325; of 500 mL 162.5 mL, worksheet (full text)
    fraction = dead_space_enghoff1938_fraction(40.0, 27.0)
    assert fraction == pytest.approx(0.325, abs=1e-12)
    assert dead_space_l(0.500, fraction) == pytest.approx(0.1625, abs=1e-12)


def test_bohr_worked_example_in_percent() -> None:
    # alveolar 6.45 %, expired 4.35 % -> .3256 (printed .325), same worksheet
    assert dead_space_bohr1891_fraction(6.45, 4.35) == pytest.approx(0.3256, abs=0.00005)


def test_ventilation_worked_example() -> None:
    # 14 breaths of 0.5 L: 7 L/min, 0.35 × 14 = 4.9 to the alveoli, 0.15 × 14 = 2.1 wasted, same
    # worksheet
    reached = alveolar_ventilation_l_min(0.5, 0.15, 14.0)
    assert reached == pytest.approx(4.9, abs=1e-12)
    assert 14.0 * 0.5 - reached == pytest.approx(2.1, abs=1e-12)


def test_alveolar_dead_space_of_a_horse() -> None:
    # 50 and 38 mmHg -> .24; Moens, Equine Vet J 1989;21:282 (abstract): mean 23 ± 13 %
    fraction = alveolar_dead_space_fraction(50.0, 38.0)
    assert fraction == pytest.approx(0.24, abs=0.005)
    assert 0.10 <= fraction <= 0.36


def test_relative_and_absolute_gap_of_two_studies_agree() -> None:
    # 406 dorsal horses (abstract): gap 0.18 ± 0.03 of PaCO2; Moens 1989 (abstract): 12 ± 6 mmHg in 110
    # horses. At the end-tidal 45 to 55 mmHg aimed at in practice (Crivellari et al. 2021, abstract) both hold
    # together.
    for etco2_mmhg in (45.0, 50.0, 55.0):
        gap = paco2_from_etco2_mmhg(etco2_mmhg, 0.18) - etco2_mmhg
        assert gap == pytest.approx(12.0, abs=6.0)


@pytest.mark.parametrize("tidal_volume_ml_kg", [12.0, 13.0, 15.0])
def test_dead_space_of_a_ventilated_horse_from_its_parts(tidal_volume_ml_kg: float) -> None:
    # 0.50 (0.40 to 0.65) with 12 to 15 mL/kg, this project's range around the standing horse's 0.50 (Gallivan
    # et al. 1989, abstract). Parts: 2.2 mL/kg (Stahl 1967, memory), tube 26 mm × 100 cm 0.53 L (geometry), Y
    # 0.15 L (memory), alveolar 0.23 (Moens 1989, abstract)
    airway = airway_dead_space_l(500.0, 2.2, 0.53, 0.15)
    fraction = physiological_dead_space_fraction(tidal_volume_ml_kg * 0.5, airway, 0.23)
    assert 0.40 <= fraction <= 0.65


# --- shunt --------------------------------------------------------------------------------------------


# Table derived once, apart from this code: horse curve at pH 7.4, oxygen 0.95, PaCO2 50, Hb 11 g/dL
ISO_SHUNT = {
    3.0: (576, 519, 456, 386, 307, 219, 136, 89),
    4.0: (559, 484, 400, 307, 206, 120, 80, 63),
    5.0: (542, 448, 344, 230, 127, 81, 62, 52),
}
SHUNTS = (0.05, 0.10, 0.15, 0.20, 0.25, 0.30, 0.35, 0.40)


@pytest.mark.parametrize("difference_ml_dl", ISO_SHUNT)
def test_iso_shunt_table(difference_ml_dl: float) -> None:
    for shunt, printed in zip(SHUNTS, ISO_SHUNT[difference_ml_dl], strict=True):
        pressure = iso_shunt_pao2_mmhg(
            shunt, difference_ml_dl / 100.0, alveolar(0.95, 50.0), 7.4, HORSE_P50_MMHG, 11.0
        )
        assert pressure == pytest.approx(printed, abs=0.6)


@pytest.mark.parametrize(
    ("pao2_mmhg", "derived_percent", "published_percent"), [(437.0, 14.9, 14.2), (502.0, 10.5, 10.1)]
)
def test_f_shunt_of_published_pressures(
    pao2_mmhg: float, derived_percent: float, published_percent: float
) -> None:
    # Tucker et al., Animals 2022;12:353 (abstract): F-shunt 14.2 (13.8 to 16.0) at PaO2 437 and 10.1 (4.2 to
    # 11.7) at 502. Oxygen 0.96 is its PaO2 over its P/F; PaCO2 50 and Hb 11 are taken, for they were not
    # printed.
    percent = 100.0 * f_shunt_from_pressures_fraction(
        alveolar(0.96, 50.0), pao2_mmhg, 7.4, HORSE_P50_MMHG, 11.0
    )
    assert percent == pytest.approx(derived_percent, abs=0.05)
    assert percent == pytest.approx(published_percent, abs=1.5)


@pytest.mark.parametrize(("difference_l_l", "derived_mmhg"), [(0.035, 124.0), (0.040, 96.0), (0.045, 81.0)])
def test_arterial_oxygen_of_a_dorsal_horse_breathing_for_itself(
    difference_l_l: float, derived_mmhg: float
) -> None:
    # Vet Anaesth Analg 2012;39:480 (abstract): shunt 32 ± 6 %, PaO2 95 ± 31, PaCO2 64 mmHg, six horses on
    # oxygen; the three values are derived with oxygen 0.95 and Hb 11.5
    pressure = iso_shunt_pao2_mmhg(0.32, difference_l_l, alveolar(0.95, 64.0), 7.4, HORSE_P50_MMHG, 11.5)
    assert pressure == pytest.approx(derived_mmhg, abs=0.6)
    assert pressure == pytest.approx(95.0, abs=31.0)


@pytest.mark.parametrize(("p_over_f_mmhg", "derived_percent"), [(198.0, 28.0), (249.0, 26.0)])
def test_shunt_behind_a_published_oxygenation(p_over_f_mmhg: float, derived_percent: float) -> None:
    # 406 horses, conventional ventilation (abstract): P/F 198 dorsal, 249 lateral; shunt derived, "about"
    percent = 100.0 * f_shunt_from_pressures_fraction(
        alveolar(0.95, 50.0), 0.95 * p_over_f_mmhg, 7.4, HORSE_P50_MMHG, 11.0
    )
    assert percent == pytest.approx(derived_percent, abs=1.0)


def test_left_lateral_horses_have_a_smaller_f_shunt_than_shunt() -> None:
    # Briganti et al. (full abstract text): medians P/F 320 mmHg, F-shunt 26.1 (15.5 to 38.0), Qs/Qt 33.0
    percent = 100.0 * f_shunt_from_pressures_fraction(
        alveolar(0.95, 45.0), 0.95 * 320.0, 7.4, HORSE_P50_MMHG, 11.5
    )
    assert 15.5 <= percent <= 38.0
    assert percent < 33.0
