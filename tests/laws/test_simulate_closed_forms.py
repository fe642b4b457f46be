"""Where the answer can be written down, the simulated animal gives it."""

import numpy as np
import pytest

from lungeline.case import Animal, Breath, Case, Equipment, Settings
from lungeline.simulate.kernel import state as s
from lungeline.simulate.live import LiveCase
from lungeline.simulate.run import simulate

HORSE = Animal(species="horse", weight_kg=500)
TUBE_LAMINAR_CMH2O_S_L = 0.025  # tube of 26 mm, see the figures of tubes
SLOW = Settings(respiratory_rate_per_min=3.0, peep_cmh2o=0.0)  # so that every breath comes out to its end
TO_BODY = 310.15 / 293.15 * 760.0 / 713.0  # flowmeter at 20 degC, dry, to lung at 37 degC, wet (gas laws)
STPD_TO_BTPS = 310.15 / 273.15 * 760.0 / 713.0


def settled(case: Case, minutes: float = 10.0, **multipliers: float) -> Breath:
    """The last breath of an animal that leaves breathing to the machine."""
    return simulate(case, minutes, multipliers={"breathes": 0.0, **multipliers}).at_end


def known(value: float | None) -> float:
    assert value is not None
    return value


# -- volumes ------------------------------------------------------------------------------------------


def test_without_compensation_the_circuit_keeps_its_share() -> None:
    compliance = 0.05
    equipment = Equipment(compliance_compensated=False, circuit_compliance_l_cmh2o=compliance)
    breath = settled(Case(animal=HORSE, equipment=equipment, settings=Settings(peep_cmh2o=0.0, pause_s=1.0)))
    # what is given, less what the circuit holds when flow has stopped (closed form)
    expected_l = 5.0 - compliance * known(breath.plateau_pressure_cmh2o)
    assert breath.tidal_volume_inspired_l == pytest.approx(expected_l, rel=0.01)


@pytest.mark.parametrize("peep_cmh2o", [0.0, 5.0, 10.0])
def test_with_compensation_the_animal_gets_what_is_set(peep_cmh2o: float) -> None:
    breath = settled(Case(animal=HORSE, settings=Settings(peep_cmh2o=peep_cmh2o)), minutes=40.0)
    assert breath.set_tidal_volume_l == 5.0
    assert breath.tidal_volume_expired_l == pytest.approx(5.0, rel=0.01)
    assert breath.respiratory_rate_per_min == pytest.approx(8.0, rel=1e-9)


def test_coupled_fresh_gas_adds_to_the_breath() -> None:
    equipment = Equipment(fresh_gas_coupled=True)
    breath = settled(Case(animal=HORSE, equipment=equipment, settings=Settings(fresh_gas_flow_l_min=10.0)))
    # stroke and fresh gas of an inspiratory time of 2 s (arithmetic)
    assert breath.tidal_volume_inspired_l == pytest.approx(5.0 + 10.0 * TO_BODY / 60.0 * 2.0, rel=0.01)


def test_a_leak_at_the_cuff_shows_at_the_y() -> None:
    equipment = Equipment(leak_at_30_cmh2o_ml_min=8000, leak_place="cuff")
    breath, tight = settled(Case(animal=HORSE, equipment=equipment)), settled(Case(animal=HORSE))
    # 8 L/min at 30 cmH2O, by its power of 0.7, at the mean pressure of the breath: the most it can be, as
    # the mean of such a power is less than the power of the mean (Jensen)
    mean = known(breath.mean_airway_pressure_cmh2o)
    most_l = 8.0 * (mean / 30.0) ** 0.7 * 7.5 / 60.0
    gap_l = known(breath.tidal_volume_inspired_l) - known(breath.tidal_volume_expired_l)
    exchanged_l = known(tight.tidal_volume_inspired_l) - known(tight.tidal_volume_expired_l)
    assert 0.9 * most_l < gap_l - exchanged_l < most_l


def test_a_leak_of_the_circuit_shows_no_gap_at_the_y() -> None:
    equipment = Equipment(leak_at_30_cmh2o_ml_min=8000)
    breath = settled(Case(animal=HORSE, equipment=equipment), minutes=40.0)
    assert breath.tidal_volume_expired_l == pytest.approx(known(breath.tidal_volume_inspired_l), rel=0.01)
    assert known(breath.tidal_volume_inspired_l) < 4.9


# -- pressures ----------------------------------------------------------------------------------------


def test_test_lung_shows_its_compliance() -> None:
    equipment = Equipment(
        patient_port="test lung", test_lung_compliance_l_cmh2o=0.5, test_lung_resistance_cmh2o_s_l=0.05
    )
    breath = settled(Case(animal=HORSE, equipment=equipment, settings=Settings(peep_cmh2o=0.0, pause_s=1.0)))
    # 5 L into 0.5 L/cmH2O (arithmetic; common practice for a check before use, no source)
    assert breath.plateau_pressure_cmh2o == pytest.approx(10.0, rel=0.02)


def test_peak_less_plateau_is_flow_times_resistance() -> None:
    equipment = Equipment(
        patient_port="test lung", test_lung_resistance_cmh2o_s_l=2.0, compliance_compensated=False,
        circuit_compliance_l_cmh2o=0.01,
    )  # fmt: skip
    breath = settled(Case(animal=HORSE, equipment=equipment, settings=Settings(peep_cmh2o=0.0)))
    # 2.5 L/s less the share the circuit keeps (0.01 of 0.51 L/cmH2O), through bag and tube of 26 mm:
    # laminar and turbulent part (closed form, Rohrer)
    flow = 2.5 * 0.5 / 0.51
    resistive = flow * (2.0 + TUBE_LAMINAR_CMH2O_S_L) + flow**2 * 0.055
    peak, plateau = known(breath.peak_pressure_cmh2o), known(breath.plateau_pressure_cmh2o)
    assert peak - plateau == pytest.approx(resistive, rel=0.01)


def test_plugged_circuit_rises_by_volume_over_compliance() -> None:
    equipment = Equipment(
        patient_port="plugged", circuit_compliance_l_cmh2o=0.1, compliance_compensated=False
    )
    settings = Settings(tidal_volume_l=2.0, peep_cmh2o=0.0, pressure_limit_cmh2o=60.0)
    breath = settled(Case(animal=HORSE, equipment=equipment, settings=settings), minutes=2.0)
    # 2 L into 0.1 L/cmH2O (arithmetic)
    assert breath.peak_pressure_cmh2o == pytest.approx(20.0, rel=0.01)


def test_passive_expiration_of_a_linear_lung() -> None:
    equipment = Equipment(
        patient_port="test lung", test_lung_compliance_l_cmh2o=0.5, test_lung_resistance_cmh2o_s_l=1.5,
        circuit_compliance_l_cmh2o=0.001, expiratory_resistance_cmh2o_s_l=1.0,
    )  # fmt: skip
    case = Case(animal=HORSE, equipment=equipment, settings=SLOW)
    # expiratory limb, bag and tube in series on the bag's compliance (closed form); of the tube's turbulent
    # part the slope at the flows looked at, 0.1 to 0.4 L/s, remains
    expected_s = (1.0 + 1.5 + TUBE_LAMINAR_CMH2O_S_L + 2.0 * 0.055 * 0.25) * 0.5
    assert time_constant_s(case, from_l=0.5, to_l=0.1) == pytest.approx(expected_s, rel=0.02)


def test_passive_expiration_of_a_horse() -> None:
    still = {"opening_rate_per_s_cmh2o": 0.0, "closing_rate_per_s_cmh2o": 0.0, "slow_fraction": 0.0}
    # a wider chest, for this lung, part of it shut for good, would else rest at its residual volume
    still["chest_wall_rest_volume_l"] = 1.5
    case = Case(animal=HORSE, settings=SLOW)
    live = LiveCase(case, multipliers={"breathes": 0.0, **still})
    live.advance(59.0)
    a, y = live._animal, live._y  # noqa: SLF001 - the curve of this lung
    open_l = a.lung_capacity_l * y[s.OPEN : s.OPEN + 10].mean()
    # compliance of lung and chest wall at the end of expiration (closed form)
    lung_elastance = a.recoil_pressure_cmh2o / (open_l - y[s.VOLUME_FAST])
    compliance = 1.0 / (lung_elastance + 1.0 / a.chest_wall_compliance_l_cmh2o)
    resistance = 1.0 + a.airway_resistance_cmh2o_s_l + TUBE_LAMINAR_CMH2O_S_L
    found_s = time_constant_s(case, from_l=0.6, to_l=0.15, **still)
    assert found_s == pytest.approx(resistance * compliance, rel=0.08)


def time_constant_s(case: Case, *, from_l: float, to_l: float, **multipliers: float) -> float:
    """Time over which the volume above the end of expiration falls e-fold, between two volumes."""
    run = simulate(case, 1.0, dt_s=0.002, trace_rate_hz=100.0, multipliers={"breathes": 0.0, **multipliers})
    volume_l = run.traces["volume_l"][-2000:]  # one breath of 20 s
    falling = volume_l[int(np.argmax(volume_l)) :]
    above = falling - falling.min()
    part = above[(above < from_l) & (above > to_l)]
    part = part[: int(np.argmax(np.diff(part) >= 0.0)) or len(part)]  # the way out only
    slope = np.polyfit(np.arange(len(part)) * 0.01, np.log(part), 1)[0]
    return float(-1.0 / slope)


# -- gas ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("source_fraction", [0.4, 0.6, 0.95])
def test_oxygen_settles_where_supply_and_use_put_it(source_fraction: float) -> None:
    settings = Settings(
        fresh_gas_flow_l_min=5.0, fresh_gas_oxygen_fraction=source_fraction, vaporiser_percent=0.0
    )
    breath = settled(Case(animal=HORSE, settings=settings), minutes=120.0)
    flow_l_min = 5.0 * TO_BODY
    used_l_min = 2.3 * 0.5 * STPD_TO_BTPS  # 2.3 mL/kg/min, see the animal's figures
    # what comes less what is used, over what leaves (closed form)
    expected = (flow_l_min * source_fraction - used_l_min) / (flow_l_min - used_l_min)
    assert breath.fio2_fraction == pytest.approx(expected, rel=0.01)


@pytest.mark.parametrize("flow_l_min", [3.0, 6.0, 10.0])
def test_circuit_washes_in_by_volume_over_flow(flow_l_min: float) -> None:
    equipment = Equipment(
        patient_port="test lung", test_lung_compliance_l_cmh2o=0.2, circle_volume_l=30, sample_flow_l_min=0
    )
    settings = Settings(
        tidal_volume_l=2.0, spare_volume_l=4.0, fresh_gas_flow_l_min=flow_l_min, peep_cmh2o=0.0,
        vaporiser_percent=2.0, pressure_limit_cmh2o=60.0,
    )  # fmt: skip
    case = Case(animal=HORSE, equipment=equipment, settings=settings)
    run = simulate(case, 20.0)
    rows = [(b.time_s, known(b.inspired_agent_fraction)) for b in run.breaths if b.time_s > 120.0]
    times_s, agent = np.array(rows).T
    # circle, content of the reservoir, tube and airway, and what stays in the bag, all mixed (closed form)
    volume_l = 30.0 + 6.0 + 1.9 + 0.2
    slope = np.polyfit(times_s, np.log(abs(0.02 - agent)), 1)[0]
    assert -1.0 / slope == pytest.approx(60.0 * volume_l / (flow_l_min * TO_BODY), rel=0.04)


def test_liquid_agent_follows_the_vapour_given() -> None:
    case = Case(animal=HORSE, settings=Settings(fresh_gas_flow_l_min=5.0, vaporiser_percent=2.0))
    run = simulate(case, 60.0)
    # 5 L/min at 2 % of total for an hour, 195 mL vapour per mL liquid of isoflurane at 20 degC (gas laws)
    expected_ml = 5.0 * 60.0 * 0.02 * 1000.0 / 195.0
    assert run.at_end.agent_liquid_used_ml == pytest.approx(expected_ml, rel=0.03)


def test_arterial_co2_follows_alveolar_ventilation() -> None:
    case = Case(animal=HORSE)
    breath = settled(case, minutes=180.0, shunt_per_closed_fraction=0.1, alveolar_dead_space_fraction=0.0)
    made_l_min = 2.0 * 0.5  # 2 mL/kg/min, see the animal's figures
    dead_l = 2.5 * 0.5 + 0.53 + 0.15  # airway, tube and Y
    # CO2 made over alveolar ventilation, in mmHg (alveolar ventilation equation, 863 mmHg)
    expected = 863.0 * made_l_min / (8.0 * (known(breath.tidal_volume_expired_l) - dead_l))
    assert breath.paco2_mmhg == pytest.approx(expected, rel=0.12)


def test_apnoea_raises_co2_as_two_stores_do() -> None:
    live = LiveCase(Case(animal=HORSE), multipliers={"breathes": 0.0})
    live.advance(2400.0)
    before = known(live.breaths[-1].paco2_mmhg)
    live.set(ventilator_on=False, peep_cmh2o=0.0)
    live.advance(600.0)
    found = (known(live.breaths[-1].paco2_mmhg) - before) / 10.0
    # 5.5 mmHg/min over ten minutes of apnoea on oxygen in horses (Blaze & Robinson 1987, abstract; study
    # blaze1987)
    assert found == pytest.approx(5.5, rel=0.15)
    assert known(live.breaths[-1].pao2_mmhg) > 100.0
    # the first minute rises faster than the last: the fast store fills first (direction)
    co2 = [known(breath.paco2_mmhg) for breath in live.breaths if breath.time_s >= 2400.0]
    assert co2[2] - before > 2.0 * (co2[-1] - co2[-3])
