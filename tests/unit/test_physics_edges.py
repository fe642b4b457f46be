"""What formulas of gas give where there is no answer: no exception, and nothing that looks like an answer."""

import math
from collections.abc import Callable

import pytest

from lungeline.physics import (
    absorbent,
    agent_use,
    atmosphere,
    breathed_gas,
    circle,
    cylinders,
    gas_conditions,
    gas_laws,
    leak_decay,
    leaks,
    leaks_in_use,
    tube_terms,
    tubes,
    vapour,
)
from lungeline.physics.leaks import leak_ml_min

Case = tuple[Callable[..., float], tuple[float, ...]]

NO_NUMBER: dict[str, Case] = {
    "volume without pressure": (gas_conditions.converted_volume_l, (1.0, 20.0, 760.0, 37.0, 0.0)),
    "lung below the vapour pressure": (gas_conditions.btps_from_stpd_l, (1.0, 47.0, 37.0, 47.0)),
    "lung below the vapour pressure, room gas": (
        breathed_gas.btps_from_atps_l,
        (1.0, 40.0, 20.0, 37.0, 47.0),
    ),
    "mole in a vacuum": (gas_laws.molar_volume_l_mol, (20.0, 0.0)),
    "compliance in a vacuum": (gas_laws.isothermal_compliance_l_cmh2o, (50.0, 0.0)),
    "no heat capacity": (gas_laws.adiabatic_compliance_l_cmh2o, (50.0, 760.0, 0.0)),
    "pressed out of a vacuum": (gas_laws.adiabatic_temperature_c, (20.0, 30.0, 0.0, 1.4)),
    "cooled out of a vacuum": (gas_laws.cooled_pressure_cmh2o, (30.0, 20.0, 0.0, 1.4)),
    "altitude of a vacuum": (atmosphere.standard_altitude_m, (0.0,)),
    "flowmeter in a vacuum": (atmosphere.flowmeter_true_flow_l_min, (5.0, 0.0)),
    "Reynolds without a tube": (tubes.reynolds_number, (1.0, 0.0, 1.28, 2.03e-5)),
    "Reynolds without viscosity": (tubes.reynolds_number, (1.0, 26.0, 1.28, 0.0)),
    "head without a tube": (tubes.dynamic_head_cmh2o, (1.0, 0.0, 1.28)),
    "Blasius without a tube": (tubes.friction_blasius1913_cmh2o, (1.0, 0.0, 100.0, 1.28, 2.03e-5)),
    "Poiseuille without a tube": (tubes.friction_poiseuille1840_cmh2o, (1.0, 0.0, 100.0, 2.03e-5)),
    "drop without a tube": (tubes.tube_drop_cmh2o, (1.0, 0.0, 100.0, 1.28, 2.03e-5, 1.5)),
    "term for no flow": (tube_terms.tube_laminar_term_cmh2o_s_l, (26.0, 100.0, 1.28, 2.03e-5, 0.0)),
    "square term for no flow": (
        tube_terms.tube_turbulent_term_cmh2o_s2_l2,
        (26.0, 100.0, 1.28, 2.03e-5, 1.5, 0.0),
    ),
    "pressure on no tube at all": (tube_terms.two_term_flow_l_s, (1.0, 0.0, 0.0)),
    "leak tested without pressure": (leaks.leak_ml_min, (20.0, 300.0, 0.0, 0.5)),
    "exponent from one pressure": (leaks.leak_exponent_number, (300.0, 30.0, 245.0, 30.0)),
    "exponent from no leak": (leaks.leak_exponent_number, (300.0, 30.0, 0.0, 20.0)),
    "nothing rises or falls": (leaks.rise_and_fall_leak_ml_min, (2000.0, 0.0, 0.0)),
    "nothing rises or falls, compliance": (leaks.rise_and_fall_compliance_ml_cmh2o, (2000.0, 0.0, 0.0)),
    "decay without compliance": (leak_decay.decay_pressure_cmh2o, (30.0, 10.0, 0.0, 300.0, 30.0, 0.5)),
    "decay tested without pressure": (leak_decay.decay_pressure_cmh2o, (30.0, 10.0, 48.0, 300.0, 0.0, 0.5)),
    "mean decay in no time": (leak_decay.mean_decay_leak_ml_min, (48.0, 30.0, 27.0, 0.0)),
    "decay in no time": (leak_decay.decay_leak_ml_min, (30.0, 30.0, 27.0, 0.0, 48.0, 0.5)),
    "decay to nothing": (leak_decay.decay_leak_ml_min, (30.0, 30.0, 0.0, 30.0, 48.0, 0.5)),
    "emptying tested without pressure": (leak_decay.empty_time_min, (30.0, 48.0, 300.0, 0.0, 0.5)),
    "breath of no time": (leaks_in_use.breath_leak_ml_min, (300.0, 60.0, 2.5, 0.0)),
    "vaporiser that boils where it was marked": (vapour.bypass_output_fraction, (0.06, 760.0, 760.0)),
    "dial of pure agent": (vapour.bypass_output_fraction, (1.0, 238.0, 760.0)),
    "rule in a vacuum": (vapour.bypass_output_by_rule_fraction, (0.01, 0.0)),
    "dial in a vacuum": (vapour.heated_dial_fraction, (0.06, 0.0)),
    "weightless agent": (agent_use.vapour_yield_ml_ml, (1.5, 0.0, 24.055)),
    "liquid without yield": (agent_use.agent_liquid_ml_h, (5.0, 0.02, 0.0)),
    "agent without carrier": (agent_use.agent_liquid_from_carrier_ml_h, (5.0, 1.0, 195.0)),
    "mass of no mole": (agent_use.agent_mass_g, (2.0, 0.02, 60.0, 200.0, 0.0)),
    "water of no mole": (absorbent.absorbent_water_g, (60.0, 0.0)),
    "proportion of nothing": (cylinders.content_by_proportion_l, (100.0, 0.0, 2000.0)),
    "nothing mixed": (circle.mixed_fraction, (0.0, 0.5, 0.0, 0.5)),
    "all fresh gas is used": (circle.steady_oxygen_fraction, (1.25, 0.93, 1.25)),
}

FOR_EVER: dict[str, Case] = {
    "no leak": (leak_decay.leak_time_constant_min, (48.0, 0.0, 30.0)),
    "no leak to empty by": (leak_decay.empty_time_min, (30.0, 48.0, 0.0, 30.0, 0.5)),
    "laminar": (leak_decay.empty_time_min, (30.0, 48.0, 300.0, 30.0, 1.0)),
    "no carbon dioxide": (absorbent.absorbent_life_min, (600.0, 0.0, 0.0)),
    "all is vented": (absorbent.absorbent_life_min, (600.0, 1.0, 1.0)),
    "nothing is used": (cylinders.endurance_min, (1000.0, 0.0, 0.0)),
    "nothing is used, in whole minutes": (cylinders.endurance_whole_min, (1000.0, 0.0, 0.0)),
    "no fresh gas": (circle.circle_time_constant_min, (54.0, 0.0)),
    "fresh gas that is all used": (circle.denitrogenation_time_min, (0.79, 0.1, 51.3, 1.25, 1.25)),
    "no nitrogen at all wanted": (circle.denitrogenation_time_min, (0.79, 0.0, 51.3, 5.0, 1.25)),
}

A_VALUE: dict[str, tuple[Case, float]] = {
    "no flow, no friction": ((tubes.friction_blasius1913_cmh2o, (0.0, 26.0, 100.0, 1.28, 2.03e-5)), 0.0),
    "no pressure, no flow": ((tube_terms.two_term_flow_l_s, (0.0, 0.0, 0.0)), 0.0),
    "nothing to lose": ((leak_decay.decay_pressure_cmh2o, (0.0, 10.0, 48.0, 300.0, 30.0, 0.5)), 0.0),
    "already lost": ((leak_decay.decay_pressure_cmh2o, (30.0, 3600.0, 48.0, 300.0, 30.0, 0.5)), 0.0),
    "empty at once": ((leak_decay.empty_time_min, (0.0, 48.0, 300.0, 30.0, 0.5)), 0.0),
    "ramp that does not rise": ((leaks_in_use.ramp_leak_ml_min, (30.0, 30.0, 300.0, 30.0, 0.5)), 300.0),
    "no vapour in the cold": ((vapour.saturated_vapour_pressure_mmhg, (-274.0, 8.0, 1600.0, 273.15)), 0.0),
    "boiling": ((vapour.saturated_vapour_fraction, (800.0, 760.0)), 1.0),
    "boiling at altitude": ((vapour.bypass_output_fraction, (0.06, 669.0, 596.0)), 1.0),
    "dial at nothing": ((vapour.bypass_output_fraction, (0.0, 238.0, 596.0)), 0.0),
    "no absorbent": ((absorbent.absorber_efficiency_fraction, (0.0, 0.0, 0.0)), 0.0),
    "empty cylinder": ((cylinders.cylinder_content_l, (50.0, 0.0, 15.0, 760.0)), 0.0),
    "only the residue is left": ((cylinders.content_by_factor_l, (150.0, 200.0, 0.28)), 0.0),
    "supply below its reserve": ((cylinders.endurance_min, (100.0, 200.0, 5.0)), 0.0),
    "mixed at once": ((circle.wash_in_fraction, (0.21, 1.0, 1.0, 0.0)), 1.0),
    "there already": ((circle.wash_in_time_min, (0.9, 1.0, 0.9, 5.0)), 0.0),
    "source poorer than the animal needs": ((circle.steady_oxygen_fraction, (2.0, 0.5, 1.25)), 0.0),
}


@pytest.mark.parametrize("case", NO_NUMBER)
def test_no_number_where_there_is_none(case: str) -> None:
    formula, arguments = NO_NUMBER[case]
    assert math.isnan(formula(*arguments))


@pytest.mark.parametrize("case", FOR_EVER)
def test_what_never_ends(case: str) -> None:
    formula, arguments = FOR_EVER[case]
    assert formula(*arguments) == math.inf


@pytest.mark.parametrize("case", A_VALUE)
def test_ends_of_the_range(case: str) -> None:
    (formula, arguments), expected = A_VALUE[case]
    assert formula(*arguments) == expected


def test_a_leak_read_as_less_than_none_keeps_its_sign() -> None:
    assert leak_ml_min(20.0, -30.0, 30.0, 1.0) == pytest.approx(-20.0)
    assert leak_ml_min(-20.0, 30.0, 30.0, 1.0) == pytest.approx(-20.0)
