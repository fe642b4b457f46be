"""Mechanics against closed forms and published worked values."""

import pytest

from lungeline.physiology.emptying import (
    auto_peep_cmh2o,
    auto_peep_from_volume_cmh2o,
    trapped_volume_l,
    trapped_volume_turbulent_l,
)
from lungeline.physiology.mechanics import (
    airway_pressure_cmh2o,
    dynamic_compliance_l_cmh2o,
    resistance_at_flow_cmh2o_s_l,
    static_compliance_l_cmh2o,
    time_constant_s,
)


# formulas of an open teaching site, inputs of a public question sheet; answers computed apart from this
# code
@pytest.mark.parametrize(
    ("volume_ml", "peak", "plateau", "peep", "static", "dynamic"),
    [(760.0, 38.0, 33.0, 7.0, 29.23, 24.52), (500.0, 30.0, 25.0, 10.0, 33.33, 25.00)],
)
def test_compliance_from_pressures(  # noqa: PLR0913, PLR0917 - one row of the table
    volume_ml: float, peak: float, plateau: float, peep: float, static: float, dynamic: float
) -> None:
    volume_l = volume_ml / 1000.0
    assert 1000.0 * static_compliance_l_cmh2o(volume_l, plateau, peep) == pytest.approx(static, abs=0.01)
    assert 1000.0 * dynamic_compliance_l_cmh2o(volume_l, peak, peep) == pytest.approx(dynamic, abs=0.01)


# points of one animal of elastance 2, resistance 1.2, baseline 3 (algebra)
@pytest.mark.parametrize(
    ("volume_l", "flow_l_s", "pressure"),
    [(0.0, 1.0, 4.2), (1.0, 2.0, 7.4), (2.0, 2.0, 9.4), (3.0, 1.5, 10.8), (4.0, 0.5, 11.6)],
)
def test_equation_of_motion(volume_l: float, flow_l_s: float, pressure: float) -> None:
    assert airway_pressure_cmh2o(volume_l, flow_l_s, 0.5, 1.2, 0.0, 3.0) == pytest.approx(pressure, abs=1e-9)


def test_trapped_gas_in_a_slow_lung() -> None:
    # VT 5 L, C 0.5, R 6, TE 3.5 s -> 2.2611 L, 4.522 cmH2O (algebra)
    trapped = trapped_volume_l(5.0, 6.0, 0.5, 3.5)
    assert trapped == pytest.approx(2.2611, rel=0.001)
    assert auto_peep_from_volume_cmh2o(trapped, 0.5) == pytest.approx(4.522, rel=0.001)


def test_trapped_gas_in_a_quick_lung() -> None:
    # R 1.5, TE 5 s -> 6.37 mL (algebra); the turbulent form gives the same when turbulence is none
    assert 1000.0 * trapped_volume_l(5.0, 1.5, 0.5, 5.0) == pytest.approx(6.37, rel=0.001)
    assert 1000.0 * trapped_volume_turbulent_l(5.0, 0.5, 1.5, 0.0, 5.0) == pytest.approx(6.37, rel=0.001)


def test_auto_peep_is_total_less_set() -> None:
    # 14 total, 10 set -> 4, J Clin Monit Comput doi 10.1007/s10877-016-9874-0 eq. 1 (full text)
    assert auto_peep_cmh2o(14.0, 10.0) == pytest.approx(4.0, abs=1e-12)


# Tracheal tubes, derived once apart from this code by Blasius friction and 1.5 dynamic heads: drop at a flow,
# and the two terms fitted to it over 0.25 to 6 L/s
@pytest.mark.parametrize(
    ("laminar", "turbulent", "flow_l_s", "drop"),
    [
        (0.025, 0.055, 2.0, 0.13 + 0.14),
        (0.025, 0.055, 4.0, 0.43 + 0.56),
        (0.025, 0.055, 6.0, 0.87 + 1.25),
        (0.044, 0.104, 4.0, 0.76 + 1.08),
        (0.085, 0.221, 4.0, 1.47 + 2.42),
        (0.012, 0.030, 6.0, 0.44 + 0.71),
    ],
)
def test_two_terms_give_the_drop_of_a_tube(
    laminar: float, turbulent: float, flow_l_s: float, drop: float
) -> None:
    resistance = resistance_at_flow_cmh2o_s_l(flow_l_s, laminar, turbulent)
    assert resistance * flow_l_s == pytest.approx(drop, rel=0.05)


def test_time_constant_of_lung_and_tube() -> None:
    # derived with the default horse: 0.5 cmH2O·s/L × 0.32 L/cmH2O = 0.16 s
    assert time_constant_s(0.5, 0.32) == pytest.approx(0.16, abs=1e-12)


def test_thirteen_ml_kg_need_about_twenty_cmh2o() -> None:
    # 406 dorsal horses (abstract): 0.64 mL/cmH2O/kg, so 13 mL/kg need 20.3 cmH2O over PEEP (derived)
    weight_kg = 500.0
    compliance_l_cmh2o = 0.64 * weight_kg / 1000.0
    plateau = airway_pressure_cmh2o(13.0 * weight_kg / 1000.0, 0.0, compliance_l_cmh2o, 0.325, 0.055, 0.0)
    assert plateau == pytest.approx(20.3, abs=0.05)
