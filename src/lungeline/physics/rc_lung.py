"""A lung of one resistance and one compliance: exact answers that a simulation of it must give.

Volume is counted from rest against the end-expiratory pressure. What breaths leave behind once they have
settled is in the formulas of the animal, `physiology.emptying`.
"""

import math

from lungeline.compiled import formula


@formula
def rc_share_left_fraction(elapsed_s: float, resistance_cmh2o_s_l: float, compliance_l_cmh2o: float) -> float:
    """Share of a change that is still to come after a time, exp(-t/RC) [1].

    elapsed_s: since the pressure outside was changed [s], 0 to 1000
    resistance_cmh2o_s_l: of all of the path [cmH2O·s/L], 0 to 30; nothing is left at 0
    compliance_l_cmh2o: of the lung with its chest [L/cmH2O], 0 to 2; nothing is left at 0

    Source: R dV/dt = P - V/C (closed form).

    >>> round(rc_share_left_fraction(3.0, 6.0, 0.5), 4)
    0.3679
    """
    time_constant_s = resistance_cmh2o_s_l * compliance_l_cmh2o
    if time_constant_s <= 0.0:
        return 1.0 if elapsed_s <= 0.0 else 0.0
    return math.exp(-elapsed_s / time_constant_s)


@formula
def passive_volume_l(
    start_volume_l: float, elapsed_s: float, resistance_cmh2o_s_l: float, compliance_l_cmh2o: float
) -> float:
    """Volume above rest that is left some time into a passive expiration [L].

    start_volume_l: above rest, when it began [L], 0 to 30
    elapsed_s: since then [s], 0 to 1000
    resistance_cmh2o_s_l: of all of the path [cmH2O·s/L], 0 to 30
    compliance_l_cmh2o: of the lung with its chest [L/cmH2O], 0 to 2

    Source: R dV/dt = -V/C (closed form).

    >>> round(passive_volume_l(7.2611, 3.5, 6.0, 0.5), 4)
    2.2611
    """
    return start_volume_l * rc_share_left_fraction(elapsed_s, resistance_cmh2o_s_l, compliance_l_cmh2o)


@formula
def passive_flow_l_s(
    start_volume_l: float, elapsed_s: float, resistance_cmh2o_s_l: float, compliance_l_cmh2o: float
) -> float:
    """Flow out of the animal some time into a passive expiration, counted positive [L/s].

    start_volume_l: above rest, when it began [L], 0 to 30
    elapsed_s: since then [s], 0 to 1000
    resistance_cmh2o_s_l: of all of the path [cmH2O·s/L], above 0 to 30; no number at or below 0
    compliance_l_cmh2o: of the lung with its chest [L/cmH2O], above 0 to 2; no number at or below 0

    Source: derivative of `passive_volume_l`.

    >>> passive_flow_l_s(6.0, 0.0, 6.0, 0.5)
    2.0
    """
    time_constant_s = resistance_cmh2o_s_l * compliance_l_cmh2o
    if time_constant_s <= 0.0:
        return math.nan
    left = passive_volume_l(start_volume_l, elapsed_s, resistance_cmh2o_s_l, compliance_l_cmh2o)
    return left / time_constant_s


@formula
def pressure_step_volume_l(
    pressure_step_cmh2o: float, elapsed_s: float, resistance_cmh2o_s_l: float, compliance_l_cmh2o: float
) -> float:
    """Volume that a pressure held at the mouth of the tube has brought in [L].

    pressure_step_cmh2o: above end-expiratory pressure [cmH2O], 0 to 100
    elapsed_s: since it was applied [s], 0 to 1000
    resistance_cmh2o_s_l: of all of the path [cmH2O·s/L], 0 to 30
    compliance_l_cmh2o: of the lung with its chest [L/cmH2O], 0 to 2

    Source: R dV/dt = P - V/C (closed form).

    >>> round(pressure_step_volume_l(20.0, 3.0, 6.0, 0.5), 3)
    6.321
    """
    left = rc_share_left_fraction(elapsed_s, resistance_cmh2o_s_l, compliance_l_cmh2o)
    return pressure_step_cmh2o * compliance_l_cmh2o * (1.0 - left)


@formula
def constant_flow_drop_cmh2o(
    flow_l_s: float,
    elapsed_s: float,
    resistance_cmh2o_s_l: float,
    compliance_l_cmh2o: float,
    circuit_compliance_l_cmh2o: float,
) -> float:
    """Pressure at the port less that in the alveoli, while circuit and lung are fed a constant flow [cmH2O].

    flow_l_s: into the circuit, and so partly into the animal [L/s], 0 to 15
    elapsed_s: since the flow began [s], 0 to 20
    resistance_cmh2o_s_l: between port and alveoli [cmH2O·s/L], 0 to 30
    compliance_l_cmh2o: of the lung with its chest [L/cmH2O], above 0 to 2; no number at or below 0
    circuit_compliance_l_cmh2o: of circuit and its gas [L/cmH2O], 0 to 1

    Source: two stores joined by one resistance (closed form).

    >>> round(constant_flow_drop_cmh2o(2.0, 100.0, 3.0, 0.4, 0.1), 6)
    4.8
    """
    both_l_cmh2o = compliance_l_cmh2o + circuit_compliance_l_cmh2o
    if compliance_l_cmh2o <= 0.0 or both_l_cmh2o <= 0.0:
        return math.nan
    lung_share = compliance_l_cmh2o / both_l_cmh2o
    left = rc_share_left_fraction(elapsed_s, resistance_cmh2o_s_l, lung_share * circuit_compliance_l_cmh2o)
    return flow_l_s * resistance_cmh2o_s_l * lung_share * (1.0 - left)


@formula
def constant_flow_pressure_cmh2o(
    flow_l_s: float,
    elapsed_s: float,
    resistance_cmh2o_s_l: float,
    compliance_l_cmh2o: float,
    circuit_compliance_l_cmh2o: float,
    end_expiratory_pressure_cmh2o: float,
) -> float:
    """Pressure at the port while circuit and lung are fed a constant flow [cmH2O].

    flow_l_s: into the circuit, and so partly into the animal [L/s], 0 to 15
    elapsed_s: since the flow began [s], 0 to 20
    resistance_cmh2o_s_l: between port and alveoli [cmH2O·s/L], 0 to 30
    compliance_l_cmh2o: of the lung with its chest [L/cmH2O], above 0 to 2; no number at or below 0
    circuit_compliance_l_cmh2o: of circuit and its gas [L/cmH2O], 0 to 1
    end_expiratory_pressure_cmh2o: everywhere when the flow began [cmH2O], 0 to 40

    Source: two stores joined by one resistance (closed form); without the circuit's it is PEEP + R q + q t/C.

    >>> round(constant_flow_pressure_cmh2o(2.0, 2.0, 3.0, 0.4, 0.0, 5.0), 6)
    21.0
    """
    drop = constant_flow_drop_cmh2o(
        flow_l_s, elapsed_s, resistance_cmh2o_s_l, compliance_l_cmh2o, circuit_compliance_l_cmh2o
    )
    if math.isnan(drop):
        return drop
    stored = flow_l_s * elapsed_s + compliance_l_cmh2o * drop
    return end_expiratory_pressure_cmh2o + stored / (compliance_l_cmh2o + circuit_compliance_l_cmh2o)


@formula
def held_pressure_cmh2o(
    delivered_volume_l: float,
    compliance_l_cmh2o: float,
    circuit_compliance_l_cmh2o: float,
    end_expiratory_pressure_cmh2o: float,
) -> float:
    """Pressure everywhere once a volume given into circuit and lung has come to rest: the plateau [cmH2O].

    delivered_volume_l: given by the machine [L], 0 to 20
    compliance_l_cmh2o: of the lung with its chest [L/cmH2O], 0 to 2; no number where both are 0
    circuit_compliance_l_cmh2o: of circuit and its gas [L/cmH2O], 0 to 1
    end_expiratory_pressure_cmh2o: everywhere when it began [cmH2O], 0 to 40

    Source: definition of compliance, two stores.

    >>> round(held_pressure_cmh2o(6.5, 0.285, 0.04, 5.0), 6)
    25.0
    """
    both_l_cmh2o = compliance_l_cmh2o + circuit_compliance_l_cmh2o
    if both_l_cmh2o <= 0.0:
        return math.nan
    return end_expiratory_pressure_cmh2o + delivered_volume_l / both_l_cmh2o
