"""Mechanics of one compartment: compliance, resistance, the equation of motion, work and power."""

import math

from lungeline.compiled import formula

JOULES_PER_LITRE_CMH2O = 0.0980665  # UCUM: 1 cmH2O = 98.0665 Pa


@formula
def static_compliance_l_cmh2o(
    tidal_volume_l: float, plateau_pressure_cmh2o: float, end_expiratory_pressure_cmh2o: float
) -> float:
    """Compliance of the respiratory system from a pause without flow [L/cmH2O].

    tidal_volume_l: volume breathed in [L], 0.1 to 20
    plateau_pressure_cmh2o: at the end of the pause [cmH2O], 5 to 100
    end_expiratory_pressure_cmh2o: PEEP and auto-PEEP together [cmH2O], 0 to 40; no number from the first on

    Source: definition.

    >>> round(static_compliance_l_cmh2o(0.760, 33.0, 7.0), 5)
    0.02923
    """
    driving = plateau_pressure_cmh2o - end_expiratory_pressure_cmh2o
    if driving <= 0.0:
        return math.nan
    return tidal_volume_l / driving


@formula
def dynamic_compliance_l_cmh2o(
    tidal_volume_l: float, peak_pressure_cmh2o: float, end_expiratory_pressure_cmh2o: float
) -> float:
    """Compliance as if all of the peak pressure were elastic: lower the more resistance there is [L/cmH2O].

    tidal_volume_l: volume breathed in [L], 0.1 to 20
    peak_pressure_cmh2o: highest pressure [cmH2O], 5 to 120
    end_expiratory_pressure_cmh2o: PEEP and auto-PEEP together [cmH2O], 0 to 40; no number from the first on

    Source: definition.

    >>> round(dynamic_compliance_l_cmh2o(0.760, 38.0, 7.0), 5)
    0.02452
    """
    swing = peak_pressure_cmh2o - end_expiratory_pressure_cmh2o
    if swing <= 0.0:
        return math.nan
    return tidal_volume_l / swing


@formula
def resistance_at_flow_cmh2o_s_l(
    flow_l_s: float, laminar_cmh2o_s_l: float, turbulent_cmh2o_s2_l2: float
) -> float:
    """Pressure drop over flow of a path with a laminar and a turbulent term [cmH2O·s/L].

    flow_l_s: flow, either direction [L/s], -15 to 15
    laminar_cmh2o_s_l: coefficient of flow [cmH2O·s/L], 0 to 20
    turbulent_cmh2o_s2_l2: coefficient of flow squared [cmH2O·s²/L²], 0 to 5

    Source: Rohrer 1915 (from memory).

    >>> round(resistance_at_flow_cmh2o_s_l(-4.0, 0.325, 0.055), 3)
    0.545
    """
    return laminar_cmh2o_s_l + turbulent_cmh2o_s2_l2 * abs(flow_l_s)


@formula
def airway_pressure_cmh2o(
    volume_l: float,
    flow_l_s: float,
    compliance_l_cmh2o: float,
    laminar_cmh2o_s_l: float,
    turbulent_cmh2o_s2_l2: float,
    baseline_pressure_cmh2o: float,
) -> float:
    """Pressure at the mouth of the tube, equation of motion of a passive animal [cmH2O].

    volume_l: above end-expiration [L], 0 to 20
    flow_l_s: into the animal [L/s], -15 to 15
    compliance_l_cmh2o: respiratory system [L/cmH2O], 0.01 to 2; no number at or below 0
    laminar_cmh2o_s_l: coefficient of flow, tube and airways [cmH2O·s/L], 0 to 20
    turbulent_cmh2o_s2_l2: coefficient of flow squared [cmH2O·s²/L²], 0 to 5
    baseline_pressure_cmh2o: at end-expiration [cmH2O], 0 to 40

    Source: Rohrer 1915; Mead & Whittenberger 1953 (from memory).

    >>> round(airway_pressure_cmh2o(3.0, 1.5, 0.5, 1.2, 0.0, 3.0), 6)
    10.8
    """
    if compliance_l_cmh2o <= 0.0:
        return math.nan
    resistance = resistance_at_flow_cmh2o_s_l(flow_l_s, laminar_cmh2o_s_l, turbulent_cmh2o_s2_l2)
    return baseline_pressure_cmh2o + volume_l / compliance_l_cmh2o + resistance * flow_l_s


@formula
def time_constant_s(resistance_cmh2o_s_l: float, compliance_l_cmh2o: float) -> float:
    """Time constant of passive emptying; with turbulence, that of one flow [s].

    resistance_cmh2o_s_l: all of the path the gas leaves by [cmH2O·s/L], 0 to 30
    compliance_l_cmh2o: respiratory system [L/cmH2O], 0.01 to 2

    Source: standard (from memory).

    >>> time_constant_s(1.5, 0.5)
    0.75
    """
    return resistance_cmh2o_s_l * compliance_l_cmh2o


@formula
def inspiratory_work_j(
    tidal_volume_l: float,
    flow_l_s: float,
    compliance_l_cmh2o: float,
    laminar_cmh2o_s_l: float,
    turbulent_cmh2o_s2_l2: float,
    baseline_pressure_cmh2o: float,
) -> float:
    """Work a ventilator does on an animal in one breath of constant flow [J].

    tidal_volume_l: volume breathed in [L], 0.1 to 20
    flow_l_s: into the animal [L/s], 0 to 15
    compliance_l_cmh2o: respiratory system [L/cmH2O], 0.01 to 2; no number at or below 0
    laminar_cmh2o_s_l: coefficient of flow, tube and airways [cmH2O·s/L], 0 to 20
    turbulent_cmh2o_s2_l2: coefficient of flow squared [cmH2O·s²/L²], 0 to 5
    baseline_pressure_cmh2o: at end-expiration [cmH2O], 0 to 40

    Source: area under the equation of motion: its pressure half way, times volume (closed form).

    >>> round(inspiratory_work_j(6.5, 3.0, 0.32, 0.325, 0.055, 0.0), 2)
    7.41
    """
    half_way = airway_pressure_cmh2o(
        0.5 * tidal_volume_l,
        flow_l_s,
        compliance_l_cmh2o,
        laminar_cmh2o_s_l,
        turbulent_cmh2o_s2_l2,
        baseline_pressure_cmh2o,
    )
    return JOULES_PER_LITRE_CMH2O * tidal_volume_l * half_way


@formula
def mechanical_power_gattinoni2016_j_min(
    respiratory_rate_per_min: float,
    tidal_volume_l: float,
    peak_pressure_cmh2o: float,
    plateau_pressure_cmh2o: float,
    end_expiratory_pressure_cmh2o: float,
) -> float:
    """Power of volume-controlled ventilation of constant flow, from what a monitor shows [J/min].

    respiratory_rate_per_min: rate [/min], 0 to 60
    tidal_volume_l: volume breathed in [L], 0.1 to 20
    peak_pressure_cmh2o: highest pressure [cmH2O], 5 to 120
    plateau_pressure_cmh2o: at the end of a pause [cmH2O], 5 to 100
    end_expiratory_pressure_cmh2o: total PEEP [cmH2O], 0 to 40

    Source: Gattinoni et al., Intensive Care Med 2016 (from memory): rate × VT × (peak - half the driving
    pressure).

    >>> round(mechanical_power_gattinoni2016_j_min(6.0, 6.5, 24.0, 20.0, 0.0), 1)
    53.5
    """
    half_driving = 0.5 * (plateau_pressure_cmh2o - end_expiratory_pressure_cmh2o)
    a_breath = tidal_volume_l * (peak_pressure_cmh2o - half_driving)
    return JOULES_PER_LITRE_CMH2O * respiratory_rate_per_min * a_breath
