"""Where each number of the state stands in the one flat vector, and in a breath's row.

Gas volumes are L BTPS, fractions dry, contents L STPD gas per L blood, pressures cmH2O or mmHg.
"""

from lungeline.simulate.models.lung_mechanics import LAYERS

# Species of gas: four lanes, so that nitrogen is carried, not guessed.
O2, CO2, AGENT, N2, SPECIES = 0, 1, 2, 3, 4

# Gas cells, each four fractions.
CIRCLE = 0  # all gas of the circle outside the hoses: reservoir, canister, compressed gas
INSP_HOSE = 1  # two cells
EXP_HOSE = 3  # two cells
AIRWAY = 5  # eight cells, Y to carina
AIRWAY_CELLS = 8
FAST = AIRWAY + AIRWAY_CELLS  # perfused alveoli of the fast compartment
SLOW = FAST + 1
DEAD = FAST + 2  # alveolar dead space
CELLS = FAST + 3

_names = (
    # mechanics
    "VOLUME_FAST", "VOLUME_SLOW", "PRESSURE", "PRESSURE_SLOPE", "CIRCLE_VOLUME",
    "ALVEOLAR_FAST_VOLUME", "ALVEOLAR_SLOW_VOLUME", "TRAPPED_VOLUME",
    # ventilator
    "PHASE", "PHASE_TIME", "CYCLE_TIME", "DELIVERED", "COMPRESSED", "OVERRIDE_VOLUME", "OVERRIDE_TIME",
    "OVERRIDE_PAUSE", "OWN_FLOW", "STROKE_VOLUME", "STROKE_TIME", "STROKE_PAUSE", "MAKEUP_LEFT",
    # blood, tissues, circulation
    "VENOUS_O2", "TISSUE_CO2", "SLOW_CO2", "LUNG_TISSUE_FAST", "LUNG_TISSUE_SLOW",
    "AGENT_BRAIN", "AGENT_MUSCLE", "AGENT_FAT", "AGENT_POOR", "AGENT_MATERIAL",
    "ABSORBED", "PRESSURE_FILTER", "OUTPUT", "SHUNT", "ARTERIAL_CO2", "ARTERIAL_O2_CONTENT",
    "MEAN_ARTERIAL", "HEART_RATE", "ABSORBER_EFFICIENCY",
    # breathing drive
    "INJECTED", "CLOCK", "EFFORT_SIZE", "CENTRAL_CO2", "OWN_BREATHS", "WAITED", "DRIVE",
    # bookkeeping of time
    "TIME", "STEP_COUNT", "FILLED",
    # what left and entered, for balance and consumption
    "LIQUID_VAPOUR", "OXYGEN_SUPPLIED", "ENTRAINED", "SPILLED", "LEAKED",
    "USED_O2", "MADE_CO2", "MADE_UP",
)  # fmt: skip
(
    VOLUME_FAST, VOLUME_SLOW, PRESSURE, PRESSURE_SLOPE, CIRCLE_VOLUME,
    ALVEOLAR_FAST_VOLUME, ALVEOLAR_SLOW_VOLUME, TRAPPED_VOLUME,
    PHASE, PHASE_TIME, CYCLE_TIME, DELIVERED, COMPRESSED, OVERRIDE_VOLUME, OVERRIDE_TIME,
    OVERRIDE_PAUSE, OWN_FLOW, STROKE_VOLUME, STROKE_TIME, STROKE_PAUSE, MAKEUP_LEFT,
    VENOUS_O2, TISSUE_CO2, SLOW_CO2, LUNG_TISSUE_FAST, LUNG_TISSUE_SLOW,
    AGENT_BRAIN, AGENT_MUSCLE, AGENT_FAT, AGENT_POOR, AGENT_MATERIAL,
    ABSORBED, PRESSURE_FILTER, OUTPUT, SHUNT, ARTERIAL_CO2, ARTERIAL_O2_CONTENT,
    MEAN_ARTERIAL, HEART_RATE, ABSORBER_EFFICIENCY,
    INJECTED, CLOCK, EFFORT_SIZE, CENTRAL_CO2, OWN_BREATHS, WAITED, DRIVE,
    TIME, STEP_COUNT, FILLED,
    LIQUID_VAPOUR, OXYGEN_SUPPLIED, ENTRAINED, SPILLED, LEAKED,
    USED_O2, MADE_CO2, MADE_UP,
) = range(len(_names))  # fmt: skip
SCALAR_NAMES: tuple[str, ...] = _names

ARTERIAL_CELLS = 4
OPEN = len(_names)  # open fraction of each layer
ARTERIAL_O2 = OPEN + LAYERS  # arterial blood on its way, contents
ARTERIAL_CO2_CONTENT = ARTERIAL_O2 + ARTERIAL_CELLS
ARTERIAL_PCO2 = ARTERIAL_CO2_CONTENT + ARTERIAL_CELLS
HELD_FAST = ARTERIAL_PCO2 + ARTERIAL_CELLS  # gas flows into alveoli held over a tick [L/s]
HELD_SLOW = HELD_FAST + SPECIES
TRAPPED = HELD_SLOW + SPECIES  # amounts in lost lung
GAS_IN = TRAPPED + SPECIES  # total in
GAS_OUT = GAS_IN + SPECIES  # total out
AT_PORT = GAS_OUT + SPECIES  # gas that passed the Y last, which curves show while none passes
ACCUMULATORS = AT_PORT + SPECIES
# Per-breath accumulators, cleared when a breath's row is written.
_acc = (
    "A_START", "A_PEAK", "A_PLATEAU", "A_PRESSURE_SUM", "A_TIME", "A_INSPIRED", "A_EXPIRED",
    "A_INSPIRED_O2", "A_INSPIRED_CO2", "A_INSPIRED_AGENT", "A_END_TIDAL_CO2",
    "A_END_TIDAL_AGENT", "A_SPARE", "A_OWN", "A_ARTERIAL_CO2", "A_ARTERIAL_O2",
    "A_TICKS", "A_SET_VOLUME", "A_MACHINE",
)  # fmt: skip
(
    A_START, A_PEAK, A_PLATEAU, A_PRESSURE_SUM, A_TIME, A_INSPIRED, A_EXPIRED,
    A_INSPIRED_O2, A_INSPIRED_CO2, A_INSPIRED_AGENT, A_END_TIDAL_CO2,
    A_END_TIDAL_AGENT, A_SPARE, A_OWN, A_ARTERIAL_CO2, A_ARTERIAL_O2,
    A_TICKS, A_SET_VOLUME, A_MACHINE,
) = range(ACCUMULATORS, ACCUMULATORS + len(_acc))  # fmt: skip
ACCUMULATOR_COUNT = len(_acc)
GAS = ACCUMULATORS + ACCUMULATOR_COUNT
SIZE = GAS + CELLS * SPECIES

BREATH_KEYS: tuple[str, ...] = (
    "time_s",
    "set_tidal_volume_l",
    "tidal_volume_inspired_l",
    "tidal_volume_expired_l",
    "respiratory_rate_per_min",
    "own_breaths_per_min",
    "peak_pressure_cmh2o",
    "plateau_pressure_cmh2o",
    "mean_airway_pressure_cmh2o",
    "end_expiratory_pressure_cmh2o",
    "trapped_volume_l",
    "compliance_l_cmh2o",
    "etco2_mmhg",
    "fico2_mmhg",
    "fio2_fraction",
    "inspired_agent_fraction",
    "end_tidal_agent_fraction",
    "mac_multiple",
    "spare_volume_l",
    "paco2_mmhg",
    "pao2_mmhg",
    "arterial_ph",
    "spo2_fraction",
    "shunt_fraction",
    "cardiac_output_l_min",
    "map_mmhg",
    "heart_rate_per_min",
    "oxygen_used_l",
    "agent_liquid_used_ml",
    "room_air_entrained_l",
)

TRACE_CHANNELS: tuple[str, ...] = (
    "pressure_cmh2o",
    "flow_l_s",
    "volume_l",
    "co2_mmhg",
    "oxygen_fraction",
    "agent_fraction",
    "reservoir_l",
    "alveolar_pressure_cmh2o",
)
