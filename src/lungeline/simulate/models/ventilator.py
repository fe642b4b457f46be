"""What the machine does to the pressure at the patient port: flow it gives or takes, and its slope."""

from lungeline.compiled import formula

EXPIRATION, INSPIRATION, PAUSE = 0, 1, 2
NO_MACHINE, VOLUME, PRESSURE_CONTROL, HOLD = 0, 1, 2, 3
SHUT_CONDUCTANCE_L_S_CMH2O = 1e-6
SLOWED_SHARE_OF_EXPIRATION = 0.93


@formula
def machine_flow_l_s(
    phase: float,
    mode: float,
    pressure_cmh2o: float,
    stroke_flow_l_s: float,
    driven_pressure_cmh2o: float,
    drive_resistance_cmh2o_s_l: float,
    flow_ceiling_l_s: float,
    expiratory_pressure_cmh2o: float,
    inspiratory_baseline_cmh2o: float,
    expiratory_conductance_l_s_cmh2o: float,
    inspiratory_conductance_l_s_cmh2o: float,
    slowed_flow_l_s: float,
) -> float:
    """Flow from the machine into the circuit at the patient port [L/s].

    phase: 0 expiration, 1 inspiration, 2 pause [1], 0 to 2
    mode: 0 none, 1 volume, 2 pressure, 3 a held pressure [1], 0 to 3
    pressure_cmh2o: pressure at the patient port [cmH2O]
    stroke_flow_l_s: constant flow of a volume stroke [L/s], 0 or more
    driven_pressure_cmh2o: pressure the machine drives towards [cmH2O]
    drive_resistance_cmh2o_s_l: resistance of the drive [cmH2O·s/L], above 0
    flow_ceiling_l_s: most the machine can give [L/s], above 0
    expiratory_pressure_cmh2o: pressure above which gas leaves through the expiratory limb [cmH2O]
    inspiratory_baseline_cmh2o: pressure below which gas comes through the inspiratory limb [cmH2O]
    expiratory_conductance_l_s_cmh2o: of the expiratory limb [L/s/cmH2O], 0 or more
    inspiratory_conductance_l_s_cmh2o: of the inspiratory limb [L/s/cmH2O], 0 or more
    slowed_flow_l_s: most flow let out in slowed expiration, 0 for none [L/s], 0 or more

    Source: valve and drive laws of a circle system, own formulation.

    >>> machine_flow_l_s(0.0, 1.0, 10.0, 0.0, 0.0, 0.3, 10.0, 5.0, 0.0, 1.0, 2.0, 0.0)
    -5.0
    """
    if phase == EXPIRATION:
        if pressure_cmh2o > expiratory_pressure_cmh2o:
            out = (pressure_cmh2o - expiratory_pressure_cmh2o) * expiratory_conductance_l_s_cmh2o
            if slowed_flow_l_s > 0.0 and out > slowed_flow_l_s:
                return -slowed_flow_l_s
            return -out
        if pressure_cmh2o < inspiratory_baseline_cmh2o:
            return (inspiratory_baseline_cmh2o - pressure_cmh2o) * inspiratory_conductance_l_s_cmh2o
        return 0.0
    if phase == PAUSE:
        return 0.0
    if mode == VOLUME:
        return stroke_flow_l_s
    drive = (driven_pressure_cmh2o - pressure_cmh2o) / drive_resistance_cmh2o_s_l
    return min(max(drive, 0.0), flow_ceiling_l_s)


@formula
def machine_slope_l_s_cmh2o(
    phase: float,
    mode: float,
    pressure_cmh2o: float,
    driven_pressure_cmh2o: float,
    drive_resistance_cmh2o_s_l: float,
    flow_ceiling_l_s: float,
    expiratory_pressure_cmh2o: float,
    inspiratory_baseline_cmh2o: float,
    expiratory_conductance_l_s_cmh2o: float,
    inspiratory_conductance_l_s_cmh2o: float,
    slowed_flow_l_s: float,
) -> float:
    """Slope of the machine's flow over the pressure at the port, 0 or negative [L/s/cmH2O].

    phase: 0 expiration, 1 inspiration, 2 pause [1], 0 to 2
    mode: 0 none, 1 volume, 2 pressure, 3 a held pressure [1], 0 to 3
    pressure_cmh2o: pressure at the patient port [cmH2O]
    driven_pressure_cmh2o: pressure the machine drives towards [cmH2O]
    drive_resistance_cmh2o_s_l: resistance of the drive [cmH2O·s/L], above 0
    flow_ceiling_l_s: most the machine can give [L/s], above 0
    expiratory_pressure_cmh2o: opening of the expiratory limb [cmH2O]
    inspiratory_baseline_cmh2o: opening of the inspiratory limb [cmH2O]
    expiratory_conductance_l_s_cmh2o: of the expiratory limb [L/s/cmH2O], 0 or more
    inspiratory_conductance_l_s_cmh2o: of the inspiratory limb [L/s/cmH2O], 0 or more
    slowed_flow_l_s: most flow let out in slowed expiration, 0 for none [L/s], 0 or more

    Source: derivative of `machine_flow_l_s`.

    >>> machine_slope_l_s_cmh2o(0.0, 1.0, 10.0, 0.0, 0.3, 10.0, 5.0, 0.0, 1.0, 2.0, 0.0)
    -1.0
    """
    if phase == EXPIRATION:
        if pressure_cmh2o > expiratory_pressure_cmh2o:
            out = (pressure_cmh2o - expiratory_pressure_cmh2o) * expiratory_conductance_l_s_cmh2o
            if slowed_flow_l_s > 0.0 and out > slowed_flow_l_s:
                return 0.0
            return -expiratory_conductance_l_s_cmh2o
        if pressure_cmh2o < inspiratory_baseline_cmh2o:
            return -inspiratory_conductance_l_s_cmh2o
        return 0.0
    if phase == PAUSE or mode == VOLUME:
        return 0.0
    drive = (driven_pressure_cmh2o - pressure_cmh2o) / drive_resistance_cmh2o_s_l
    if drive <= 0.0 or drive >= flow_ceiling_l_s:
        return 0.0
    return -1.0 / drive_resistance_cmh2o_s_l
