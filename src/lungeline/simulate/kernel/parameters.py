"""The three records of numbers a run reads: animal, circuit, ventilator. Constant within a segment."""

from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np

ANIMAL_FIELDS: tuple[str, ...] = (
    "weight_kg",
    # mechanics
    "lung_capacity_l",
    "recoil_pressure_cmh2o",
    "recoil_fraction",
    "chest_wall_compliance_l_cmh2o",
    "chest_wall_rest_volume_l",
    "superimposed_pressure_cmh2o",
    "closing_pressure_cmh2o",
    "opening_pressure_cmh2o",
    "opening_spread_cmh2o",
    "lowest_opening_added_cmh2o",
    "opening_rate_per_s_cmh2o",
    "closing_rate_per_s_cmh2o",
    "airway_resistance_cmh2o_s_l",
    "slow_fraction",
    "slow_resistance_multiple",
    "slow_perfusion_fraction",
    "tube_laminar_cmh2o_s_l",
    "tube_turbulent_cmh2o_s2_l2",
    "ventilated_fraction",
    "added_pleural_pressure_cmh2o",
    # gas exchange
    "shunt_open_fraction",
    "shunt_per_closed_fraction",
    "shunt_added_fraction",
    "alveolar_dead_space_fraction",
    "airway_dead_space_l",
    "lung_tissue_gas_l",
    "oxygen_use_l_min",
    "carbon_dioxide_output_l_min",
    "haemoglobin_g_dl",
    "p50_mmhg",
    "base_excess_mmol_l",
    "oxygen_store_l",
    "fast_store_l_mmhg",
    "slow_store_l_mmhg",
    "store_conductance_l_min_mmhg",
    # circulation
    "cardiac_output_l_min",
    "output_halving_pressure_cmh2o",
    "volaemia_fraction",
    "arterial_blood_l",
    "vascular_resistance_mmhg_min_l",
    "inotrope_multiple",
    "vasopressor_multiple",
    "heart_rate_per_min",
    "full_circulation",
    # agent
    "mac_fraction",
    "blood_gas_ratio",
    "brain_store_l",
    "muscle_store_l",
    "fat_store_l",
    "poor_store_l",
    "brain_flow_fraction",
    "muscle_flow_fraction",
    "fat_flow_fraction",
    # breathing
    "breathes",
    "resting_co2_mmhg",
    "co2_per_mac_mmhg",
    "threshold_gap_mmhg",
    "central_lag_s",
    "effort_cmh2o",
    "breathing_rate_per_min",
    "rate_per_mac_per_min",
    "own_inspiratory_fraction",
    "arousal_multiple",
    "injectable_mac_multiple",  # held by infusion; a dose given at the start wanes in the state
    "injected_half_life_min",
    "restart_drive_multiple",
    # which structure the animal has
    "recoil_law",
    "recruitment_law",
    "shunt_law",
    "output_law",
    "co2_law",
)

CIRCUIT_FIELDS: tuple[str, ...] = (
    "barometric_pressure_mmhg",
    "fresh_gas_flow_l_s",
    "fresh_oxygen_fraction",
    "vapour_fraction",
    "fixed_volume_l",
    "hose_volume_l",
    "reservoir_capacity_l",
    "ceiling_l",
    "bag_compliance_l_cmh2o",
    "compliance_l_cmh2o",
    "leak_coefficient",
    "leak_exponent",
    "cuff_leak_coefficient",
    "sample_flow_l_s",
    "expiratory_resistance_cmh2o_s_l",
    "inspiratory_resistance_cmh2o_s_l",
    "absorber_capacity_l",
    "absorber_bypass_fraction",
    "makeup_flow_l_s",
    "makeup_threshold_l",
    "makeup_dose_l",
    "makeup_vapour_fraction",
    "entrains",
    "relief_works",
    "inspiratory_valve_open_fraction",
    "expiratory_valve_open_fraction",
    "inspiratory_valve_shut",
    "expiratory_valve_shut",
    "port",  # 0 animal on circle, 1 open to air, 2 demand valve, 3 test lung, 4 plugged
    "test_lung_compliance_l_cmh2o",
    "test_lung_resistance_cmh2o_s_l",
    "safety_pressure_cmh2o",
    "seal_pressure_cmh2o",
    "material_volume_l",
    "material_gas_ratio",
)

VENTILATOR_FIELDS: tuple[str, ...] = (
    "mode",  # 0 none (own breathing), 1 volume, 2 pressure, 3 hold a pressure
    "tidal_volume_l",
    "cycle_s",
    "inspiratory_time_s",
    "pause_s",
    "pressure_limit_cmh2o",
    "peep_cmh2o",
    "holds_baseline",
    "inspiratory_pressure_cmh2o",
    "rise_s",
    "trigger_flow_l_s",
    "apnoea_backup_s",
    "drive_resistance_cmh2o_s_l",
    "flow_ceiling_l_s",
    "slowed_expiration",
    "compliance_compensated",
    "fresh_gas_coupled",
    "valves_held",
)


def _dtype(fields: Iterable[str]) -> np.dtype[Any]:
    return np.dtype([(name, np.float64) for name in fields])


ANIMAL = _dtype(ANIMAL_FIELDS)
CIRCUIT = _dtype(CIRCUIT_FIELDS)
VENTILATOR = _dtype(VENTILATOR_FIELDS)


def record(dtype: np.dtype[Any], values: Mapping[str, float]) -> Any:
    """Return one record of `dtype` with every field given in `values`.

    Raises KeyError where a field is missing: a run never guesses a number.
    """
    filled = np.zeros(1, dtype).view(np.recarray)
    for name in dtype.names or ():
        filled[name] = values[name]
    return filled[0]


def as_values(row: Any) -> dict[str, float]:
    """Return a record as a plain mapping, to be changed and made a record again."""
    return {name: float(row[name]) for name in row.dtype.names}
