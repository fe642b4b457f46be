"""How much of each gas is where: the books of a run, in L BTPS."""

from typing import Any

import numpy as np

from lungeline.simulate.kernel import state as s
from lungeline.simulate.kernel.exchange import WATER_VAPOUR_MMHG
from lungeline.simulate.models.gas_exchange import LITRES_BTPS_MMHG

GASES: tuple[str, ...] = ("oxygen", "carbon dioxide", "agent", "nitrogen")


def gas_held_l(y: Any, a: Any, c: Any) -> Any:
    """Return the amount of each gas in circle, airway, lung, blood and tissue [L BTPS], shape (4,)."""
    cells = y[s.GAS : s.GAS + s.CELLS * s.SPECIES].reshape(s.CELLS, s.SPECIES)
    volumes = np.zeros(s.CELLS)
    volumes[s.CIRCLE] = y[s.CIRCLE_VOLUME]
    volumes[s.INSP_HOSE : s.INSP_HOSE + 4] = c.hose_volume_l / 2.0
    volumes[s.AIRWAY : s.AIRWAY + s.AIRWAY_CELLS] = a.airway_dead_space_l / s.AIRWAY_CELLS
    volumes[s.FAST] = y[s.ALVEOLAR_FAST_VOLUME]
    volumes[s.SLOW] = y[s.ALVEOLAR_SLOW_VOLUME]
    volumes[s.DEAD] = y[s.VOLUME_FAST] + y[s.VOLUME_SLOW] - volumes[s.FAST] - volumes[s.SLOW]
    held = volumes @ cells + y[s.TRAPPED : s.TRAPPED + s.SPECIES]
    k = LITRES_BTPS_MMHG / (c.barometric_pressure_mmhg - WATER_VAPOUR_MMHG)
    arterial = a.arterial_blood_l / s.ARTERIAL_CELLS
    in_arteries = arterial * y[s.ARTERIAL_O2 : s.ARTERIAL_O2 + s.ARTERIAL_CELLS].sum()
    held[s.O2] += k * (a.oxygen_store_l * y[s.VENOUS_O2] + in_arteries)
    co2_in_arteries = arterial * y[s.ARTERIAL_CO2_CONTENT : s.ARTERIAL_CO2_CONTENT + s.ARTERIAL_CELLS].sum()
    held[s.CO2] += k * (
        a.fast_store_l_mmhg * y[s.TISSUE_CO2] + a.slow_store_l_mmhg * y[s.SLOW_CO2] + co2_in_arteries
    )
    tissue_l = a.lung_tissue_gas_l
    held[s.CO2] += tissue_l * (
        (1.0 - a.slow_fraction) * y[s.LUNG_TISSUE_FAST] + a.slow_fraction * y[s.LUNG_TISSUE_SLOW]
    )
    held[s.AGENT] += (
        a.brain_store_l * y[s.AGENT_BRAIN]
        + a.muscle_store_l * y[s.AGENT_MUSCLE]
        + a.fat_store_l * y[s.AGENT_FAT]
        + a.poor_store_l * y[s.AGENT_POOR]
        + c.material_volume_l * y[s.AGENT_MATERIAL]
    )
    return held


def gas_passed_l(y: Any, c: Any) -> Any:
    """Return what came in less what went out, was used or was made, so far [L BTPS], shape (4,)."""
    passed = y[s.GAS_IN : s.GAS_IN + s.SPECIES] - y[s.GAS_OUT : s.GAS_OUT + s.SPECIES]
    k = LITRES_BTPS_MMHG / (c.barometric_pressure_mmhg - WATER_VAPOUR_MMHG)
    passed = passed.copy()
    passed[s.O2] -= k * y[s.USED_O2]
    passed[s.CO2] += k * y[s.MADE_CO2] - y[s.ABSORBED]
    return passed
