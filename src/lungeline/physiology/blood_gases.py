"""What blood holds of oxygen and carbon dioxide, and at which pressures.

Oxygen: the human curve of Severinghaus, scaled to the P50 of the species. Carbon dioxide: Douglas with the
pK' of Kelman. Both at 37 °C. The compiled time step calls these many thousand times a second.
"""

import math

from lungeline.compiled import formula

LN10 = math.log(10.0)
NORMAL_PH = 7.4

SEVERINGHAUS_CUBE = 23400.0  # Severinghaus, J Appl Physiol 1979;46:599 (abstract): S = 1/(a/(P³ + bP) + 1)
SEVERINGHAUS_LINEAR = 150.0
SEVERINGHAUS_P50_MMHG = 26.86  # root of P³ + 150 P = 23400, computed
BOHR_COEFFICIENT = 0.48  # horse 0.45 to 0.50, from memory; cattle 0.40 (Gustin et al. 1988, abstract)

OXYGEN_CAPACITY_ML_G = 1.39  # Clerbaux et al., Comp Biochem Physiol A 1993;106:687 (abstract)
OXYGEN_SOLUBILITY_L_L_MMHG = 3.1e-5  # 0.0031 mL/dL/mmHg, in use everywhere
HIGHEST_PO2_MMHG = 2000.0
_MOST_STEPS = 60
_EXACT_MMHG = 1e-10

HENDERSON_PK = 6.1
CO2_SOLUBILITY_MMOL_L_MMHG = 0.0307  # at 37 °C, Kelman 1967 (second-hand)
NORMAL_BICARBONATE_MMOL_L = 24.0
NORMAL_PCO2_MMHG = 40.0
BUFFER_SLOPE_MMOL_L_MMHG = 0.10  # rise of bicarbonate with CO2 in the whole animal, assumption
LEAST_BICARBONATE_MMOL_L = 1.0
LEAST_PCO2_MMHG = 0.1

# Kelman 1967 (second-hand) at 37 °C: pK' = 6.086 + 0.042(7.4 - pH) + (38 - 37)(0.00472 + 0.00139(7.4 - pH))
KELMAN_PK = 6.086 + 0.00472
KELMAN_PK_PER_PH = 0.042 + 0.00139
MILLILITRES_STPD_PER_MMOL = 22.26  # CO2 is not quite ideal; 2.226 mL/dL per mmol/L in Douglas 1988 (abstract)


@formula
def saturation_severinghaus1979(po2_mmhg: float) -> float:
    """Oxygen saturation of human blood at pH 7.4, 37 °C [1].

    po2_mmhg: oxygen pressure [mmHg], 0 to 2000

    Source: Severinghaus, J Appl Physiol 1979;46:599-602 (abstract); within 0.0055 of the measured curve.

    >>> round(saturation_severinghaus1979(26.86), 3)
    0.5
    """
    if po2_mmhg <= 0.0:
        return 0.0
    power = po2_mmhg * (po2_mmhg * po2_mmhg + SEVERINGHAUS_LINEAR)
    return power / (power + SEVERINGHAUS_CUBE)


@formula
def bohr_shifted_po2_mmhg(po2_mmhg: float, ph: float, p50_mmhg: float) -> float:
    """Oxygen pressure at which human blood at pH 7.4 has the saturation this blood has [mmHg].

    po2_mmhg: oxygen pressure [mmHg], 0 to 2000
    ph: pH of the blood [pH], 6.5 to 8
    p50_mmhg: P50 of the species at pH 7.4 [mmHg], 15 to 40

    Source: curves of mammals have one shape when scaled by P50; Bohr coefficient of the horse, from memory.

    >>> round(bohr_shifted_po2_mmhg(23.8, 7.4, 23.8), 2)
    26.86
    """
    scale = SEVERINGHAUS_P50_MMHG / p50_mmhg
    return po2_mmhg * scale * math.exp(LN10 * BOHR_COEFFICIENT * (ph - NORMAL_PH))


@formula
def oxygen_saturation_fraction(po2_mmhg: float, ph: float, p50_mmhg: float) -> float:
    """Oxygen saturation of the blood of a species [1].

    po2_mmhg: oxygen pressure [mmHg], 0 to 2000
    ph: pH of the blood [pH], 6.5 to 8
    p50_mmhg: P50 of the species at pH 7.4 [mmHg], 15 to 40

    Source: Severinghaus 1979, scaled by P50 and shifted by pH.

    >>> round(oxygen_saturation_fraction(60.0, 7.4, 23.8), 3)
    0.932
    """
    return saturation_severinghaus1979(bohr_shifted_po2_mmhg(po2_mmhg, ph, p50_mmhg))


@formula
def oxygen_content_from_saturation_l_l(
    saturation_fraction: float, po2_mmhg: float, haemoglobin_g_dl: float, oxygen_capacity_ml_g: float
) -> float:
    """Oxygen in blood whose saturation was measured, as gas STPD [L/L].

    saturation_fraction: oxygen saturation [1], 0 to 1
    po2_mmhg: oxygen pressure [mmHg], 0 to 2000
    haemoglobin_g_dl: haemoglobin [g/dL], 3 to 22
    oxygen_capacity_ml_g: 1.39 measured in horses; human practice 1.34 to 1.36 [mL/g], 1.3 to 1.4

    Source: sum of bound and dissolved oxygen; 0.0031 mL/dL/mmHg, in use everywhere.

    >>> round(oxygen_content_from_saturation_l_l(0.95, 120.0, 14.0, 1.34), 4)
    0.1819
    """
    bound = oxygen_capacity_ml_g * haemoglobin_g_dl / 100.0 * saturation_fraction
    return bound + OXYGEN_SOLUBILITY_L_L_MMHG * max(po2_mmhg, 0.0)


@formula
def oxygen_content_l_l(po2_mmhg: float, ph: float, p50_mmhg: float, haemoglobin_g_dl: float) -> float:
    """Oxygen in blood, bound and dissolved, as gas STPD [L/L].

    po2_mmhg: oxygen pressure [mmHg], 0 to 2000
    ph: pH of the blood [pH], 6.5 to 8
    p50_mmhg: P50 of the species at pH 7.4 [mmHg], 15 to 40
    haemoglobin_g_dl: haemoglobin [g/dL], 3 to 22

    Source: 1.39 mL/g, Clerbaux et al. 1993 (abstract); dissolved 0.0031 mL/dL/mmHg, in use everywhere.

    >>> round(oxygen_content_l_l(500.0, 7.4, 23.8, 11.5), 4)
    0.1753
    """
    saturation = oxygen_saturation_fraction(po2_mmhg, ph, p50_mmhg)
    return oxygen_content_from_saturation_l_l(saturation, po2_mmhg, haemoglobin_g_dl, OXYGEN_CAPACITY_ML_G)


@formula
def oxygen_pressure_mmhg(content_l_l: float, ph: float, p50_mmhg: float, haemoglobin_g_dl: float) -> float:
    """Oxygen pressure at which blood holds a content, the inverse of `oxygen_content_l_l` [mmHg].

    content_l_l: oxygen in blood [L/L], 0 to 0.35; outside what 0 to 2000 mmHg give, the nearer end
    ph: pH of the blood [pH], 6.5 to 8
    p50_mmhg: P50 of the species at pH 7.4 [mmHg], 15 to 40
    haemoglobin_g_dl: haemoglobin [g/dL], 3 to 22

    Source: Newton's method, held inside a bracket that is halved whenever Newton would leave it.

    >>> round(oxygen_pressure_mmhg(oxygen_content_l_l(95.0, 7.3, 23.8, 11.5), 7.3, 23.8, 11.5), 6)
    95.0
    """
    low, high = 0.0, HIGHEST_PO2_MMHG
    if content_l_l <= 0.0:
        return low
    if content_l_l >= oxygen_content_l_l(high, ph, p50_mmhg, haemoglobin_g_dl):
        return high
    bound = OXYGEN_CAPACITY_ML_G * haemoglobin_g_dl / 100.0
    scale = bohr_shifted_po2_mmhg(1.0, ph, p50_mmhg)
    pressure = min(SEVERINGHAUS_P50_MMHG / scale, 0.5 * high)
    for _ in range(_MOST_STEPS):
        shifted = scale * pressure
        power = shifted * (shifted * shifted + SEVERINGHAUS_LINEAR)
        whole = power + SEVERINGHAUS_CUBE
        excess = bound * power / whole + OXYGEN_SOLUBILITY_L_L_MMHG * pressure - content_l_l
        if excess < 0.0:
            low = pressure
        else:
            high = pressure
        power_slope = scale * (3.0 * shifted * shifted + SEVERINGHAUS_LINEAR)
        slope = bound * SEVERINGHAUS_CUBE * power_slope / (whole * whole) + OXYGEN_SOLUBILITY_L_L_MMHG
        following = pressure - excess / slope
        if following <= low or following >= high:
            following = 0.5 * (low + high)
        if abs(following - pressure) < _EXACT_MMHG:
            return following
        pressure = following
    return pressure


@formula
def oxygen_pressure_at_saturation_mmhg(saturation_fraction: float, ph: float, p50_mmhg: float) -> float:
    """Oxygen pressure at which blood has a saturation, the inverse of the curve [mmHg].

    saturation_fraction: oxygen saturation [1], 0 to 0.999; above, the curve is too flat to be read backwards
    ph: pH of the blood [pH], 6.5 to 8
    p50_mmhg: P50 of the species at pH 7.4 [mmHg], 15 to 40

    Source: closed form (the one real root of P³ + 150 P = 23400 S/(1 - S)).

    >>> round(oxygen_pressure_at_saturation_mmhg(0.5, 7.4, 23.8), 1)
    23.8
    """
    if saturation_fraction <= 0.0:
        return 0.0
    if saturation_fraction >= 1.0:
        return HIGHEST_PO2_MMHG
    power = SEVERINGHAUS_CUBE * saturation_fraction / (1.0 - saturation_fraction)
    third = SEVERINGHAUS_LINEAR / 3.0
    shifted = 2.0 * math.sqrt(third) * math.sinh(math.asinh(0.5 * power / third**1.5) / 3.0)
    return min(shifted / bohr_shifted_po2_mmhg(1.0, ph, p50_mmhg), HIGHEST_PO2_MMHG)


@formula
def p50_at_temperature_mmhg(p50_37c_mmhg: float, temperature_c: float, log_slope_per_c: float) -> float:
    """P50 at the temperature of the blood, to be used in place of the one at 37 °C [mmHg].

    p50_37c_mmhg: P50 at 37 °C, pH 7.4 [mmHg], 15 to 40
    temperature_c: temperature of the blood [°C], 28 to 42
    log_slope_per_c: rise of log10 P50 for each degree [1/°C], 0.015 to 0.025

    Source: slope of cattle 0.017, Gustin et al., Comp Biochem Physiol A 1988;89:553-558 (abstract); of people
    0.024, from memory.

    >>> round(p50_at_temperature_mmhg(25.0, 39.0, 0.017), 2)
    27.04
    """
    return p50_37c_mmhg * math.exp(LN10 * log_slope_per_c * (temperature_c - 37.0))


@formula
def bicarbonate_mmol_l(pco2_mmhg: float, base_excess_mmol_l: float) -> float:
    """Bicarbonate of blood of an animal, rising a little with CO2 [mmol/L].

    pco2_mmhg: CO2 pressure [mmHg], 5 to 250
    base_excess_mmol_l: bicarbonate at 40 mmHg above 24 [mmol/L], -15 to 15

    Source: assumption: 0.10 mmol/L for each mmHg, as blood that shares its bicarbonate with the tissues.

    >>> bicarbonate_mmol_l(60.0, 4.0)
    30.0
    """
    buffered = BUFFER_SLOPE_MMOL_L_MMHG * (pco2_mmhg - NORMAL_PCO2_MMHG)
    return max(NORMAL_BICARBONATE_MMOL_L + base_excess_mmol_l + buffered, LEAST_BICARBONATE_MMOL_L)


@formula
def blood_ph(pco2_mmhg: float, base_excess_mmol_l: float) -> float:
    """pH of blood by Henderson and Hasselbalch [pH].

    pco2_mmhg: CO2 pressure [mmHg], 5 to 250
    base_excess_mmol_l: bicarbonate at 40 mmHg above 24 [mmol/L], -15 to 15

    Source: Henderson-Hasselbalch with pK' 6.1; solubility of CO2 Kelman 1967 (second-hand).

    >>> round(blood_ph(40.0, 0.0), 2)
    7.39
    """
    dissolved = CO2_SOLUBILITY_MMOL_L_MMHG * max(pco2_mmhg, LEAST_PCO2_MMHG)
    return HENDERSON_PK + math.log10(bicarbonate_mmol_l(pco2_mmhg, base_excess_mmol_l) / dissolved)


@formula
def base_excess_from_ph_mmol_l(pco2_mmhg: float, ph: float) -> float:
    """Value of base excess with which `blood_ph` agrees with a measured sample [mmol/L].

    pco2_mmhg: measured CO2 pressure [mmHg], 5 to 250
    ph: measured pH [pH], 6.8 to 7.8

    Source: the same equation turned round (closed form); not the base excess a blood-gas machine prints.

    >>> round(base_excess_from_ph_mmol_l(45.0, 7.43), 2)
    5.04
    """
    dissolved = CO2_SOLUBILITY_MMOL_L_MMHG * max(pco2_mmhg, LEAST_PCO2_MMHG)
    bicarbonate = dissolved * math.exp(LN10 * (ph - HENDERSON_PK))
    buffered = BUFFER_SLOPE_MMOL_L_MMHG * (pco2_mmhg - NORMAL_PCO2_MMHG)
    return bicarbonate - NORMAL_BICARBONATE_MMOL_L - buffered


@formula
def carbon_dioxide_content_douglas1988(
    pco2_mmhg: float, ph: float, haemoglobin_g_dl: float, saturation_fraction: float
) -> float:
    """Carbon dioxide in whole blood at 37 °C, as gas STPD for each litre of blood [L/L].

    pco2_mmhg: CO2 pressure [mmHg], 5 to 250
    ph: pH of the blood [pH], 6.5 to 8
    haemoglobin_g_dl: haemoglobin [g/dL], 3 to 22
    saturation_fraction: oxygen saturation [1], 0 to 1

    Source: Douglas, Jones & Reed, J Appl Physiol 1988;65:473-7 (plasma: abstract; red cells: constants
    second-hand, human); pK' Kelman 1967 (second-hand).

    >>> round(100.0 * carbon_dioxide_content_douglas1988(40.0, 7.4, 15.0, 0.97), 1)
    46.7
    """
    pk = KELMAN_PK + KELMAN_PK_PER_PH * (NORMAL_PH - ph)
    dissolved_mmol_l = CO2_SOLUBILITY_MMOL_L_MMHG * pco2_mmhg
    plasma = 1e-3 * MILLILITRES_STPD_PER_MMOL * dissolved_mmol_l * (1.0 + math.exp(LN10 * (ph - pk)))
    cells = 0.0289 * haemoglobin_g_dl / ((3.352 - 0.456 * saturation_fraction) * (8.142 - ph))
    return plasma * (1.0 - cells)
