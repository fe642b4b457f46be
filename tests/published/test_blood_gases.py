"""Blood gases against published values; each says where it was seen, or that it is from memory."""

import math

import pytest

from lungeline.physiology.blood_gases import (
    base_excess_from_ph_mmol_l,
    bicarbonate_mmol_l,
    blood_ph,
    carbon_dioxide_content_douglas1988,
    oxygen_content_from_saturation_l_l,
    oxygen_content_l_l,
    oxygen_pressure_at_saturation_mmhg,
    oxygen_saturation_fraction,
    p50_at_temperature_mmhg,
    saturation_severinghaus1979,
)
from lungeline.physiology.drive import apnoea_paco2_mmhg

HORSE_P50_MMHG = 23.8  # Clerbaux et al., Comp Biochem Physiol A 1993;106:687 (abstract)
CATTLE_P50_MMHG = 25.0  # same
HUMAN_P50_MMHG = 26.6  # same
HUMAN_CAPACITY_ML_G = 1.34  # used by the human worked examples below
HIGHEST_FULL_SATURATION = 1.0


# Severinghaus, J Appl Physiol 1979;46:599, table of measured human saturation (from memory); the paper's
# abstract promises a fit within 0.0055.
@pytest.mark.parametrize(
    ("po2_mmhg", "saturation_percent"),
    [(10.0, 9.58), (20.0, 32.12), (30.0, 57.54), (40.0, 74.69), (100.0, 97.72)],
)
def test_the_human_curve_is_as_close_as_its_author_says(po2_mmhg: float, saturation_percent: float) -> None:
    assert saturation_severinghaus1979(po2_mmhg) == pytest.approx(saturation_percent / 100.0, abs=0.0055)


def test_half_saturation_of_the_formula_is_at_26_86() -> None:
    # root of P³ + 150 P = 23400, computed apart from this code; value carried by the data of this project
    assert oxygen_pressure_at_saturation_mmhg(0.5, 7.4, 26.86) == pytest.approx(26.86, abs=0.005)
    assert saturation_severinghaus1979(26.86) == pytest.approx(0.5, abs=2e-4)


def test_steepness_agrees_with_the_hill_exponent_of_horses() -> None:
    # Zhang et al., Zool Sci 2003;20:1087 (abstract): n = 2.69 in horses
    def logit(po2_mmhg: float) -> float:
        saturation = oxygen_saturation_fraction(po2_mmhg, 7.4, HORSE_P50_MMHG)
        return math.log(saturation / (1.0 - saturation))

    low, high = 0.9 * HORSE_P50_MMHG, 1.1 * HORSE_P50_MMHG
    assert (logit(high) - logit(low)) / math.log(high / low) == pytest.approx(2.69, rel=0.03)


# Clerbaux et al. 1993 (abstract): oxygen released from 80 to 35 mmHg, vol% ± SD. The haemoglobin was not
# printed there; 12.2, 10.0, 13.8 g/dL make a human curve scaled by P50 agree (derived).
@pytest.mark.parametrize(
    ("p50_mmhg", "haemoglobin_g_dl", "released_vol_percent", "sd"),
    [
        (HORSE_P50_MMHG, 12.2, 4.0, 0.4),
        (CATTLE_P50_MMHG, 10.0, 3.6, 0.6),
        (HUMAN_P50_MMHG, 13.8, 5.5, 0.5),
    ],
)
def test_oxygen_released_between_80_and_35(
    p50_mmhg: float, haemoglobin_g_dl: float, released_vol_percent: float, sd: float
) -> None:
    held = [oxygen_content_l_l(p, 7.4, p50_mmhg, haemoglobin_g_dl) for p in (80.0, 35.0)]
    released = 100.0 * (held[0] - held[1])
    assert released == pytest.approx(released_vol_percent, abs=0.1 * sd)


# Worked examples (full text seen), with the human 1.34 mL/g. Dissolved oxygen there is 0.023 mL/dL/kPa.
@pytest.mark.parametrize(
    ("haemoglobin_g_dl", "saturation", "po2_mmhg", "printed_ml_l"),
    [
        (15.0, 0.97, 75.0, 197.3),  # 10 kPa, a teaching site for emergency medicine, printed about 197
        (15.0, 1.00, 375.0, 212.5),  # 50 kPa, same
        (15.0, 0.57, 33.75, 115.6),  # 4.5 kPa, same, printed 116
    ],
)
def test_worked_examples_of_oxygen_content(
    haemoglobin_g_dl: float, saturation: float, po2_mmhg: float, printed_ml_l: float
) -> None:
    content = oxygen_content_from_saturation_l_l(saturation, po2_mmhg, haemoglobin_g_dl, HUMAN_CAPACITY_ML_G)
    assert 1000.0 * content == pytest.approx(printed_ml_l, abs=0.5)


def test_worked_example_with_dissolved_oxygen() -> None:
    # Hb 14, 95 %, 120 mmHg, 0.0031 -> 18.19 mL/dL, public worked example, arithmetic only
    content = oxygen_content_from_saturation_l_l(0.95, 120.0, 14.0, HUMAN_CAPACITY_ML_G)
    assert 100.0 * content == pytest.approx(18.19, abs=0.01)


def test_oxygen_capacity() -> None:
    # Hb 15 -> 20.1 mL/dL, public worked example (full text)
    capacity = oxygen_content_from_saturation_l_l(HIGHEST_FULL_SATURATION, 0.0, 15.0, HUMAN_CAPACITY_ML_G)
    assert 100.0 * capacity == pytest.approx(20.1, abs=1e-9)


def test_carbon_dioxide_content_of_normal_blood() -> None:
    # Douglas, Jones & Reed 1988: 40 mmHg, pH 7.4, Hb 15, SO2 0.97 -> 46.7 mL/dL (derived from the constants)
    assert 100.0 * carbon_dioxide_content_douglas1988(40.0, 7.4, 15.0, 0.97) == pytest.approx(46.7, abs=0.05)


# Derived once, apart from this code, for a horse under anaesthesia: Hb 11 g/dL
@pytest.mark.parametrize(
    ("pco2_mmhg", "ph", "saturation", "content_ml_dl"), [(50.0, 7.33, 0.99, 53.9), (56.0, 7.31, 0.75, 58.2)]
)
def test_carbon_dioxide_content_of_a_horse(
    pco2_mmhg: float, ph: float, saturation: float, content_ml_dl: float
) -> None:
    content = carbon_dioxide_content_douglas1988(pco2_mmhg, ph, 11.0, saturation)
    assert 100.0 * content == pytest.approx(content_ml_dl, abs=0.05)


def test_awake_horse_lies_within_the_reference_interval() -> None:
    # Hughes & Bardell, Vet Anaesth Analg 2019 (abstract), 139 horses: pH 7.37 to 7.49, PaCO2 36.3 to 54.0,
    # bicarbonate 23.55 to 33; base excess 4 is this project's default
    for paco2_mmhg in (40.0, 45.0, 50.0):
        assert 7.37 <= blood_ph(paco2_mmhg, 4.0) <= 7.49
        assert 23.55 <= bicarbonate_mmol_l(paco2_mmhg, 4.0) <= 33.0


def test_ph_falls_in_apnoea_as_published() -> None:
    # Blaze & Robinson 1987 (abstract and second-hand): PaCO2 + 5.5 mmHg/min, pH - 0.03 to - 0.05 each minute
    for minutes in (5.0, 10.0):
        after = apnoea_paco2_mmhg(40.0, minutes, 5.5)
        fall = (blood_ph(40.0, 4.0) - blood_ph(after, 4.0)) / minutes
        assert 0.03 <= round(fall, 2) <= 0.05


def test_base_excess_of_a_published_sample() -> None:
    # Onderstepoort J Vet Res 1981 (abstract): pHa 7.358, PaCO2 40.9, standard bicarbonate 22.7 mmol/L;
    # bicarbonate at 40 mmHg by this program is 24 + base excess
    assert 24.0 + base_excess_from_ph_mmol_l(40.9, 7.358) == pytest.approx(22.7, abs=0.5)


def test_p50_of_cattle_rises_with_temperature_as_measured() -> None:
    # Gustin et al., Comp Biochem Physiol A 1988;89:553 (abstract): dlogP50/dT 0.017, P50 25 mmHg
    rise = math.log10(p50_at_temperature_mmhg(CATTLE_P50_MMHG, 40.0, 0.017) / CATTLE_P50_MMHG)
    assert rise == pytest.approx(3.0 * 0.017, rel=1e-12)
