"""Uptake of an agent by blood and tissues. Flows L/min; fractions are of dry gas at ambient pressure.

A tissue is one well-mixed volume that only blood flow fills (Kety 1951). Where a ratio is named, it is the
partition coefficient at 37 °C.
"""

import math

from lungeline.compiled import formula

SOLUBILITY_FALL_PER_C = 0.0263  # 2.63 ± 0.13 %, isoflurane, horse: Bergadano et al. 2003 (abstract)


@formula
def blood_gas_at_temperature_ratio(blood_gas_ratio: float, temperature_c: float) -> float:
    """Blood/gas partition coefficient at a body temperature [ratio].

    blood_gas_ratio: at 37 °C [ratio], 0.3 to 3
    temperature_c: temperature of the blood [°C], 28 to 42

    Source: Bergadano et al., Br J Anaesth 2003;91:276 (abstract), isoflurane in horses; other agents assumed.

    >>> round(blood_gas_at_temperature_ratio(0.92, 35.0), 3)
    0.97
    """
    return blood_gas_ratio * math.exp(-SOLUBILITY_FALL_PER_C * (temperature_c - 37.0))


@formula
def tissue_time_constant_min(
    tissue_volume_l: float, tissue_gas_ratio: float, blood_flow_l_min: float, blood_gas_ratio: float
) -> float:
    """Time constant of a tissue that blood flow fills [min].

    tissue_volume_l: volume of the tissue [L], 0.1 to 600
    tissue_gas_ratio: tissue/gas [ratio], 0.3 to 200
    blood_flow_l_min: flow through it [L/min], 0.01 to 60; infinite at 0
    blood_gas_ratio: blood/gas [ratio], 0.3 to 3

    Source: Kety 1951 (from memory), perfusion limited.

    >>> round(tissue_time_constant_min(225.0, 2.2, 6.3, 0.92), 1)
    85.4
    """
    carried = blood_flow_l_min * blood_gas_ratio
    if carried <= 0.0:
        return math.inf
    return tissue_volume_l * tissue_gas_ratio / carried


@formula
def tissue_rate_per_min(arterial_fraction: float, tissue_fraction: float, time_constant_min: float) -> float:
    """Rise of the agent's fraction in a tissue [/min].

    arterial_fraction: in arterial blood, as gas [1], 0 to 0.2
    tissue_fraction: in the tissue, as gas [1], 0 to 0.2
    time_constant_min: see `tissue_time_constant_min` [min], above 0 to 1e5

    Source: Kety 1951 (from memory).

    >>> tissue_rate_per_min(0.013, 0.005, 80.0)
    0.0001
    """
    if time_constant_min <= 0.0:
        return math.nan
    return (arterial_fraction - tissue_fraction) / time_constant_min


@formula
def tissue_fraction_after(
    arterial_fraction: float, tissue_fraction: float, time_constant_min: float, elapsed_min: float
) -> float:
    """Agent's fraction in a tissue after a time at a constant arterial one [1].

    arterial_fraction: in arterial blood, as gas [1], 0 to 0.2
    tissue_fraction: in the tissue at the start, as gas [1], 0 to 0.2
    time_constant_min: see `tissue_time_constant_min` [min], above 0 to 1e5
    elapsed_min: time since then [min], 0 to 600

    Source: exact solution of `tissue_rate_per_min`.

    >>> round(tissue_fraction_after(0.01, 0.0, 10.0, 10.0), 5)
    0.00632
    """
    if time_constant_min <= 0.0:
        return arterial_fraction
    left = math.exp(-elapsed_min / time_constant_min)
    return arterial_fraction + (tissue_fraction - arterial_fraction) * left


@formula
def mixed_venous_agent_fraction(
    brain_fraction: float,
    muscle_fraction: float,
    fat_fraction: float,
    poor_fraction: float,
    brain_flow_fraction: float,
    muscle_flow_fraction: float,
    fat_flow_fraction: float,
) -> float:
    """Agent in mixed venous blood, as gas, from four tissue groups [1].

    brain_fraction: in the well-perfused organs, as gas [1], 0 to 0.2
    muscle_fraction: in muscle and skin [1], 0 to 0.2
    fat_fraction: in fat [1], 0 to 0.2
    poor_fraction: in bone, tendon and the rest [1], 0 to 0.2
    brain_flow_fraction: share of output to the well-perfused organs [1], 0 to 1
    muscle_flow_fraction: share to muscle and skin [1], 0 to 1
    fat_flow_fraction: share to fat [1], 0 to 1; the rest goes to the poorly perfused group

    Source: mass balance (closed form).

    >>> round(mixed_venous_agent_fraction(0.012, 0.004, 0.001, 0.002, 0.74, 0.18, 0.05), 5)
    0.00971
    """
    poor_flow = 1.0 - brain_flow_fraction - muscle_flow_fraction - fat_flow_fraction
    rich = brain_flow_fraction * brain_fraction + muscle_flow_fraction * muscle_fraction
    return rich + fat_flow_fraction * fat_fraction + poor_flow * poor_fraction


@formula
def arterial_agent_fraction(alveolar_fraction: float, venous_fraction: float, shunt_fraction: float) -> float:
    """Agent in arterial blood, as gas: shunt keeps it behind alveolar gas [1].

    alveolar_fraction: in alveolar gas [1], 0 to 0.2
    venous_fraction: in mixed venous blood, as gas [1], 0 to 0.2
    shunt_fraction: share of cardiac output that passes no ventilated lung [1], 0 to 1

    Source: mass balance (closed form).

    >>> round(arterial_agent_fraction(0.013, 0.008, 0.2), 4)
    0.012
    """
    return (1.0 - shunt_fraction) * alveolar_fraction + shunt_fraction * venous_fraction


@formula
def alveolar_uptake_l_min(
    cardiac_output_l_min: float,
    shunt_fraction: float,
    blood_gas_ratio: float,
    alveolar_fraction: float,
    venous_fraction: float,
) -> float:
    """Vapour that blood takes from the lung, as gas at 37 °C [L/min].

    cardiac_output_l_min: cardiac output [L/min], 0 to 60
    shunt_fraction: share of it that passes no ventilated lung [1], 0 to 1
    blood_gas_ratio: blood/gas [ratio], 0.3 to 3
    alveolar_fraction: in alveolar gas [1], 0 to 0.2
    venous_fraction: in mixed venous blood, as gas [1], 0 to 0.2

    Source: Fick's principle with Henry's law; Kety 1951, Eger 1963 (from memory).

    >>> round(alveolar_uptake_l_min(25.0, 0.2, 0.92, 0.013, 0.008), 4)
    0.092
    """
    lung_flow_l_min = cardiac_output_l_min * (1.0 - shunt_fraction)
    return lung_flow_l_min * blood_gas_ratio * (alveolar_fraction - venous_fraction)


@formula
def alveolar_fraction_quasi_steady(
    inspired_fraction: float,
    venous_fraction: float,
    alveolar_ventilation_l_min: float,
    lung_flow_l_min: float,
    blood_gas_ratio: float,
) -> float:
    """Alveolar fraction at which ventilation brings what blood takes [1].

    inspired_fraction: in inspired gas [1], 0 to 0.2
    venous_fraction: in mixed venous blood, as gas [1], 0 to 0.2
    alveolar_ventilation_l_min: alveolar ventilation [L/min], 0 to 100
    lung_flow_l_min: blood flow through ventilated lung [L/min], 0 to 60
    blood_gas_ratio: blood/gas [ratio], 0.3 to 3

    Source: mass balance with the lung's own volume left out (closed form); Kety 1951 (from memory).

    >>> round(alveolar_fraction_quasi_steady(0.02, 0.0, 23.0, 25.0, 0.92), 3)
    0.01
    """
    carried = lung_flow_l_min * blood_gas_ratio
    whole = alveolar_ventilation_l_min + carried
    if whole <= 0.0:
        return inspired_fraction
    return (alveolar_ventilation_l_min * inspired_fraction + carried * venous_fraction) / whole
