"""The first state of a run: volumes at rest, cells filled, blood and tissues in keeping."""

import math
from typing import Any

import numpy as np

from lungeline.physiology.blood_gases import blood_ph, oxygen_content_l_l
from lungeline.simulate.kernel import state as s
from lungeline.simulate.kernel.breath_row import clear_accumulators
from lungeline.simulate.models.gas_exchange import carbon_dioxide_content_l_l
from lungeline.simulate.models.lung_mechanics import LAYERS, RESIDUAL_FRACTION, transpulmonary_pressure_cmh2o

WATER_VAPOUR_MMHG = 47.0
TISSUE_ABOVE_ARTERIAL_MMHG = 6.0
VENOUS_SATURATION_FRACTION = 0.75
BISECTIONS = 80


def _resting_volume_l(a: Any, open_fraction: float, pressure_cmh2o: float) -> float:
    """Lung volume at which the alveolar pressure equals the pressure at the port [L]."""
    weights = [
        math.exp(a.superimposed_pressure_cmh2o * (i + 0.5) / LAYERS / a.recoil_pressure_cmh2o)
        for i in range(LAYERS)
    ]
    capacity = a.lung_capacity_l * a.ventilated_fraction
    wide = open_fraction * capacity
    scale = open_fraction * sum(weights) / LAYERS * capacity * a.recoil_fraction
    low, high = RESIDUAL_FRACTION * capacity, wide
    for _ in range(BISECTIONS):
        volume = 0.5 * (low + high)
        wall = (volume - a.chest_wall_rest_volume_l) / a.chest_wall_compliance_l_cmh2o
        recoil = transpulmonary_pressure_cmh2o(volume, wide, scale, a.recoil_pressure_cmh2o, a.recoil_law)
        if recoil + wall + a.added_pleural_pressure_cmh2o > pressure_cmh2o:
            high = volume
        else:
            low = volume
    return 0.5 * (low + high)


def _fill_cell(y: Any, cell: int, oxygen: float, co2: float, agent: float) -> None:
    first = s.GAS + cell * s.SPECIES
    y[first : first + s.SPECIES] = (oxygen, co2, agent, 1.0 - oxygen - co2 - agent)


def _fill_blood(y: Any, a: Any, arterial_co2_mmhg: float) -> None:
    """Blood and tissues of an animal at this arterial CO2, well oxygenated."""
    ph = blood_ph(arterial_co2_mmhg, a.base_excess_mmol_l)
    oxygen = oxygen_content_l_l(150.0, ph, a.p50_mmhg, a.haemoglobin_g_dl)
    co2 = carbon_dioxide_content_l_l(
        arterial_co2_mmhg, a.base_excess_mmol_l, a.haemoglobin_g_dl, 1.0, a.co2_law
    )
    y[s.VENOUS_O2] = VENOUS_SATURATION_FRACTION * oxygen
    y[s.TISSUE_CO2] = y[s.SLOW_CO2] = arterial_co2_mmhg + TISSUE_ABOVE_ARTERIAL_MMHG
    y[s.CENTRAL_CO2] = y[s.ARTERIAL_CO2] = arterial_co2_mmhg
    y[s.ARTERIAL_O2 : s.ARTERIAL_O2 + s.ARTERIAL_CELLS] = oxygen
    y[s.ARTERIAL_CO2_CONTENT : s.ARTERIAL_CO2_CONTENT + s.ARTERIAL_CELLS] = co2
    y[s.ARTERIAL_PCO2 : s.ARTERIAL_PCO2 + s.ARTERIAL_CELLS] = arterial_co2_mmhg


def fill(
    a: Any,
    c: Any,
    v: Any,
    *,
    open_fraction: float,
    arterial_co2_mmhg: float,
    lung_oxygen_fraction: float,
    circle_oxygen_fraction: float,
    agent_fraction: float,
    reservoir_l: float,
    circle_agent_fraction: float | None = None,
    injected_mac_multiple: float = 0.0,
) -> Any:
    """Return a state vector at rest at the set end-expiratory pressure.

    open_fraction: of every layer, 0.1 to 1; arterial_co2_mmhg: 15 to 120; the fractions are dry;
    agent_fraction: in lung and well-perfused tissue; reservoir_l: content of the reservoir [L];
    injected_mac_multiple: a dose just given, that wanes.
    """
    y = np.zeros(s.SIZE)
    circle_agent = agent_fraction if circle_agent_fraction is None else circle_agent_fraction
    y[s.OPEN : s.OPEN + LAYERS] = open_fraction
    peep = v.peep_cmh2o
    volume = _resting_volume_l(a, open_fraction, peep)
    if c.port == 3:
        volume = max(peep * c.test_lung_compliance_l_cmh2o, 0.2)
    slow = volume * a.slow_fraction if c.port < 3 else 0.0
    y[s.VOLUME_FAST], y[s.VOLUME_SLOW] = volume - slow, slow
    perfused = 1.0 - a.alveolar_dead_space_fraction
    y[s.ALVEOLAR_FAST_VOLUME], y[s.ALVEOLAR_SLOW_VOLUME] = perfused * (volume - slow), perfused * slow
    y[s.PRESSURE] = peep
    y[s.CIRCLE_VOLUME] = c.fixed_volume_l + c.compliance_l_cmh2o * peep + reservoir_l
    alveolar_co2 = arterial_co2_mmhg / (c.barometric_pressure_mmhg - WATER_VAPOUR_MMHG)
    for cell in range(s.CIRCLE, s.AIRWAY):
        _fill_cell(y, cell, circle_oxygen_fraction, 0.0, circle_agent)
    oxygen = min(lung_oxygen_fraction, 1.0 - alveolar_co2 - agent_fraction)
    for cell in range(s.AIRWAY, s.CELLS):
        _fill_cell(y, cell, oxygen, alveolar_co2, agent_fraction)
    hose = s.GAS + s.INSP_HOSE * s.SPECIES
    y[s.AT_PORT : s.AT_PORT + s.SPECIES] = y[hose : hose + s.SPECIES]
    _fill_blood(y, a, arterial_co2_mmhg)
    y[s.LUNG_TISSUE_FAST] = y[s.LUNG_TISSUE_SLOW] = alveolar_co2
    y[s.AGENT_BRAIN] = y[s.AGENT_POOR] = agent_fraction
    y[s.OUTPUT] = a.cardiac_output_l_min
    y[s.ABSORBER_EFFICIENCY] = 1.0
    y[s.CLOCK] = 1.0
    y[s.INJECTED] = injected_mac_multiple
    y[s.OWN_BREATHS] = a.breathing_rate_per_min
    y[s.PHASE_TIME] = y[s.CYCLE_TIME] = 0.0 if v.mode == 0 else v.cycle_s
    clear_accumulators(y)
    return y
