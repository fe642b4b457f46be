"""The row a breath leaves, written as the next one starts."""

import math
from typing import Any

from lungeline.compiled import formula
from lungeline.simulate.kernel import state as s
from lungeline.simulate.kernel.exchange import WATER_VAPOUR_MMHG, arterial_oxygen
from lungeline.simulate.models.breathing import muscle_pressure_cmh2o
from lungeline.simulate.models.lung_mechanics import LAYERS, transpulmonary_pressure_cmh2o

NOTHING = float("nan")  # inside the kernel only; leaves it as None
LEAST_BREATH_L = 0.02


@formula
def clear_accumulators(y: Any) -> None:
    """Begin a new breath."""
    for i in range(s.A_START, s.A_START + s.ACCUMULATOR_COUNT):
        y[i] = 0.0
    y[s.A_PEAK] = -1e9
    y[s.A_SPARE] = 1e9
    y[s.A_START] = y[s.TIME]


@formula
def alveolar_pressure(y: Any, a: Any, c: Any) -> float:
    """Mean alveolar pressure now [cmH2O]."""
    lung_l = y[s.VOLUME_FAST] + y[s.VOLUME_SLOW]
    if c.port > 2.5:  # a test lung, or none
        return lung_l / c.test_lung_compliance_l_cmh2o if c.port < 3.5 else y[s.PRESSURE]
    plain, weighted = 0.0, 0.0
    for i in range(LAYERS):
        layer = a.superimposed_pressure_cmh2o * (i + 0.5) / LAYERS
        plain += y[s.OPEN + i] / LAYERS
        weighted += y[s.OPEN + i] * math.exp(layer / a.recoil_pressure_cmh2o) / LAYERS
    capacity_l = a.lung_capacity_l * a.ventilated_fraction
    recoil = transpulmonary_pressure_cmh2o(
        lung_l,
        plain * capacity_l,
        weighted * capacity_l * a.recoil_fraction,
        a.recoil_pressure_cmh2o,
        a.recoil_law,
    )
    muscle = muscle_pressure_cmh2o(y[s.CLOCK], a.own_inspiratory_fraction, y[s.EFFORT_SIZE])
    wall = (lung_l + y[s.TRAPPED_VOLUME] - a.chest_wall_rest_volume_l) / a.chest_wall_compliance_l_cmh2o
    return recoil + wall + a.added_pleural_pressure_cmh2o - muscle


@formula
def write_breath(y: Any, a: Any, c: Any, breaths: Any, row: int) -> int:
    """Write the row of the breath that ends now, if there is room; returns the rows written."""
    span = y[s.A_TIME]
    if row >= breaths.shape[0] or span <= 0.0:
        return row
    dry = c.barometric_pressure_mmhg - WATER_VAPOUR_MMHG
    inspired = y[s.A_INSPIRED]
    expired = y[s.A_EXPIRED]
    peep = y[s.PRESSURE]
    end_alveolar = alveolar_pressure(y, a, c)
    b = breaths[row]
    b[0] = y[s.A_START]
    b[1] = y[s.A_SET_VOLUME] if y[s.A_SET_VOLUME] > 0.0 else NOTHING
    b[2] = inspired
    b[3] = expired
    breathed = inspired > LEAST_BREATH_L or expired > LEAST_BREATH_L
    # without machine and effort the gas that oxygen uptake draws in is no breath
    asked = y[s.A_MACHINE] > 0.5 or y[s.A_OWN] > 0.5
    b[4] = 60.0 / span if breathed and asked else 0.0
    b[5] = 60.0 * y[s.A_OWN] / span
    b[6] = y[s.A_PEAK]
    b[7] = y[s.A_PLATEAU] if y[s.A_MACHINE] > 0.5 else NOTHING
    b[8] = y[s.A_PRESSURE_SUM] / span
    b[9] = peep
    b[10] = NOTHING
    b[11] = NOTHING
    rise = y[s.A_PLATEAU] - end_alveolar
    if y[s.A_MACHINE] > 0.5 and rise > 0.5 and inspired > LEAST_BREATH_L:
        b[11] = inspired / rise
        b[10] = max(end_alveolar - peep, 0.0) * b[11]
    b[12] = y[s.A_END_TIDAL_CO2] * dry if expired > LEAST_BREATH_L else NOTHING
    b[13] = y[s.A_INSPIRED_CO2] / inspired * dry if inspired > LEAST_BREATH_L else NOTHING
    b[14] = y[s.A_INSPIRED_O2] / inspired if inspired > LEAST_BREATH_L else NOTHING
    b[15] = y[s.A_INSPIRED_AGENT] / inspired if inspired > LEAST_BREATH_L else NOTHING
    b[16] = y[s.A_END_TIDAL_AGENT] if expired > LEAST_BREATH_L else NOTHING
    b[17] = y[s.A_END_TIDAL_AGENT] / a.mac_fraction if expired > LEAST_BREATH_L else NOTHING
    b[18] = max(y[s.A_SPARE], 0.0)
    for i in range(19, 27):
        b[i] = NOTHING
    if y[s.A_TICKS] > 0.0:
        pco2 = y[s.A_ARTERIAL_CO2] / y[s.A_TICKS]
        po2, ph, saturation = arterial_oxygen(y, a, y[s.A_ARTERIAL_O2] / y[s.A_TICKS], pco2)
        b[19] = pco2
        b[20] = po2
        b[21] = ph
        b[22] = saturation
        b[23] = y[s.SHUNT]
        b[24] = y[s.OUTPUT]
        if a.full_circulation > 0.5:
            b[25] = y[s.MEAN_ARTERIAL]
            b[26] = y[s.HEART_RATE]
    b[27] = y[s.OXYGEN_SUPPLIED]
    b[28] = y[s.LIQUID_VAPOUR]
    b[29] = y[s.ENTRAINED]
    clear_accumulators(y)
    return row + 1
