"""Gas comes, goes and runs out: reservoir, make-up, source, altitude."""

import pytest

from lungeline.case import Animal, Breath, Case, Equipment, Place, Settings, Start
from lungeline.physics.vapour import bypass_output_fraction
from lungeline.reference import figure
from lungeline.simulate.kernel import state as s
from lungeline.simulate.live import LiveCase

HORSE = Animal(species="horse", weight_kg=500)


def known(value: float | None) -> float:
    assert value is not None
    return value


def run(minutes: float, case: Case) -> LiveCase:
    live = LiveCase(case, multipliers={"breathes": 0.0})
    live.advance(60.0 * minutes)
    return live


def last(minutes: float, case: Case) -> Breath:
    return run(minutes, case).breaths[-1]


def test_the_reservoir_starts_full_and_spills_what_is_too_much() -> None:
    live = run(10.0, Case(animal=HORSE))
    first = live.breaths[0]
    # tidal volume taken from the content at the start leaves the spare volume, less what is compressed
    assert known(first.spare_volume_l) == pytest.approx(4.5, abs=0.6)
    spilled_l = live._y[s.SPILLED]  # noqa: SLF001 - the books are inside
    # 5 L/min less oxygen used, sample and what the lung took, for ten minutes (arithmetic, BTPS)
    assert spilled_l == pytest.approx(10.0 * (5.0 * 1.128 - 1.39 - 0.2), abs=6.0)


def test_an_empty_reservoir_draws_air_which_thins_oxygen_and_agent() -> None:
    enough = last(40.0, Case(animal=HORSE))
    starved = last(40.0, Case(animal=HORSE, settings=Settings(fresh_gas_flow_l_min=0.5)))
    assert known(enough.room_air_entrained_l) == 0.0
    assert known(starved.room_air_entrained_l) > 10.0
    assert starved.spare_volume_l == 0.0
    assert known(starved.fio2_fraction) < 0.6
    assert known(starved.inspired_agent_fraction) < 0.7 * known(enough.inspired_agent_fraction)
    assert known(starved.pao2_mmhg) < 0.5 * known(enough.pao2_mmhg)
    # what is drawn in is not oxygen let in: 0.5 L/min for 40 min (arithmetic)
    assert starved.oxygen_used_l == pytest.approx(0.5 * 40.0 * 0.98, rel=0.02)


def test_make_up_oxygen_keeps_air_out_and_thins_the_agent() -> None:
    settings = Settings(fresh_gas_flow_l_min=0.5)
    live = run(40.0, Case(animal=HORSE, settings=settings, equipment=Equipment(makeup_flow_l_min=30)))
    breath = live.breaths[-1]
    assert breath.room_air_entrained_l == 0.0
    assert known(breath.fio2_fraction) > 0.95
    assert known(breath.inspired_agent_fraction) < 0.006
    assert known(breath.spare_volume_l) > 2.0
    made_up_l = live._y[s.MADE_UP]  # noqa: SLF001 - the state is inside
    # supplied oxygen is fresh gas and make-up, by the flowmeter (arithmetic)
    assert breath.oxygen_used_l == pytest.approx(0.5 * 40.0 * 0.98 + made_up_l / 1.128, rel=0.02)


def test_make_up_through_the_vaporiser_keeps_the_agent() -> None:
    settings = Settings(fresh_gas_flow_l_min=0.5, vaporiser_percent=2.0)
    equipment = Equipment(makeup_flow_l_min=30, makeup_through_vaporiser=True)
    breath = last(40.0, Case(animal=HORSE, settings=settings, equipment=equipment))
    assert known(breath.inspired_agent_fraction) > 0.012


def test_more_flow_brings_the_agent_sooner() -> None:
    slow, fast = (
        last(
            10.0,
            Case(animal=HORSE, start=Start(state="induced"), settings=Settings(fresh_gas_flow_l_min=flow)),
        )
        for flow in (3.0, 10.0)
    )
    assert known(fast.inspired_agent_fraction) > 1.4 * known(slow.inspired_agent_fraction)


def test_a_vaporiser_at_altitude_keeps_its_split_of_the_carrier() -> None:
    settings = Settings(vaporiser_percent=2.0, fresh_gas_flow_l_min=10.0)
    place = Place(barometric_pressure_mmhg=600.0)
    low, high = (last(60.0, Case(animal=HORSE, settings=settings, place=where)) for where in (Place(), place))
    # the fraction rises as pressure falls, a little more than in proportion; MAC as a fraction rises with it
    vapour_mmhg = figure("agents.isoflurane.saturated_vapour_pressure_20c_mmhg").value
    rise = bypass_output_fraction(0.02, vapour_mmhg, 600.0) / 0.02
    assert rise > 760.0 / 600.0
    assert known(high.inspired_agent_fraction) == pytest.approx(
        known(low.inspired_agent_fraction) * rise, rel=0.05
    )
    assert high.mac_multiple == pytest.approx(known(low.mac_multiple) * rise * 600.0 / 760.0, rel=0.05)
    assert known(high.pao2_mmhg) < known(low.pao2_mmhg)


def test_materials_that_take_up_agent_delay_it() -> None:
    plain, rubber = (
        last(
            20.0,
            Case(
                animal=HORSE,
                start=Start(state="induced"),
                equipment=Equipment(agent_absorbing_material=material, agent_absorbing_material_volume_l=2.0),
            ),
        )
        for material in ("none", "rubber")
    )
    assert known(rubber.inspired_agent_fraction) < known(plain.inspired_agent_fraction)


def test_used_absorbent_breaks_through() -> None:
    new, old = (
        last(60.0, Case(animal=HORSE, equipment=Equipment(absorbent_used_fraction=used)))
        for used in (0.0, 0.95)
    )
    assert known(new.fico2_mmhg) < 0.01
    assert known(old.fico2_mmhg) > 5.0


def test_a_start_may_be_told() -> None:
    start = Start(
        reservoir_content_l=3.0,
        circle_oxygen_fraction=0.5,
        circle_agent_percent=3.0,
        lung_oxygen_fraction=0.4,
    )
    live = LiveCase(Case(animal=HORSE, start=start))
    y = live._y  # noqa: SLF001 - the first state
    circle = s.GAS + s.CIRCLE * s.SPECIES
    assert y[circle + s.O2] == pytest.approx(0.5)
    assert y[circle + s.AGENT] == pytest.approx(0.03)
    assert y[s.GAS + s.FAST * s.SPECIES + s.O2] == pytest.approx(0.4)
    live.advance(7.4)
    # the first stroke of 5 L finds 3 L
    assert y[s.ENTRAINED] > 1.0
