"""Every cause of trouble, written once: what it changes in the model, how severity works, what it shows.

A fault is a function of severity (0 nothing, 1 as bad as it gets) on the numbers of a run. Rehearsal
injects it, explanation infers it, and the list of signs is made from it.
Signs name the direction of a breath's values ten minutes on: up, down, or equal. They hold at severity 1
for a settled horse on its back, ventilated by volume (13 mL/kg, PEEP 5), too deep to breathe for itself,
with no pressure limit reached; a sensor's fault changes what is shown and nothing else.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Literal

from lungeline.errors import OutOfRangeError, UnknownNameError

Domain = Literal["circuit", "animal", "sensor", "settings", "event"]
Sign = Literal["up", "down", "equal"]
# A full abdomen closes lung and holds back blood; a light plane and a hot animal show in pressure and pulse:
# the directions are common practice, no source; how much is assumption, as all severities below.
ABDOMEN_SHUNT_FRACTION, ABDOMEN_HELD_BACK_FRACTION = 0.06, 0.08


@dataclass(slots=True)
class RunValues:
    """The numbers a fault may change, as plain mappings; a copy is made for each segment of a run."""

    animal: dict[str, float]
    circuit: dict[str, float]
    ventilator: dict[str, float]
    sensors: dict[str, float] = field(default_factory=dict)

    def scale(self, group: str, name: str, factor: float) -> None:
        """Multiply one number."""
        values: dict[str, float] = getattr(self, group)
        values[name] *= factor

    def add(self, group: str, name: str, amount: float) -> None:
        """Add to one number."""
        values: dict[str, float] = getattr(self, group)
        values[name] = values.get(name, 0.0) + amount


NO_ANIMAL_FROM_PORT = 3.0  # a test lung or a plug cannot come off: that would need an animal behind it
Effect = Callable[[RunValues, float], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One cause of trouble.

    code: snake_case name; domain: where it lies; title: in words; severity_law: what severity 1 means;
    signs: direction of each value some minutes on; producible: whether the model can show it, and
    `missing` says what of it the model cannot show.
    """

    code: str
    domain: Domain
    title: str
    severity_law: str
    effect: Effect
    signs: Mapping[str, Sign] = field(default_factory=dict)
    producible: bool = True
    missing: str = ""


def between(clean: float, worst: float, severity: float) -> float:
    """Return the value at this severity, in proportion."""
    return clean + (worst - clean) * severity


def _circuit_leak(v: RunValues, u: float) -> None:
    v.add("circuit", "leak_coefficient", 0.04 * u)


def _cuff_leak(v: RunValues, u: float) -> None:
    v.add("circuit", "cuff_leak_coefficient", 0.06 * u)


def _disconnection(v: RunValues, u: float) -> None:
    if u <= 0.0 or v.circuit["port"] >= NO_ANIMAL_FROM_PORT:
        return
    v.circuit["port"] = 1.0
    if v.ventilator["mode"] > 0.0:
        # The machine goes on: its strokes leave the circle for the room, on average at this flow.
        v.add("circuit", "sample_flow_l_s", v.ventilator["tidal_volume_l"] / v.ventilator["cycle_s"])


def _tube_obstruction(v: RunValues, u: float) -> None:
    factor = between(1.0, 25.0, u)
    v.scale("animal", "tube_laminar_cmh2o_s_l", factor)
    v.scale("animal", "tube_turbulent_cmh2o_s2_l2", factor)


def _bronchospasm(v: RunValues, u: float) -> None:
    v.scale("animal", "airway_resistance_cmh2o_s_l", between(1.0, 15.0, u))
    v.scale("animal", "slow_resistance_multiple", between(1.0, 4.0, u))
    v.add("animal", "shunt_added_fraction", 0.04 * u)


def _bronchial_intubation(v: RunValues, u: float) -> None:
    v.scale("animal", "ventilated_fraction", between(1.0, 0.5, u))
    v.add("animal", "shunt_added_fraction", 0.22 * u)


def _pneumothorax(v: RunValues, u: float) -> None:
    v.scale("animal", "ventilated_fraction", between(1.0, 0.5, u))
    v.add("animal", "shunt_added_fraction", 0.20 * u)
    v.add("animal", "added_pleural_pressure_cmh2o", 4.0 * u)
    v.scale("animal", "inotrope_multiple", between(1.0, 0.7, u))


def _expiratory_obstruction(v: RunValues, u: float) -> None:
    v.scale("circuit", "expiratory_resistance_cmh2o_s_l", between(1.0, 12.0, u))


def _expiratory_shut(v: RunValues, u: float) -> None:
    v.circuit["expiratory_valve_shut"] = 1.0 if u > 0.0 else 0.0


def _inspiratory_shut(v: RunValues, u: float) -> None:
    v.circuit["inspiratory_valve_shut"] = 1.0 if u > 0.0 else 0.0
    if u > 0.0:
        v.ventilator["flow_ceiling_l_s"] = 1e-3


def _inspiratory_open(v: RunValues, u: float) -> None:
    v.circuit["inspiratory_valve_open_fraction"] = 0.8 * u


def _expiratory_open(v: RunValues, u: float) -> None:
    v.circuit["expiratory_valve_open_fraction"] = 0.8 * u


def _absorbent_exhausted(v: RunValues, u: float) -> None:
    if u > 0.0:
        v.scale("circuit", "absorber_capacity_l", 1e-6)


def _absorber_bypassed(v: RunValues, u: float) -> None:
    v.circuit["absorber_bypass_fraction"] = u


def _vaporiser_empty(v: RunValues, u: float) -> None:
    v.scale("circuit", "vapour_fraction", 1.0 - u)


def _fresh_gas_lost(v: RunValues, u: float) -> None:
    v.scale("circuit", "fresh_gas_flow_l_s", 1.0 - u)


def _oxygen_supply_empty(v: RunValues, u: float) -> None:
    v.scale("circuit", "fresh_gas_flow_l_s", 1.0 - u)
    v.circuit["makeup_flow_l_s"] = 0.0
    if u >= 1.0:
        v.ventilator["mode"] = 0.0


def _ventilator_stopped(v: RunValues, u: float) -> None:
    if u > 0.0:
        v.ventilator["mode"] = 0.0


def _relief_shut(v: RunValues, u: float) -> None:
    v.circuit["relief_works"] = 0.0 if u > 0.0 else 1.0


def _spare_too_small(v: RunValues, u: float) -> None:
    tidal_l = v.ventilator["tidal_volume_l"]
    v.circuit["ceiling_l"] = between(v.circuit["ceiling_l"], 0.6 * tidal_l, u)


def _low_output(v: RunValues, u: float) -> None:
    v.scale("animal", "inotrope_multiple", between(1.0, 0.5, u))
    v.scale("animal", "volaemia_fraction", between(1.0, 0.75, u))


def _arrest(v: RunValues, u: float) -> None:
    v.scale("animal", "inotrope_multiple", between(1.0, 0.0, u))


def _abdomen(v: RunValues, u: float) -> None:
    v.scale("animal", "chest_wall_compliance_l_cmh2o", between(1.0, 0.4, u))
    v.add("animal", "added_pleural_pressure_cmh2o", 12.0 * u)
    v.add("animal", "shunt_added_fraction", ABDOMEN_SHUNT_FRACTION * u)
    v.scale("animal", "volaemia_fraction", 1.0 - ABDOMEN_HELD_BACK_FRACTION * u)


def _light_plane(v: RunValues, u: float) -> None:
    v.add("animal", "resting_co2_mmhg", -28.0 * u)
    v.scale("animal", "vascular_resistance_mmhg_min_l", between(1.0, 1.25, u))
    v.scale("animal", "heart_rate_per_min", between(1.0, 1.15, u))


def _auto_peep(v: RunValues, u: float) -> None:
    v.scale("ventilator", "cycle_s", 1.0 / between(1.0, 2.2, u))
    v.scale("circuit", "expiratory_resistance_cmh2o_s_l", between(1.0, 3.0, u))
    longest = 0.55 * v.ventilator["cycle_s"]
    v.ventilator["inspiratory_time_s"] = min(v.ventilator["inspiratory_time_s"], longest)
    v.ventilator["pause_s"] = 0.0


def _embolism(v: RunValues, u: float) -> None:
    v.add("animal", "alveolar_dead_space_fraction", 0.35 * u)
    v.scale("animal", "inotrope_multiple", between(1.0, 0.55, u))
    v.add("animal", "shunt_added_fraction", 0.05 * u)


def _hypermetabolism(v: RunValues, u: float) -> None:
    v.scale("animal", "oxygen_use_l_min", between(1.0, 3.5, u))
    v.scale("animal", "carbon_dioxide_output_l_min", between(1.0, 3.5, u))
    v.scale("animal", "heart_rate_per_min", between(1.0, 1.5, u))


def _hypoventilation(v: RunValues, u: float) -> None:
    v.scale("ventilator", "tidal_volume_l", between(1.0, 0.65, u))


def _atelectasis(v: RunValues, u: float) -> None:
    v.scale("animal", "superimposed_pressure_cmh2o", between(1.0, 1.6, u))
    v.add("animal", "shunt_added_fraction", 0.10 * u)


def _sample_leak(v: RunValues, u: float) -> None:
    v.sensors["sample_air_fraction"] = 0.5 * u


def _flow_sensor(v: RunValues, u: float) -> None:
    v.sensors["expired_volume_factor"] = 1.0 - 0.35 * u


def _transducer(v: RunValues, u: float) -> None:
    v.sensors["arterial_pressure_offset_mmhg"] = -30.0 * u


def _secretions(v: RunValues, u: float) -> None:
    factor = between(1.0, 20.0, u)
    v.scale("animal", "tube_laminar_cmh2o_s_l", factor)
    v.scale("animal", "tube_turbulent_cmh2o_s2_l2", factor)
    v.add("animal", "shunt_added_fraction", 0.05 * u)


def _regurgitation(v: RunValues, u: float) -> None:
    _abdomen(v, 0.7 * u)
    v.add("animal", "shunt_added_fraction", 0.12 * u)


def _peep_left_on(v: RunValues, u: float) -> None:
    v.add("ventilator", "peep_cmh2o", 15.0 * u)


def _deep_breath_left_set(v: RunValues, u: float) -> None:
    v.scale("ventilator", "tidal_volume_l", between(1.0, 2.0, u))


_LIST: tuple[Fault, ...] = (
    Fault(code="circuit_leak", domain="circuit", title="Leak in hose, canister or valve seat",
          severity_law="1 loses 0.04 L/s at 1 cmH2O (26 L/min at 30 cmH2O), in proportion",
          effect=_circuit_leak,
          signs={"peak_pressure_cmh2o": "down", "tidal_volume_expired_l": "down", "spare_volume_l": "down",
                 "end_expiratory_pressure_cmh2o": "down"}),
    Fault(code="cuff_leak", domain="circuit", title="Leak past the cuff of the tube",
          severity_law="1 loses 0.06 L/s at 1 cmH2O, in proportion", effect=_cuff_leak,
          signs={"peak_pressure_cmh2o": "down", "tidal_volume_expired_l": "down", "spare_volume_l": "down"}),
    Fault(code="disconnection", domain="circuit", title="Circle off the tube",
          severity_law="any severity: off", effect=_disconnection,
          signs={"peak_pressure_cmh2o": "down", "spare_volume_l": "down", "fio2_fraction": "down",
                 "pao2_mmhg": "down"}),
    Fault(code="tube_obstruction", domain="circuit", title="Kinked or blocked tube, cuff over its tip",
          severity_law="1 is 25 times the tube's resistance, in proportion", effect=_tube_obstruction,
          signs={"peak_pressure_cmh2o": "up", "plateau_pressure_cmh2o": "equal"}),
    Fault(code="bronchospasm", domain="animal", title="Narrow lower airways, unevenly",
          severity_law="1 is 15 times airway resistance and a slow lung four times slower",
          effect=_bronchospasm,
          signs={"peak_pressure_cmh2o": "up"}),
    Fault(code="bronchial_intubation", domain="animal", title="Tube in one bronchus",
          severity_law="1 loses half of the lung", effect=_bronchial_intubation,
          signs={"peak_pressure_cmh2o": "up", "plateau_pressure_cmh2o": "up", "pao2_mmhg": "down"}),
    Fault(code="expiratory_obstruction", domain="circuit", title="Narrow expiratory limb",
          severity_law="1 is 12 times its resistance", effect=_expiratory_obstruction,
          signs={"end_expiratory_pressure_cmh2o": "up", "mean_airway_pressure_cmh2o": "up"}),
    Fault(code="expiratory_valve_shut", domain="circuit", title="Expiratory valve stuck shut",
          severity_law="any severity: shut", effect=_expiratory_shut,
          signs={"peak_pressure_cmh2o": "up", "end_expiratory_pressure_cmh2o": "up",
                 "tidal_volume_expired_l": "down"}),
    Fault(code="inspiratory_valve_shut", domain="circuit", title="Inspiratory valve stuck shut",
          severity_law="any severity: shut", effect=_inspiratory_shut,
          signs={"peak_pressure_cmh2o": "down", "pao2_mmhg": "down", "paco2_mmhg": "up"}),
    Fault(code="inspiratory_valve_open", domain="circuit", title="Inspiratory valve stuck open",
          severity_law="1 sends 80 % of the breath back through it", effect=_inspiratory_open,
          signs={"fico2_mmhg": "up", "etco2_mmhg": "up", "paco2_mmhg": "up"}),
    Fault(code="expiratory_valve_open", domain="circuit", title="Expiratory valve stuck open",
          severity_law="1 takes 80 % of the breath from the expiratory limb", effect=_expiratory_open,
          signs={"fico2_mmhg": "up", "etco2_mmhg": "up", "paco2_mmhg": "up"}),
    Fault(code="absorbent_exhausted", domain="circuit", title="Absorbent used up",
          severity_law="any severity: used up",
          effect=_absorbent_exhausted, signs={"fico2_mmhg": "up", "etco2_mmhg": "up", "paco2_mmhg": "up"}),
    Fault(code="absorber_bypassed", domain="circuit", title="Gas channels past the absorbent",
          severity_law="share of gas that goes past", effect=_absorber_bypassed,
          signs={"fico2_mmhg": "up", "etco2_mmhg": "up", "paco2_mmhg": "up"}),
    Fault(code="vaporiser_empty", domain="circuit", title="Vaporiser empty, off or unseated",
          severity_law="share of its output lost", effect=_vaporiser_empty,
          signs={"inspired_agent_fraction": "down", "end_tidal_agent_fraction": "down"}),
    Fault(code="fresh_gas_lost", domain="circuit", title="Fresh-gas hose off",
          severity_law="share of the flow lost", effect=_fresh_gas_lost,
          signs={"spare_volume_l": "down", "inspired_agent_fraction": "down"}),
    Fault(code="oxygen_supply_empty", domain="circuit", title="Oxygen source empty",
          severity_law="share of the flow lost; at 1 a gas-driven ventilator stops",
          effect=_oxygen_supply_empty,
          signs={"spare_volume_l": "down"}),
    Fault(code="ventilator_stopped", domain="event", title="Ventilator stopped: power or drive gas lost",
          severity_law="any severity: stopped", effect=_ventilator_stopped,
          signs={"paco2_mmhg": "up"}),
    Fault(code="relief_shut", domain="circuit", title="Spill valve shut or scavenging blocked",
          severity_law="any severity: shut", effect=_relief_shut,
          signs={"peak_pressure_cmh2o": "up", "end_expiratory_pressure_cmh2o": "up"}),
    Fault(code="spare_volume_too_small", domain="settings", title="Reservoir runs empty, room air drawn in",
          severity_law="1 lowers the ceiling to 0.6 of the tidal volume", effect=_spare_too_small,
          signs={"spare_volume_l": "down", "fio2_fraction": "down", "inspired_agent_fraction": "down"}),
    Fault(code="low_cardiac_output", domain="animal", title="Low cardiac output",
          severity_law="1 halves the heart's part and takes a quarter of volume", effect=_low_output,
          signs={"cardiac_output_l_min": "down", "map_mmhg": "down", "pao2_mmhg": "down"}),
    Fault(code="cardiac_arrest", domain="event", title="Cardiac arrest",
          severity_law="share of output lost", effect=_arrest,
          signs={"cardiac_output_l_min": "down", "map_mmhg": "down", "etco2_mmhg": "down"}),
    Fault(code="pneumothorax", domain="animal", title="Pneumothorax",
          severity_law="1 loses half of the lung, 4 cmH2O of pleural pressure and 30 % of output",
          effect=_pneumothorax,
          signs={"peak_pressure_cmh2o": "up", "plateau_pressure_cmh2o": "up", "pao2_mmhg": "down",
                 "map_mmhg": "down"}),
    Fault(code="abdominal_distension", domain="animal", title="Full or insufflated abdomen, gravid uterus",
          severity_law="1 leaves 0.4 of chest-wall compliance, adds 12 cmH2O and 0.06 of shunt, and keeps "
          "8 % of volume from the heart", effect=_abdomen,
          signs={"peak_pressure_cmh2o": "up", "plateau_pressure_cmh2o": "up", "pao2_mmhg": "down"}),
    Fault(code="atelectasis", domain="animal", title="Collapse of dependent lung",
          severity_law="1 is 1.6 times the superimposed pressure and 0.1 more shunt", effect=_atelectasis,
          signs={"shunt_fraction": "up", "pao2_mmhg": "down"}),
    Fault(code="light_plane", domain="animal", title="Light plane, fighting the ventilator",
          severity_law="1 lowers the CO2 at which the animal breathes by 28 mmHg, with a quarter more "
          "vascular resistance and 1.15 times the heart rate", effect=_light_plane,
          signs={"own_breaths_per_min": "up", "map_mmhg": "up"}),
    Fault(code="auto_peep", domain="settings", title="Too little time to breathe out",
          severity_law="1 is 2.2 times the rate through three times the expiratory resistance",
          effect=_auto_peep, signs={"trapped_volume_l": "up", "peak_pressure_cmh2o": "up"}),
    Fault(code="pulmonary_embolism", domain="event", title="Embolism: air, gas or clot",
          severity_law="1 adds 0.35 of alveolar dead space and takes 45 % of output", effect=_embolism,
          signs={"etco2_mmhg": "down", "pao2_mmhg": "down", "map_mmhg": "down"}),
    Fault(code="hypermetabolism", domain="animal", title="Hypermetabolism, malignant hyperthermia",
          severity_law="1 is 3.5 times oxygen use and CO2 output, 1.5 times the heart rate",
          effect=_hypermetabolism,
          signs={"etco2_mmhg": "up", "paco2_mmhg": "up", "heart_rate_per_min": "up"},
          missing="temperature and potassium"),
    Fault(code="hypoventilation_set", domain="settings", title="Ventilator set too low",
          severity_law="1 leaves 0.65 of the tidal volume", effect=_hypoventilation,
          signs={"etco2_mmhg": "up", "paco2_mmhg": "up", "peak_pressure_cmh2o": "down"}),
    Fault(code="sample_line_leak", domain="sensor", title="Leak or water in the sample line",
          severity_law="1 mixes half air into the sample", effect=_sample_leak,
          signs={"etco2_mmhg": "down", "end_tidal_agent_fraction": "down", "paco2_mmhg": "equal"}),
    Fault(code="flow_sensor_error", domain="sensor", title="Volume sensor reads low",
          severity_law="1 reads 35 % low", effect=_flow_sensor,
          signs={"tidal_volume_expired_l": "down", "peak_pressure_cmh2o": "equal"}),
    Fault(code="pressure_transducer_error", domain="sensor", title="Arterial transducer too high",
          severity_law="1 reads 30 mmHg low", effect=_transducer,
          signs={"map_mmhg": "down", "cardiac_output_l_min": "equal"}),
    Fault(code="airway_secretions", domain="animal", title="Secretion, blood or reflux in the tube",
          severity_law="1 is 20 times the tube's resistance and 0.05 more shunt", effect=_secretions,
          signs={"peak_pressure_cmh2o": "up"}, missing="the saw-tooth on flow and its coming and going"),
    Fault(code="regurgitation_bloat", domain="animal", title="Bloat or regurgitation (cattle)",
          severity_law="1 is 0.7 of the worst abdomen and 0.12 more shunt", effect=_regurgitation,
          signs={"peak_pressure_cmh2o": "up", "pao2_mmhg": "down"}, missing="aspiration and its course"),
    Fault(code="peep_left_on", domain="settings", title="PEEP or CPAP left on",
          severity_law="1 adds 15 cmH2O", effect=_peep_left_on,
          signs={"end_expiratory_pressure_cmh2o": "up", "peak_pressure_cmh2o": "up",
                 "cardiac_output_l_min": "down"}),
    Fault(code="deep_breath_left_set", domain="settings", title="A deep breath left set as every breath",
          severity_law="1 doubles the tidal volume", effect=_deep_breath_left_set,
          signs={"peak_pressure_cmh2o": "up", "paco2_mmhg": "down"}),
)  # fmt: skip

FAULTS: dict[str, Fault] = {fault.code: fault for fault in _LIST}


def fault(code: str) -> Fault:
    """Return a fault by its code; raises UnknownNameError with the nearest code."""
    if code not in FAULTS:
        raise UnknownNameError.nearest(where="faults.code", given=code, valid=FAULTS)
    return FAULTS[code]


def check_severity(code: str, severity_fraction: float) -> None:
    """Raise OutOfRangeError for a severity outside 0 to 1, UnknownNameError for no such fault."""
    fault(code)
    if not 0.0 <= severity_fraction <= 1.0:
        raise OutOfRangeError(
            where=f"faults.{code}.severity", given=severity_fraction, allowed="0 to 1", do="Give 0 to 1."
        )


def apply_fault(values: RunValues, code: str, severity_fraction: float) -> None:
    """Change the numbers of a run by one fault; severity 0 to 1."""
    check_severity(code, severity_fraction)
    fault(code).effect(values, severity_fraction)
