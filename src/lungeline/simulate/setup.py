"""From a case to the numbers of a run: animal, circuit, ventilator, as plain mappings."""

import math
from typing import Any

from lungeline.case.animal import Animal
from lungeline.case.case import Case
from lungeline.case.equipment import Equipment
from lungeline.case.settings import Settings
from lungeline.physics.atmosphere import standard_pressure_mmhg
from lungeline.physics.breathed_gas import fresh_gas_btps_l_min
from lungeline.physics.tube_terms import tube_laminar_term_cmh2o_s_l, tube_turbulent_term_cmh2o_s2_l2
from lungeline.physics.tubes import tube_volume_ml
from lungeline.physics.vapour import bypass_output_fraction
from lungeline.physiology.arterial_pressure import resistance_phenylephrine_multiple
from lungeline.physiology.circulation import output_dobutamine_multiple, output_phenylephrine_multiple
from lungeline.physiology.mac import mac_at_pressure_percent, mac_at_temperature_percent
from lungeline.physiology.uptake import blood_gas_at_temperature_ratio
from lungeline.reference import Parameter, figure, parameters

Values = dict[str, float]
CMH2O_PER_MMHG = 1.35951
ML_PER_L = 1000.0
SECONDS_PER_MIN = 60.0
TYPICAL_RESERVOIR_L = 10.0
REFERENCE_LEAK_PRESSURE_CMH2O = 30.0
LITRES_PER_KG_ABSORBENT = 10.0  # from L per 100 g
BAG_COMPLIANCE_L_CMH2O = 0.3
SEAL_PRESSURE_CMH2O = -20.0
DRIVE_RESISTANCE_CMH2O_S_L = 0.3
RISE_S = 0.3
MAC_FALL_PER_C = 0.05
MAC_TEMPERATURE_C = 37.5
PRESSURISED_AGENTS = ("desflurane",)
LARGEST_VAPOUR_FRACTION = 0.9
NO_LUNG = ("test lung", "plugged")
PORTS = {"animal": 0.0, "open": 1.0, "demand valve": 2.0, "test lung": 3.0, "plugged": 4.0}
NO_LIMIT_CMH2O = 1e6
FLOWMETER_TO_BODY = (20.0, 37.0, 47.0)  # flowmeter and body temperature [°C], water vapour [mmHg]
# Gas and fittings for which tube resistance was computed, see the tube figures.
OXYGEN_DENSITY_KG_M3 = 1.28
OXYGEN_VISCOSITY_PA_S = 2.03e-5
DYNAMIC_HEADS = 1.5
WIDE_TUBE_MM = 18.0
WIDE_TUBE_FLOW_L_S = 6.0
NARROW_TUBE_FLOW_L_S = 2.0
STRUCTURES = ("recoil_law", "recruitment_law", "shunt_law", "output_law", "co2_law")
# Stiffer or wider circuits show no other numbers, but need ever shorter steps: 2 mL/cmH2O is 2 L of gas, and
# 0.05 cmH2O·s/L a quarter of a cmH2O at the fastest flow of a breath.
LEAST_COMPLIANCE_L_CMH2O = 0.002
LEAST_RESISTANCE_CMH2O_S_L = 0.05
# Shares of a whole stay shares, however an animal is drawn and whatever befalls it.
POSSIBLE_SHARES = {
    "recoil_fraction": (0.5, 0.95),
    "slow_fraction": (0.0, 0.6),
    "slow_perfusion_fraction": (0.0, 0.7),
    "ventilated_fraction": (0.05, 1.0),
    "alveolar_dead_space_fraction": (0.0, 0.6),
    "shunt_open_fraction": (0.0, 0.3),
    "own_inspiratory_fraction": (0.1, 0.6),
}
FLOW_SHARES = ("brain_flow_fraction", "muscle_flow_fraction", "fat_flow_fraction")
LARGEST_FLOW_SHARES = 0.98  # the rest of the body gets some blood too
# Multipliers on chest-wall compliance and added pressure in a full abdomen: memory, placeholder.
CONDITION_CHEST_WALL = {"healthy": 1.0, "colic": 0.6, "pregnant": 0.75}
CONDITION_PLEURAL_CMH2O = {"healthy": 0.0, "colic": 4.0, "pregnant": 1.5}


def species_parameters(species: str) -> dict[str, Parameter]:
    """Return the animal's parameters: the horse's, with what this species has of its own."""
    found = dict(parameters("animal.horse"))
    if species != "horse":
        found.update(_own_parameters(species))
    return found


def _own_parameters(species: str) -> dict[str, Parameter]:
    own = (name for name in parameters("animal") if name.startswith(f"{species}."))
    return {name.partition(".")[2]: parameters("animal")[name] for name in own}


def barometric_pressure_mmhg(case: Case) -> float:
    """Ambient pressure: as given, or of the standard atmosphere at this altitude [mmHg]."""
    if case.place.barometric_pressure_mmhg is not None:
        return case.place.barometric_pressure_mmhg
    return float(standard_pressure_mmhg(case.place.altitude_m))


def tube_diameter_mm(animal: Animal, equipment: Equipment) -> float:
    """Inner diameter of the tube: as given, or the usual one for this species and weight [mm]."""
    if equipment.tube_internal_diameter_mm is not None:
        return equipment.tube_internal_diameter_mm
    species = "foal" if animal.species == "foal" else animal.species
    choices = parameters("tubes.choice")
    groups = {name.partition(".")[0] for name in choices if name.startswith(f"{species}_")}
    best, best_gap_kg = "", math.inf
    for group in sorted(groups):
        low = choices[f"{group}.from_weight_kg"].figure.value
        high = choices[f"{group}.to_weight_kg"].figure.value
        gap_kg = max(low - animal.weight_kg, animal.weight_kg - high, 0.0)
        if gap_kg < best_gap_kg:
            best, best_gap_kg = group, gap_kg
    return choices[f"{best}.internal_diameter_mm"].figure.value


def _tube(animal: Animal, equipment: Equipment) -> Values:
    """Resistance and volume of the tube; its length is that of the nearest listed size."""
    diameter_mm = tube_diameter_mm(animal, equipment)
    sizes = parameters("tubes.size")
    nearest = min(
        (name for name in sizes if name.endswith(".internal_diameter_mm")),
        key=lambda name: abs(sizes[name].figure.value - diameter_mm),
    ).partition(".")[0]
    length_cm = equipment.tube_length_cm or sizes[f"{nearest}.length_cm"].figure.value
    highest_l_s = WIDE_TUBE_FLOW_L_S if diameter_mm >= WIDE_TUBE_MM else NARROW_TUBE_FLOW_L_S
    shape = (diameter_mm, length_cm, OXYGEN_DENSITY_KG_M3, OXYGEN_VISCOSITY_PA_S)
    turbulent = tube_turbulent_term_cmh2o_s2_l2(*shape, DYNAMIC_HEADS, highest_l_s)
    return {
        "tube_laminar_cmh2o_s_l": float(tube_laminar_term_cmh2o_s_l(*shape, highest_l_s)),
        "tube_turbulent_cmh2o_s2_l2": float(turbulent),
        "volume_l": float(tube_volume_ml(diameter_mm, length_cm)) / ML_PER_L,
    }


def _agent_values(
    animal: Animal, settings: Settings, weight_kg: float, p: Values, barometric_mmhg: float
) -> Values:
    agent, species = settings.agent, animal.species
    mac = figure(f"agents.{agent}.mac_{species}_percent").value
    mac = float(mac_at_temperature_percent(mac, MAC_TEMPERATURE_C, animal.temperature_c, MAC_FALL_PER_C))
    mac = float(mac_at_pressure_percent(mac, barometric_mmhg))
    blood = figure(f"agents.{agent}.blood_gas_{species}_ratio").value

    def store(volume: str, ratio: str) -> float:
        return p[volume] * weight_kg * figure(f"agents.{agent}.{ratio}_gas_ratio").value

    return {
        "mac_fraction": mac / 100.0,
        "blood_gas_ratio": float(blood_gas_at_temperature_ratio(blood, animal.temperature_c)),
        "brain_store_l": store("brain_store_l_kg", "vessel_rich"),
        "muscle_store_l": store("muscle_store_l_kg", "muscle"),
        "fat_store_l": store("fat_store_l_kg", "fat"),
        "poor_store_l": store("poor_store_l_kg", "vessel_poor"),
    }


def animal_values(case: Case, settings: Settings, multipliers: dict[str, float] | None = None) -> Values:
    """Return every number of the animal; `multipliers` scale parameters by name, switches are set.

    Raises KeyError for a multiplier that names no parameter.
    """
    animal = case.animal
    found = species_parameters(animal.species)
    p = {name: parameter.at_weight(animal.weight_kg) for name, parameter in found.items()}
    position = animal.position.split(" ")[-1]
    if position in ("lateral", "sternal"):
        p["chest_wall_rest_volume_l"] = p[f"chest_wall_rest_volume_{position}_l"]
    p["chest_wall_rest_volume_l"] += p["head_up_volume_per_degree_l"] * animal.head_up_deg
    p["chest_wall_compliance_l_cmh2o"] *= CONDITION_CHEST_WALL[animal.condition]
    tube = _tube(animal, case.equipment)
    barometric_mmhg = barometric_pressure_mmhg(case)
    values: Values = {
        **p,
        **_agent_values(animal, settings, animal.weight_kg, p, barometric_mmhg),
        "weight_kg": animal.weight_kg,
        "tube_laminar_cmh2o_s_l": tube["tube_laminar_cmh2o_s_l"],
        "tube_turbulent_cmh2o_s2_l2": tube["tube_turbulent_cmh2o_s2_l2"],
        "airway_dead_space_l": (
            p["airway_dead_space_ml_kg"] * animal.weight_kg + p["apparatus_dead_space_ml"]
        )
        / ML_PER_L
        + tube["volume_l"],
        "ventilated_fraction": 1.0,
        "added_pleural_pressure_cmh2o": CONDITION_PLEURAL_CMH2O[animal.condition],
        "shunt_added_fraction": 0.0,
        "volaemia_fraction": 1.0,
        "inotrope_multiple": float(
            output_dobutamine_multiple(settings.dobutamine_ug_kg_min)
            * output_phenylephrine_multiple(settings.phenylephrine_ug_kg_min)
        ),
        "vasopressor_multiple": float(resistance_phenylephrine_multiple(settings.phenylephrine_ug_kg_min)),
        "full_circulation": 1.0,
        "breathes": 1.0,
        "injectable_mac_multiple": settings.injectable_mac_multiple,
        **dict.fromkeys(STRUCTURES, 0.0),
    }
    for name, factor in (multipliers or {}).items():
        values[name] = factor if name in STRUCTURES else values[name] * factor
    if case.equipment.patient_port in NO_LUNG:
        values["slow_fraction"] = 0.0  # one bag, or none
    return values


def keep_possible(animal: Values) -> None:
    """Bound the shares among an animal's numbers, after faults and differences between animals."""
    for name, (low, high) in POSSIBLE_SHARES.items():
        animal[name] = min(max(animal[name], low), high)
    blood = sum(animal[name] for name in FLOW_SHARES)
    if blood > LARGEST_FLOW_SHARES:
        for name in FLOW_SHARES:
            animal[name] *= LARGEST_FLOW_SHARES / blood


def vapour_fraction(settings: Settings, barometric_mmhg: float) -> float:
    """Agent fraction of the total fresh gas at this altitude.

    A bypass vaporiser splits the carrier as at sea level, a pressurised one keeps the fraction.
    """
    dial = settings.vaporiser_percent / 100.0
    if settings.agent in PRESSURISED_AGENTS:
        return dial
    vapour_mmhg = figure(f"agents.{settings.agent}.saturated_vapour_pressure_20c_mmhg").value
    return min(float(bypass_output_fraction(dial, vapour_mmhg, barometric_mmhg)), LARGEST_VAPOUR_FRACTION)


def circuit_values(case: Case, settings: Settings) -> Values:
    """Return every number of the circuit."""
    e = case.equipment
    barometric_mmhg = barometric_pressure_mmhg(case)
    vapour = vapour_fraction(settings, barometric_mmhg)
    leak = e.leak_at_30_cmh2o_ml_min / (ML_PER_L * SECONDS_PER_MIN)
    leak /= REFERENCE_LEAK_PRESSURE_CMH2O**e.leak_exponent_number
    compliance = e.circuit_compliance_l_cmh2o
    if compliance is None:
        compliance = (e.circle_volume_l + TYPICAL_RESERVOIR_L) / (barometric_mmhg * CMH2O_PER_MMHG)
    material = e.agent_absorbing_material
    to_btps = float(fresh_gas_btps_l_min(1.0, barometric_mmhg, *FLOWMETER_TO_BODY))
    capacity = figure("absorbents.capacity_l_100g").value * LITRES_PER_KG_ABSORBENT * e.absorbent_kg
    return {
        "barometric_pressure_mmhg": barometric_mmhg,
        "fresh_gas_flow_l_s": settings.fresh_gas_flow_l_min * to_btps / SECONDS_PER_MIN,
        "fresh_oxygen_fraction": settings.fresh_gas_oxygen_fraction,
        "vapour_fraction": vapour,
        "fixed_volume_l": max(e.circle_volume_l - 2.0 * e.hose_volume_l, 0.5),
        "hose_volume_l": e.hose_volume_l,
        "reservoir_capacity_l": e.reservoir_capacity_l,
        "ceiling_l": min(settings.tidal_volume_l + settings.spare_volume_l, e.reservoir_capacity_l),
        "bag_compliance_l_cmh2o": BAG_COMPLIANCE_L_CMH2O,
        "compliance_l_cmh2o": max(compliance, LEAST_COMPLIANCE_L_CMH2O),
        "leak_coefficient": leak if e.leak_place == "circuit" else 0.0,
        "leak_exponent": e.leak_exponent_number,
        "cuff_leak_coefficient": leak if e.leak_place == "cuff" else 0.0,
        "sample_flow_l_s": e.sample_flow_l_min / SECONDS_PER_MIN,
        "expiratory_resistance_cmh2o_s_l": max(e.expiratory_resistance_cmh2o_s_l, LEAST_RESISTANCE_CMH2O_S_L),
        "inspiratory_resistance_cmh2o_s_l": max(
            e.inspiratory_resistance_cmh2o_s_l, LEAST_RESISTANCE_CMH2O_S_L
        ),
        "absorber_capacity_l": capacity,
        "absorber_bypass_fraction": 0.0,
        "makeup_flow_l_s": e.makeup_flow_l_min * to_btps / SECONDS_PER_MIN,
        "makeup_threshold_l": e.makeup_threshold_l,
        "makeup_dose_l": e.makeup_dose_l,
        "makeup_vapour_fraction": vapour if e.makeup_through_vaporiser else 0.0,
        "entrains": 1.0,
        "relief_works": 1.0,
        "inspiratory_valve_open_fraction": 0.0,
        "expiratory_valve_open_fraction": 0.0,
        "inspiratory_valve_shut": 0.0,
        "expiratory_valve_shut": 0.0,
        "port": PORTS[e.patient_port],
        "test_lung_compliance_l_cmh2o": e.test_lung_compliance_l_cmh2o,
        "test_lung_resistance_cmh2o_s_l": e.test_lung_resistance_cmh2o_s_l,
        "safety_pressure_cmh2o": e.safety_pressure_cmh2o,
        "seal_pressure_cmh2o": SEAL_PRESSURE_CMH2O,
        "material_volume_l": 0.0 if material == "none" else e.agent_absorbing_material_volume_l,
        "material_gas_ratio": 1.0
        if material == "none"
        else figure(f"agents.{settings.agent}.{material}_gas_ratio").value,
    }


def ventilator_values(case: Case, settings: Settings) -> Values:
    """Return every number of the ventilator."""
    mode = {"volume": 1.0, "pressure": 2.0, "assisted": 1.0, "spontaneous": 0.0}[settings.mode]
    assisted = settings.mode == "assisted"
    return {
        "mode": mode if settings.ventilator_on else 0.0,
        "tidal_volume_l": settings.tidal_volume_l,
        "cycle_s": SECONDS_PER_MIN / settings.respiratory_rate_per_min,
        "inspiratory_time_s": settings.inspiratory_time_s,
        "pause_s": settings.pause_s,
        "pressure_limit_cmh2o": settings.pressure_limit_cmh2o,
        "peep_cmh2o": settings.peep_cmh2o,
        "holds_baseline": float(case.equipment.holds_baseline and settings.ventilator_on),
        "inspiratory_pressure_cmh2o": settings.inspiratory_pressure_cmh2o,
        "rise_s": RISE_S,
        "trigger_flow_l_s": settings.trigger_flow_l_min / SECONDS_PER_MIN if assisted else 0.0,
        "apnoea_backup_s": settings.apnoea_backup_s,
        "drive_resistance_cmh2o_s_l": DRIVE_RESISTANCE_CMH2O_S_L,
        "flow_ceiling_l_s": case.equipment.flow_ceiling_l_s,
        "slowed_expiration": float(settings.slowed_expiration),
        "compliance_compensated": float(case.equipment.compliance_compensated),
        "fresh_gas_coupled": float(case.equipment.fresh_gas_coupled),
        "valves_held": 0.0,
    }


def start_values(case: Case, animal: Values, circuit: Values) -> dict[str, Any]:
    """Return what the first state needs, from the case's [start] and what is usual."""
    start = case.start
    induced = start.state == "induced"
    agent = 0.0 if induced else 1.1 * animal["mac_fraction"]
    circle_agent = agent if start.circle_agent_percent is None else start.circle_agent_percent / 100.0
    content = circuit["ceiling_l"] if start.reservoir_content_l is None else start.reservoir_content_l
    primed = 1.0 if induced else 0.95
    oxygen = primed if start.circle_oxygen_fraction is None else start.circle_oxygen_fraction
    lung = (0.15 if induced else 0.9) if start.lung_oxygen_fraction is None else start.lung_oxygen_fraction
    return {
        "open_fraction": 0.92 if induced else 0.6,
        "arterial_co2_mmhg": 45.0,
        "lung_oxygen_fraction": lung,
        "circle_oxygen_fraction": min(oxygen, 1.0 - circle_agent),
        "agent_fraction": agent,
        "circle_agent_fraction": circle_agent,
        "reservoir_l": content,
        "injected_mac_multiple": start.injectable_mac_multiple,
    }
