"""Shunt: blood that passes no ventilated lung, from oxygen contents, and the oxygen pressure it leaves."""

import math

from lungeline.compiled import formula
from lungeline.physiology.blood_gases import oxygen_content_l_l, oxygen_pressure_mmhg

F_SHUNT_DIFFERENCE_L_L = 0.035  # fixed 3.5 mL/dL, Briganti et al. (full abstract text)


@formula
def shunt_fraction(
    end_capillary_content_l_l: float, arterial_content_l_l: float, mixed_venous_content_l_l: float
) -> float:
    """Share of cardiac output that passes no ventilated lung, Qs/Qt [1].

    end_capillary_content_l_l: oxygen in blood leaving ventilated lung [L/L], 0.02 to 0.35
    arterial_content_l_l: oxygen in arterial blood [L/L], 0.01 to 0.35
    mixed_venous_content_l_l: oxygen in mixed venous blood [L/L], 0 to 0.3; no number from the first on

    Source: Berggren 1942 (from memory).

    >>> round(shunt_fraction(0.20, 0.19, 0.15), 6)
    0.2
    """
    span = end_capillary_content_l_l - mixed_venous_content_l_l
    if span <= 0.0:
        return math.nan
    return (end_capillary_content_l_l - arterial_content_l_l) / span


@formula
def f_shunt_fraction(
    end_capillary_content_l_l: float, arterial_content_l_l: float, content_difference_l_l: float
) -> float:
    """Shunt without a venous sample, the difference of arterial to venous content assumed [1].

    end_capillary_content_l_l: oxygen in blood leaving ventilated lung [L/L], 0.02 to 0.35
    arterial_content_l_l: oxygen in arterial blood [L/L], 0.01 to 0.35
    content_difference_l_l: arterial less mixed venous content, 0.035 by custom [L/L], 0.01 to 0.1

    Source: Briganti et al. (full abstract text).

    >>> round(f_shunt_fraction(0.1775, 0.1715, 0.035), 3)
    0.146
    """
    missing = end_capillary_content_l_l - arterial_content_l_l
    whole = missing + content_difference_l_l
    if whole <= 0.0:
        return math.nan
    return missing / whole


@formula
def f_shunt_from_pressures_fraction(
    alveolar_po2_mmhg: float, pao2_mmhg: float, ph: float, p50_mmhg: float, haemoglobin_g_dl: float
) -> float:
    """F-shunt from oxygen pressures, with the customary 3.5 mL/dL [1].

    alveolar_po2_mmhg: from the alveolar gas equation [mmHg], 30 to 760
    pao2_mmhg: arterial oxygen pressure [mmHg], 10 to 760
    ph: pH of arterial blood [pH], 6.5 to 8
    p50_mmhg: P50 of the species at pH 7.4 [mmHg], 15 to 40
    haemoglobin_g_dl: haemoglobin [g/dL], 3 to 22

    Source: Briganti et al. (full abstract text); contents as in `blood_gases`.

    >>> round(f_shunt_from_pressures_fraction(626.7, 437.0, 7.4, 23.8, 11.0), 3)
    0.144
    """
    return f_shunt_fraction(
        oxygen_content_l_l(alveolar_po2_mmhg, ph, p50_mmhg, haemoglobin_g_dl),
        oxygen_content_l_l(pao2_mmhg, ph, p50_mmhg, haemoglobin_g_dl),
        F_SHUNT_DIFFERENCE_L_L,
    )


@formula
def arterial_content_l_l(
    shunt_fraction: float, end_capillary_content_l_l: float, mixed_venous_content_l_l: float
) -> float:
    """Oxygen in arterial blood, mixed from lung and shunt [L/L].

    shunt_fraction: share of cardiac output that passes no ventilated lung [1], 0 to 1
    end_capillary_content_l_l: oxygen in blood leaving ventilated lung [L/L], 0.02 to 0.35
    mixed_venous_content_l_l: oxygen in mixed venous blood [L/L], 0 to 0.3

    Source: mass balance (closed form).

    >>> round(arterial_content_l_l(0.2, 0.20, 0.15), 6)
    0.19
    """
    return (1.0 - shunt_fraction) * end_capillary_content_l_l + shunt_fraction * mixed_venous_content_l_l


@formula
def iso_shunt_pao2_mmhg(
    shunt_fraction: float,
    content_difference_l_l: float,
    alveolar_po2_mmhg: float,
    ph: float,
    p50_mmhg: float,
    haemoglobin_g_dl: float,
) -> float:
    """Arterial oxygen pressure that a shunt leaves [mmHg].

    shunt_fraction: share of cardiac output that passes no ventilated lung [1], 0 to 0.9; 0 mmHg at 1
    content_difference_l_l: arterial less mixed venous content; oxygen use over output [L/L], 0.01 to 0.1
    alveolar_po2_mmhg: from the alveolar gas equation [mmHg], 30 to 760
    ph: pH of arterial blood [pH], 6.5 to 8
    p50_mmhg: P50 of the species at pH 7.4 [mmHg], 15 to 40
    haemoglobin_g_dl: haemoglobin [g/dL], 3 to 22

    Source: shunt equation solved for arterial content (closed form), then the curve read backwards.

    >>> round(iso_shunt_pao2_mmhg(0.20, 0.04, 626.7, 7.4, 23.8, 11.0))
    307
    """
    if shunt_fraction >= 1.0:
        return 0.0
    capillary = oxygen_content_l_l(alveolar_po2_mmhg, ph, p50_mmhg, haemoglobin_g_dl)
    arterial = capillary - shunt_fraction / (1.0 - shunt_fraction) * content_difference_l_l
    return oxygen_pressure_mmhg(arterial, ph, p50_mmhg, haemoglobin_g_dl)
