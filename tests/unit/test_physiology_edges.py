"""What formulas give where there is no answer: no exception, and nothing that looks like an answer."""

import math
from collections.abc import Callable

import pytest

from lungeline.physiology import (
    alveolar_gas,
    arterial_pressure,
    blood_gases,
    circulation,
    closed_circuit,
    dead_space,
    drive,
    emptying,
    mac,
    mechanics,
    oxygen_delivery,
    shunt,
    size,
    uptake,
)

NO_NUMBER: dict[str, tuple[Callable[..., float], tuple[float, ...]]] = {
    "exchange ratio 0": (alveolar_gas.alveolar_po2_mmhg, (0.21, 760.0, 47.0, 40.0, 0.0)),
    "short, exchange ratio 0": (alveolar_gas.alveolar_po2_short_mmhg, (0.21, 760.0, 47.0, 40.0, 0.0)),
    "no alveolar oxygen": (alveolar_gas.arterial_alveolar_ratio, (75.0, 0.0)),
    "no inspired oxygen": (alveolar_gas.pao2_over_fio2_mmhg, (75.0, 0.0)),
    "no oxygen taken": (alveolar_gas.respiratory_exchange_ratio, (0.2, 0.0)),
    "target of no CO2": (alveolar_gas.alveolar_ventilation_for_paco2_l_min, (1.0, 0.0, 37.0)),
    "rate for no CO2": (alveolar_gas.rate_for_paco2_per_min, (6.0, 40.0, 0.0)),
    "Bohr without alveolar CO2": (dead_space.dead_space_bohr1891_fraction, (0.0, 10.0)),
    "Enghoff without arterial CO2": (dead_space.dead_space_enghoff1938_fraction, (0.0, 10.0)),
    "gap without arterial CO2": (dead_space.alveolar_dead_space_fraction, (0.0, 10.0)),
    "no breath": (dead_space.physiological_dead_space_fraction, (0.0, 1.0, 0.2)),
    "no difference over the lung": (shunt.shunt_fraction, (0.15, 0.15, 0.15)),
    "no difference, no missing oxygen": (shunt.f_shunt_fraction, (0.15, 0.15, 0.0)),
    "MAC of nitrous oxide 0": (mac.nitrous_oxide_reduction_fraction, (0.5, 0.0)),
    "no ambient pressure": (mac.mac_at_pressure_percent, (1.3, 0.0)),
    "MAC 0": (mac.mac_multiple, (9.0, 0.0)),
    "no difference for Fick": (oxygen_delivery.cardiac_output_fick_l_min, (1.0, 0.15, 0.15)),
    "nothing delivered": (oxygen_delivery.oxygen_extraction_fraction, (1.0, 0.0)),
    "no gap to the threshold": (drive.breathing_drive_ratio, (60.0, 55.0, 0.0)),
    "plateau at PEEP": (mechanics.static_compliance_l_cmh2o, (5.0, 5.0, 5.0)),
    "peak at PEEP": (mechanics.dynamic_compliance_l_cmh2o, (5.0, 5.0, 5.0)),
    "motion of a rigid animal": (mechanics.airway_pressure_cmh2o, (1.0, 1.0, 0.0, 1.0, 0.0, 0.0)),
    "emptying of a rigid animal": (emptying.emptying_time_s, (2.0, 1.0, 0.0, 1.0, 0.0)),
    "trapping in a rigid animal": (emptying.auto_peep_from_volume_cmh2o, (1.0, 0.0)),
    "tissue without a time constant": (uptake.tissue_rate_per_min, (0.01, 0.0, 0.0)),
}


@pytest.mark.parametrize("case", NO_NUMBER)
def test_no_number_where_there_is_none(case: str) -> None:
    formula, arguments = NO_NUMBER[case]
    assert math.isnan(formula(*arguments))


INFINITE: dict[str, tuple[Callable[..., float], tuple[float, ...]]] = {
    "CO2 without ventilation": (alveolar_gas.steady_paco2_mmhg, (1.0, 0.0, 37.0)),
    "CO2 with a gap of all": (dead_space.paco2_from_etco2_mmhg, (40.0, 1.0)),
    "tissue without flow": (uptake.tissue_time_constant_min, (45.0, 1.6, 0.0, 0.92)),
    "uptake at the start": (closed_circuit.uptake_lowe1981_ml_min, (1.5, 21.0, 0.0)),
    "emptying to nothing": (emptying.emptying_time_s, (1.0, 0.0, 0.5, 1.0, 0.1)),
    "no time to breathe out": (emptying.trapped_volume_l, (5.0, 1.0, 0.5, 0.0)),
    "no time, turbulent": (emptying.trapped_volume_turbulent_l, (5.0, 0.5, 1.0, 0.1, 0.0)),
}


@pytest.mark.parametrize("case", INFINITE)
def test_infinite_where_it_never_ends(case: str) -> None:
    formula, arguments = INFINITE[case]
    assert formula(*arguments) == math.inf


BOUNDED: dict[str, tuple[float, float]] = {
    "saturation below no oxygen": (blood_gases.saturation_severinghaus1979(-5.0), 0.0),
    "content below no oxygen": (blood_gases.oxygen_content_l_l(-5.0, 7.4, 23.8, 11.5), 0.0),
    "pressure of less than no oxygen": (blood_gases.oxygen_pressure_mmhg(-0.01, 7.4, 23.8, 11.5), 0.0),
    "pressure of more oxygen than there is": (blood_gases.oxygen_pressure_mmhg(1.0, 7.4, 23.8, 11.5), 2000.0),
    "pressure without saturation": (blood_gases.oxygen_pressure_at_saturation_mmhg(0.0, 7.4, 23.8), 0.0),
    "pressure at full saturation": (blood_gases.oxygen_pressure_at_saturation_mmhg(1.0, 7.4, 23.8), 2000.0),
    "bicarbonate of a lost animal": (blood_gases.bicarbonate_mmol_l(20.0, -40.0), 1.0),
    "breath smaller than dead space": (dead_space.alveolar_ventilation_l_min(1.0, 1.5, 6.0), 0.0),
    "all of such a breath is dead space": (
        dead_space.physiological_dead_space_fraction(1.0, 1.5, 0.2),
        1.0,
    ),
    "oxygen with all blood shunted": (shunt.iso_shunt_pao2_mmhg(1.0, 0.04, 600.0, 7.4, 23.8, 11.0), 0.0),
    "a shunt that leaves none": (shunt.iso_shunt_pao2_mmhg(0.9, 0.05, 600.0, 7.4, 23.8, 11.0), 0.0),
    "venous oxygen without flow": (oxygen_delivery.mixed_venous_content_l_l(0.17, 1.0, 0.0), 0.0),
    "venous oxygen with too little flow": (oxygen_delivery.mixed_venous_content_l_l(0.17, 1.0, 2.0), 0.0),
    "alveolar agent with nothing moving": (
        uptake.alveolar_fraction_quasi_steady(0.02, 0.0, 0.0, 0.0, 0.92),
        0.02,
    ),
    "tissue at once in balance": (uptake.tissue_fraction_after(0.01, 0.0, 0.0, 5.0), 0.01),
    "MAC colder than measured": (
        mac.mac_at_temperature_percent(1.3, 37.5, 20.0, 0.05),
        mac.mac_at_temperature_percent(1.3, 37.5, 30.0, 0.05),
    ),
    "a reduction below none": (mac.mac_reduced_percent(1.3, -0.5), 1.3),
    "no wish to breathe": (drive.own_rate_per_min(1.0, -1.0, 7.0, 6.0), 0.0),
    "the most drive there is": (drive.breathing_drive_ratio(200.0, 56.0, 5.0), 3.0),
    "apnoea of stores that do not share": (drive.apnoea_rise_two_stores_mmhg(10.0, 2.0, 0.4, 1.0, 0.0), 50.0),
    "dobutamine beyond what was tried": (circulation.output_dobutamine_multiple(50.0), 2.2),
    "resistance under the same": (arterial_pressure.resistance_dobutamine_multiple(50.0), 0.8),
    "output under hopeless pressure": (
        circulation.output_pressure_linear_law_multiple(300.0, 32.0, 1.0),
        0.15,
    ),
    "no girth": (size.weight_pearson1996_kg(0.0), 0.0),
    "emptying upwards": (emptying.emptying_time_s(1.0, 2.0, 0.5, 1.0, 0.1), 0.0),
    "emptying without resistance": (emptying.emptying_time_s(2.0, 1.0, 0.5, 0.0, 0.0), 0.0),
    "long since empty": (emptying.trapped_volume_l(5.0, 0.001, 0.01, 60.0), 0.0),
}


@pytest.mark.parametrize("case", BOUNDED)
def test_the_nearest_sensible_end(case: str) -> None:
    given, expected = BOUNDED[case]
    assert given == pytest.approx(expected, abs=1e-12)
