"""One step of pressure and lung volumes: a 2-stage L-stable Rosenbrock scheme with the exact Jacobian.

Two lung compartments hang on one airway: each has its own branch resistance, both share the chest wall.
With the slow compartment absent (its fraction 0) the system is pressure and one volume.
"""

import math

from lungeline.compiled import formula
from lungeline.physics.tube_terms import two_term_flow_l_s
from lungeline.simulate.models.leaks import leak_flow_l_s, leak_slope_l_s_cmh2o
from lungeline.simulate.models.lung_mechanics import (
    lung_elastance_cmh2o_l,
    pressure_nearby_cmh2o,
    transpulmonary_pressure_cmh2o,
)
from lungeline.simulate.models.ventilator import machine_flow_l_s, machine_slope_l_s_cmh2o

GAMMA = 1.0 - 1.0 / math.sqrt(2.0)  # makes the scheme L-stable and of second order
SAFETY_CONDUCTANCE_L_S_CMH2O = 0.5
SEAL_CONDUCTANCE_L_S_CMH2O = 0.2


@formula
def outside_flow_l_s(
    pressure: float, leak: float, exponent: float, cuff: float, safety: float, seal: float
) -> float:
    """Flow from the circuit to the room: leaks, safety valve, and air drawn past seals (negative) [L/s]."""
    flow = leak_flow_l_s(pressure, leak, exponent)
    if cuff > 0.0 and pressure > 0.0:
        flow += leak_flow_l_s(pressure, cuff, exponent)
    if pressure > safety:
        flow += SAFETY_CONDUCTANCE_L_S_CMH2O * (pressure - safety)
    if pressure < seal:
        flow += SEAL_CONDUCTANCE_L_S_CMH2O * (pressure - seal)
    return flow


@formula
def _outside_slope(
    pressure: float, leak: float, exponent: float, cuff: float, safety: float, seal: float
) -> float:
    slope = leak_slope_l_s_cmh2o(pressure, leak, exponent)
    if cuff > 0.0 and pressure > 0.0:
        slope += leak_slope_l_s_cmh2o(pressure, cuff, exponent)
    if pressure > safety:
        slope += SAFETY_CONDUCTANCE_L_S_CMH2O
    if pressure < seal:
        slope += SEAL_CONDUCTANCE_L_S_CMH2O
    return slope


@formula
def one_volume_step(
    pressure: float, volume: float, h: float,
    phase: float, mode: float, stroke_flow: float, driven: float, drive_resistance: float, ceiling: float,
    p_out: float, p_in: float, g_out: float, g_in: float, slowed: float,
    leak: float, exponent: float, cuff: float, safety: float, seal: float, compliance: float,
    laminar: float, turbulent: float,
    capacity: float, scale: float, recoil: float, law: float,
    wall_elastance: float, wall_offset: float, exchange: float,
) -> tuple[float, float, float]:  # fmt: skip
    """Advance pressure at the port and lung volume by h seconds; also returns the recoil before."""
    # stage 1
    recoil_before = transpulmonary_pressure_cmh2o(volume, capacity, scale, recoil, law)
    p_alv = recoil_before + volume * wall_elastance + wall_offset
    q = two_term_flow_l_s(pressure - p_alv, laminar, turbulent)
    lung_elastance = lung_elastance_cmh2o_l(volume, capacity, recoil, law)
    elastance = lung_elastance + wall_elastance
    conductance = 1.0 / (laminar + 2.0 * turbulent * abs(q))
    source = machine_flow_l_s(
        phase,
        mode,
        pressure,
        stroke_flow,
        driven,
        drive_resistance,
        ceiling,
        p_out,
        p_in,
        g_out,
        g_in,
        slowed,
    )
    slope = machine_slope_l_s_cmh2o(
        phase, mode, pressure, driven, drive_resistance, ceiling, p_out, p_in, g_out, g_in, slowed
    )
    lost = outside_flow_l_s(pressure, leak, exponent, cuff, safety, seal)
    lost_slope = _outside_slope(pressure, leak, exponent, cuff, safety, seal)
    f_p = (source - q - lost) / compliance
    f_v = q + exchange
    g = GAMMA * h
    a11 = 1.0 - g * (slope - conductance - lost_slope) / compliance
    a12 = -g * conductance * elastance / compliance
    a21 = -g * conductance
    a22 = 1.0 + g * conductance * elastance
    inverse = 1.0 / (a11 * a22 - a12 * a21)
    k1_p = (a22 * f_p - a12 * f_v) * inverse
    k1_v = (a11 * f_v - a21 * f_p) * inverse
    # stage 2
    pressure2 = pressure + h * k1_p
    volume2 = volume + h * k1_v
    p_alv = (
        pressure_nearby_cmh2o(h * k1_v, volume, recoil_before, lung_elastance, capacity, scale, recoil, law)
        + volume2 * wall_elastance
        + wall_offset
    )
    q = two_term_flow_l_s(pressure2 - p_alv, laminar, turbulent)
    source = machine_flow_l_s(
        phase,
        mode,
        pressure2,
        stroke_flow,
        driven,
        drive_resistance,
        ceiling,
        p_out,
        p_in,
        g_out,
        g_in,
        slowed,
    )
    lost = outside_flow_l_s(pressure2, leak, exponent, cuff, safety, seal)
    r_p = (source - q - lost) / compliance - 2.0 * k1_p
    r_v = q + exchange - 2.0 * k1_v
    k2_p = (a22 * r_p - a12 * r_v) * inverse
    k2_v = (a11 * r_v - a21 * r_p) * inverse
    return pressure + h * (1.5 * k1_p + 0.5 * k2_p), volume + h * (1.5 * k1_v + 0.5 * k2_v), recoil_before


@formula
def two_volume_step(
    pressure: float, fast: float, slow: float, h: float,
    phase: float, mode: float, stroke_flow: float, driven: float, drive_resistance: float, ceiling: float,
    p_out: float, p_in: float, g_out: float, g_in: float, slowed: float,
    leak: float, exponent: float, cuff: float, safety: float, seal: float, compliance: float,
    tube_laminar: float, turbulent: float, g_fast: float, g_slow: float,
    capacity: float, scale: float, recoil: float, law: float, share: float,
    wall_elastance: float, wall_offset: float, exchange_fast: float, exchange_slow: float,
) -> tuple[float, float, float, float]:  # fmt: skip
    """Advance pressure and both lung volumes by h seconds; also returns the mean recoil before.

    share: the slow compartment's share of the lung.
    """
    g_all = g_fast + g_slow
    w_fast = g_fast / g_all
    w_slow = g_slow / g_all
    laminar = tube_laminar + 1.0 / g_all
    cap_f, cap_s = capacity * (1.0 - share), capacity * share
    sc_f, sc_s = scale * (1.0 - share), scale * share
    # stage 1
    wall = (fast + slow) * wall_elastance + wall_offset
    recoil_fast = transpulmonary_pressure_cmh2o(fast, cap_f, sc_f, recoil, law)
    recoil_slow = transpulmonary_pressure_cmh2o(slow, cap_s, sc_s, recoil, law)
    recoil_before = recoil_fast + share * (recoil_slow - recoil_fast)
    p_fast = recoil_fast + wall
    p_slow = recoil_slow + wall
    p_mean = w_fast * p_fast + w_slow * p_slow
    q = two_term_flow_l_s(pressure - p_mean, laminar, turbulent)
    carina = p_mean + q / g_all
    q_fast = g_fast * (carina - p_fast)
    q_slow = g_slow * (carina - p_slow)
    e_fast = lung_elastance_cmh2o_l(fast, cap_f, recoil, law)
    e_slow = lung_elastance_cmh2o_l(slow, cap_s, recoil, law)
    d = 1.0 / (laminar + 2.0 * turbulent * abs(q))
    source = machine_flow_l_s(
        phase,
        mode,
        pressure,
        stroke_flow,
        driven,
        drive_resistance,
        ceiling,
        p_out,
        p_in,
        g_out,
        g_in,
        slowed,
    )
    slope = machine_slope_l_s_cmh2o(
        phase, mode, pressure, driven, drive_resistance, ceiling, p_out, p_in, g_out, g_in, slowed
    )
    lost = outside_flow_l_s(pressure, leak, exponent, cuff, safety, seal)
    lost_slope = _outside_slope(pressure, leak, exponent, cuff, safety, seal)
    # partial derivatives of the mean alveolar pressure and of the two branch flows
    m_fast = w_fast * e_fast + wall_elastance
    m_slow = w_slow * e_slow + wall_elastance
    keep = 1.0 - d / g_all
    j_ff = g_fast * (m_fast * keep - e_fast - wall_elastance)
    j_fs = g_fast * (m_slow * keep - wall_elastance)
    j_sf = g_slow * (m_fast * keep - wall_elastance)
    j_ss = g_slow * (m_slow * keep - e_slow - wall_elastance)
    g = GAMMA * h
    a11 = 1.0 - g * (slope - d - lost_slope) / compliance
    a12 = -g * d * m_fast / compliance
    a13 = -g * d * m_slow / compliance
    a21, a22, a23 = -g * w_fast * d, 1.0 - g * j_ff, -g * j_fs
    a31, a32, a33 = -g * w_slow * d, -g * j_sf, 1.0 - g * j_ss
    # cofactors, shared by both stages
    c11 = a22 * a33 - a23 * a32
    c12 = a23 * a31 - a21 * a33
    c13 = a21 * a32 - a22 * a31
    inverse = 1.0 / (a11 * c11 + a12 * c12 + a13 * c13)
    c21 = a13 * a32 - a12 * a33
    c22 = a11 * a33 - a13 * a31
    c23 = a12 * a31 - a11 * a32
    c31 = a12 * a23 - a13 * a22
    c32 = a13 * a21 - a11 * a23
    c33 = a11 * a22 - a12 * a21
    f1 = (source - q - lost) / compliance
    f2 = q_fast + exchange_fast
    f3 = q_slow + exchange_slow
    k1 = (c11 * f1 + c21 * f2 + c31 * f3) * inverse
    k2 = (c12 * f1 + c22 * f2 + c32 * f3) * inverse
    k3 = (c13 * f1 + c23 * f2 + c33 * f3) * inverse
    # stage 2
    pressure2 = pressure + h * k1
    fast2 = fast + h * k2
    slow2 = slow + h * k3
    wall = (fast2 + slow2) * wall_elastance + wall_offset
    p_fast = wall + pressure_nearby_cmh2o(h * k2, fast, recoil_fast, e_fast, cap_f, sc_f, recoil, law)
    p_slow = wall + pressure_nearby_cmh2o(h * k3, slow, recoil_slow, e_slow, cap_s, sc_s, recoil, law)
    p_mean = w_fast * p_fast + w_slow * p_slow
    q = two_term_flow_l_s(pressure2 - p_mean, laminar, turbulent)
    carina = p_mean + q / g_all
    source = machine_flow_l_s(
        phase,
        mode,
        pressure2,
        stroke_flow,
        driven,
        drive_resistance,
        ceiling,
        p_out,
        p_in,
        g_out,
        g_in,
        slowed,
    )
    lost = outside_flow_l_s(pressure2, leak, exponent, cuff, safety, seal)
    f1 = (source - q - lost) / compliance - 2.0 * k1
    f2 = g_fast * (carina - p_fast) + exchange_fast - 2.0 * k2
    f3 = g_slow * (carina - p_slow) + exchange_slow - 2.0 * k3
    l1 = (c11 * f1 + c21 * f2 + c31 * f3) * inverse
    l2 = (c12 * f1 + c22 * f2 + c32 * f3) * inverse
    l3 = (c13 * f1 + c23 * f2 + c33 * f3) * inverse
    return (
        pressure + h * (1.5 * k1 + 0.5 * l1),
        fast + h * (1.5 * k2 + 0.5 * l2),
        slow + h * (1.5 * k3 + 0.5 * l3),
        recoil_before,
    )
