"""Faults for the bench of explanation, on purpose by other laws than those the ranking simulates.

Leaks go by the root of pressure, obstructions are turbulent, an open valve leaks even when mild, a used-up
absorbent lets gas break through, a ventilator set too low runs too slowly. Each takes the numbers of a run
and a severity from 0 to 1. An inspiratory valve and a hose are shut or off, there is no other law for that.
"""

from collections.abc import Callable

from lungeline.simulate.faults import RunValues

TYPICAL_PRESSURE_CMH2O = 25.0
SUPPLY_STOPS_SEVERITY = 0.95
Law = Callable[[RunValues, float], None]


def _orifice(name: str, per_cmh2o: float) -> Law:
    def law(v: RunValues, u: float) -> None:
        v.circuit["leak_exponent"] = 0.5
        v.add("circuit", name, per_cmh2o * TYPICAL_PRESSURE_CMH2O**0.5 * u)

    return law


def _scaled(*changes: tuple[str, str, float]) -> Law:
    """Scale numbers by 1 + amount × severity."""

    def law(v: RunValues, u: float) -> None:
        for group, name, amount in changes:
            v.scale(group, name, 1.0 + amount * u)

    return law


def _both(*laws: Law) -> Law:
    def law(v: RunValues, u: float) -> None:
        for each in laws:
            each(v, u)

    return law


def _added(*changes: tuple[str, str, float]) -> Law:
    def law(v: RunValues, u: float) -> None:
        for group, name, amount in changes:
            v.add(group, name, amount * u)

    return law


def _set(group: str, name: str, mild: float, severe: float) -> Law:
    def law(v: RunValues, u: float) -> None:
        values: dict[str, float] = getattr(v, group)
        values[name] = mild + (severe - mild) * u

    return law


def _disconnection(v: RunValues, _u: float) -> None:
    v.circuit["port"] = 1.0
    v.add("circuit", "sample_flow_l_s", 0.7 * v.ventilator["tidal_volume_l"] / v.ventilator["cycle_s"])


def _oxygen_supply(v: RunValues, u: float) -> None:
    v.scale("circuit", "fresh_gas_flow_l_s", (1.0 - u) ** 2)
    v.circuit["makeup_flow_l_s"] = 0.0
    if u > SUPPLY_STOPS_SEVERITY:
        v.ventilator["mode"] = 0.0


def _fast(v: RunValues, u: float) -> None:
    v.scale("ventilator", "cycle_s", 1.0 / (1.0 + u))
    v.ventilator["inspiratory_time_s"] = min(
        v.ventilator["inspiratory_time_s"], 0.5 * v.ventilator["cycle_s"]
    )
    v.scale("circuit", "expiratory_resistance_cmh2o_s_l", 1.0 + 1.5 * u)


LAWS: dict[str, Law] = {
    "circuit_leak": _orifice("leak_coefficient", 0.032),
    "cuff_leak": _orifice("cuff_leak_coefficient", 0.05),
    "disconnection": _disconnection,
    "tube_obstruction": _scaled(
        ("animal", "tube_turbulent_cmh2o_s2_l2", 30.0), ("animal", "tube_laminar_cmh2o_s_l", 8.0)
    ),
    "bronchospasm": _both(
        _scaled(
            ("animal", "airway_resistance_cmh2o_s_l", 10.0), ("animal", "slow_resistance_multiple", 4.0)
        ),
        _added(("animal", "slow_fraction", 0.1), ("animal", "shunt_added_fraction", 0.06)),
    ),
    "bronchial_intubation": _both(
        _scaled(("animal", "ventilated_fraction", -0.45)), _added(("animal", "shunt_added_fraction", 0.18))
    ),
    "expiratory_obstruction": _scaled(("circuit", "expiratory_resistance_cmh2o_s_l", 9.0)),
    "expiratory_valve_shut": _set("circuit", "expiratory_resistance_cmh2o_s_l", 30.0, 90.0),
    "inspiratory_valve_shut": _both(
        _set("circuit", "inspiratory_valve_shut", 1.0, 1.0),
        _set("ventilator", "flow_ceiling_l_s", 2e-3, 1e-3),
    ),
    "inspiratory_valve_open": _set("circuit", "inspiratory_valve_open_fraction", 0.1, 0.85),
    "expiratory_valve_open": _set("circuit", "expiratory_valve_open_fraction", 0.1, 0.85),
    "absorbent_exhausted": _set("circuit", "absorber_bypass_fraction", 0.8, 1.0),
    "absorber_bypassed": _set("circuit", "absorber_bypass_fraction", 0.05, 0.7),
    "vaporiser_empty": _scaled(("circuit", "vapour_fraction", -0.95)),
    "fresh_gas_lost": _scaled(("circuit", "fresh_gas_flow_l_s", -0.95)),
    "oxygen_supply_empty": _oxygen_supply,
    "ventilator_stopped": _set("ventilator", "mode", 0.0, 0.0),
    "relief_shut": _set("circuit", "relief_works", 0.0, 0.0),
    "spare_volume_too_small": _scaled(("circuit", "ceiling_l", -0.65)),
    "low_cardiac_output": _scaled(
        ("animal", "inotrope_multiple", -0.42), ("animal", "volaemia_fraction", -0.2),
        ("animal", "vascular_resistance_mmhg_min_l", -0.12),
    ),
    "cardiac_arrest": _set("animal", "inotrope_multiple", 0.35, 0.0),
    "pneumothorax": _both(
        _scaled(("animal", "ventilated_fraction", -0.42), ("animal", "inotrope_multiple", -0.25)),
        _added(
            ("animal", "shunt_added_fraction", 0.16), ("animal", "added_pleural_pressure_cmh2o", 6.0)
        ),
    ),
    "abdominal_distension": _both(
        _scaled(
            ("animal", "chest_wall_compliance_l_cmh2o", -0.5), ("animal", "volaemia_fraction", -0.05)
        ),
        _added(("animal", "added_pleural_pressure_cmh2o", 10.0)),
    ),
    "atelectasis": _both(
        _scaled(("animal", "superimposed_pressure_cmh2o", 0.45)),
        _added(("animal", "shunt_added_fraction", 0.12)),
    ),
    "light_plane": _both(
        _added(("animal", "resting_co2_mmhg", -23.0)),
        _scaled(
            ("animal", "effort_cmh2o", 0.3), ("animal", "vascular_resistance_mmhg_min_l", 0.18),
            ("animal", "heart_rate_per_min", 0.1),
        ),
    ),
    "auto_peep": _fast,
    "pulmonary_embolism": _both(
        _added(
            ("animal", "alveolar_dead_space_fraction", 0.3), ("animal", "shunt_added_fraction", 0.08)
        ),
        _scaled(("animal", "inotrope_multiple", -0.4)),
    ),
    "hypermetabolism": _scaled(
        ("animal", "oxygen_use_l_min", 2.0), ("animal", "carbon_dioxide_output_l_min", 2.8),
        ("animal", "heart_rate_per_min", 0.3),
    ),
    "hypoventilation_set": _scaled(("ventilator", "cycle_s", 0.5)),
    "sample_line_leak": _set("sensors", "sample_air_fraction", 0.0, 0.45),
    "flow_sensor_error": _set("sensors", "expired_volume_factor", 1.0, 0.7),
    "pressure_transducer_error": _set("sensors", "arterial_pressure_offset_mmhg", 0.0, -26.0),
    "airway_secretions": _both(
        _scaled(
            ("animal", "tube_turbulent_cmh2o_s2_l2", 15.0), ("animal", "tube_laminar_cmh2o_s_l", 20.0)
        ),
        _added(("animal", "shunt_added_fraction", 0.06)),
    ),
    "peep_left_on": _added(("ventilator", "peep_cmh2o", 12.0)),
    "deep_breath_left_set": _scaled(("ventilator", "tidal_volume_l", 0.8)),
}  # fmt: skip

# Trouble that stands on no list of causes, to see whether it is said to be so; from a third of the worst on.
LEAST_UNLISTED = 1.0 / 3.0
UNLISTED: dict[str, Law] = {
    "transducer_too_low": _set("sensors", "arterial_pressure_offset_mmhg", 0.0, 35.0),
    "volume_sensor_reads_high": _set("sensors", "expired_volume_factor", 1.0, 1.4),
    "vaporiser_gives_too_much": _scaled(("circuit", "vapour_fraction", 1.0)),
    "air_for_oxygen": _scaled(("circuit", "fresh_oxygen_fraction", -0.75)),
    "cold": _scaled(("animal", "oxygen_use_l_min", -0.5), ("animal", "carbon_dioxide_output_l_min", -0.5)),
    "vessels_narrow": _scaled(("animal", "vascular_resistance_mmhg_min_l", 0.8)),
    "pain": _scaled(
        ("animal", "heart_rate_per_min", 0.6), ("animal", "vascular_resistance_mmhg_min_l", 0.5)
    ),
    "belly_let_down": _scaled(("animal", "chest_wall_compliance_l_cmh2o", 1.5)),
    "vessels_wide_and_pulse_fast": _scaled(
        ("animal", "vascular_resistance_mmhg_min_l", -0.5), ("animal", "heart_rate_per_min", 0.7)
    ),
}  # fmt: skip
