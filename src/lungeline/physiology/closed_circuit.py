"""Closed-circuit dosing by the square root of time: doses of vapour that keep the arterial content steady.

Lowe & Ernst (from memory); it has been used in horses with liquid isoflurane (Olson et al. 1993, abstract).
Contents are mL of vapour for each dL of blood.
"""

import math

from lungeline.compiled import formula

LOWE_OUTPUT_DL_MIN = 2.0  # cardiac output = 2 × kg^0.75 dL/min
LOWE_EXPONENT = 0.75
DECILITRES_PER_LITRE = 10.0


@formula
def output_lowe1981_l_min(weight_kg: float) -> float:
    """Cardiac output the method counts with [L/min].

    weight_kg: body weight [kg], 20 to 1200

    Source: Lowe & Ernst 1981 (from memory).

    >>> round(output_lowe1981_l_min(500.0), 1)
    21.1
    """
    return LOWE_OUTPUT_DL_MIN * math.pow(max(weight_kg, 0.0), LOWE_EXPONENT) / DECILITRES_PER_LITRE


@formula
def arterial_content_lowe1981_ml_dl(mac_multiple: float, mac_percent: float, blood_gas_ratio: float) -> float:
    """Vapour in arterial blood at the wanted depth [mL/dL].

    mac_multiple: wanted depth, 1.3 by custom [multiple], 0 to 2
    mac_percent: MAC at 760 mmHg [%], 0.5 to 12
    blood_gas_ratio: blood/gas [ratio], 0.3 to 3

    Source: Lowe & Ernst 1981 (from memory).

    >>> round(arterial_content_lowe1981_ml_dl(1.3, 1.30, 0.92), 3)
    1.555
    """
    return mac_multiple * mac_percent * blood_gas_ratio


@formula
def prime_dose_lowe1981_ml(
    arterial_content_ml_dl: float,
    output_l_min: float,
    mac_multiple: float,
    mac_percent: float,
    gas_volume_l: float,
) -> float:
    """Vapour to fill arterial blood, circle and lung with at the start [mL].

    arterial_content_ml_dl: wanted content [mL/dL], 0 to 10
    output_l_min: cardiac output [L/min], 1 to 60
    mac_multiple: wanted depth [multiple], 0 to 2
    mac_percent: MAC at 760 mmHg [%], 0.5 to 12
    gas_volume_l: circle and lung together [L], 1 to 100

    Source: Lowe & Ernst 1981 (from memory): content × output, and depth × MAC × volume.

    >>> round(prime_dose_lowe1981_ml(1.555, 21.1, 1.3, 1.30, 60.0))
    1342
    """
    blood_ml = arterial_content_ml_dl * output_l_min * DECILITRES_PER_LITRE
    gas_ml = mac_multiple * mac_percent / 100.0 * gas_volume_l * 1000.0
    return blood_ml + gas_ml


@formula
def unit_dose_lowe1981_ml(arterial_content_ml_dl: float, output_l_min: float) -> float:
    """Vapour tissues take in each interval between doses: 0 to 1, 1 to 4, 4 to 9 min and so on [mL].

    arterial_content_ml_dl: wanted content [mL/dL], 0 to 10
    output_l_min: cardiac output [L/min], 1 to 60

    Source: Lowe & Ernst 1981 (from memory); twice content × output.

    >>> round(unit_dose_lowe1981_ml(1.555, 21.1))
    656
    """
    return 2.0 * arterial_content_ml_dl * output_l_min * DECILITRES_PER_LITRE


@formula
def uptake_lowe1981_ml_min(arterial_content_ml_dl: float, output_l_min: float, elapsed_min: float) -> float:
    """Rate at which tissues take vapour, falling with the square root of time [mL/min].

    arterial_content_ml_dl: wanted content [mL/dL], 0 to 10
    output_l_min: cardiac output [L/min], 1 to 60
    elapsed_min: time since the start [min], 0.1 to 600; infinite at 0

    Source: Lowe & Ernst 1981 (from memory); Severinghaus' square root of time.

    >>> round(uptake_lowe1981_ml_min(1.555, 21.1, 64.0))
    41
    """
    if elapsed_min <= 0.0:
        return math.inf
    return arterial_content_ml_dl * output_l_min * DECILITRES_PER_LITRE / math.sqrt(elapsed_min)


@formula
def cumulative_uptake_lowe1981_ml(
    arterial_content_ml_dl: float, output_l_min: float, elapsed_min: float
) -> float:
    """Vapour tissues have taken since the start: unit doses times the square root of minutes [mL].

    arterial_content_ml_dl: wanted content [mL/dL], 0 to 10
    output_l_min: cardiac output [L/min], 1 to 60
    elapsed_min: time since the start [min], 0 to 600

    Source: integral of `uptake_lowe1981_ml_min` (closed form).

    >>> round(cumulative_uptake_lowe1981_ml(1.555, 21.1, 64.0))
    5250
    """
    return unit_dose_lowe1981_ml(arterial_content_ml_dl, output_l_min) * math.sqrt(max(elapsed_min, 0.0))


@formula
def dose_time_lowe1981_min(dose_number: float) -> float:
    """Time at which a unit dose is due; the first at the start [min].

    dose_number: counted from 1 [1], 1 to 20

    Source: Lowe & Ernst 1981 (from memory): 0, 1, 4, 9, 16 min.

    >>> [dose_time_lowe1981_min(n) for n in (1.0, 2.0, 3.0, 4.0)]
    [0.0, 1.0, 4.0, 9.0]
    """
    return (dose_number - 1.0) ** 2
