"""Priming a plugged circle: filling, washing in, agent, keeping; and the schedule of flow and dial."""

import math
from dataclasses import replace
from typing import get_args

import pytest

from lungeline.case import Animal, Case, Change, Equipment, Place, Procedure, Profile, Settings, Start, Supply
from lungeline.case.settings import Agent
from lungeline.plan.gas.filling import Filling
from lungeline.plan.gas.gas_schedule import gas_schedule
from lungeline.plan.gas.priming import Priming, priming
from lungeline.plan.gas.vaporiser import Vaporiser

HORSE = Animal(species="horse", weight_kg=500.0)
TIGHT = Equipment(sample_flow_l_min=0.0)


def value(priming_: Priming, name: str) -> float:
    """A number of a priming that must be there."""
    found = getattr(priming_, name).value
    assert isinstance(found, float)
    return found


def codes(priming_: Priming) -> dict[str, str]:
    """Severity of each finding by its code."""
    return {finding.code: finding.severity for finding in priming_.findings}


# --- filling --------------------------------------------------------------------------------------------


def test_a_tight_reservoir_fills_by_volume_over_flow() -> None:
    # arithmetic: tidal volume 5 L + twice that = 15 L at 10 L/min
    found = priming(Case(animal=HORSE, equipment=TIGHT), Profile())
    assert value(found, "ceiling_l") == 15.0
    assert value(found, "fill_minutes") == pytest.approx(1.5)


def test_the_ceiling_is_never_above_what_the_reservoir_holds() -> None:
    found = priming(Case(animal=HORSE, equipment=replace(TIGHT, reservoir_capacity_l=12.0)), Profile())
    assert value(found, "ceiling_l") == 12.0


def test_filling_follows_the_balance_of_oxygen() -> None:
    # closed form, nothing lost: (30 L of 0.21 + 15 L of 1) / 45 L
    filling = Filling(
        flow_l_min=10.0,
        loss_l_min=0.0,
        circle_volume_l=30.0,
        content_l=0.0,
        ceiling_l=15.0,
        mixing_number=1.0,
    )
    assert filling.fraction_after(0.21, 1.0, 1.5) == pytest.approx((30.0 * 0.21 + 15.0) / 45.0)
    # then first order with 45 L
    after = 1.0 - (1.0 - (30.0 * 0.21 + 15.0) / 45.0) * math.exp(-5.0 * 10.0 / 45.0)
    assert filling.fraction_after(0.21, 1.0, 6.5) == pytest.approx(after)


def test_filling_with_a_loss_agrees_with_small_steps() -> None:
    # what is lost is taken to be fresh gas, the worst case
    filling = Filling(
        flow_l_min=6.0, loss_l_min=2.0, circle_volume_l=30.0, content_l=3.0, ceiling_l=15.0, mixing_number=1.0
    )
    volume_l, oxygen_l, step_min = 33.0, 33.0 * 0.21, 1e-4
    for _ in range(round(filling.fill_min / step_min)):
        oxygen_l += (6.0 - 2.0) * step_min
        volume_l += 4.0 * step_min
    assert filling.fraction_after(0.21, 1.0, filling.fill_min) == pytest.approx(oxygen_l / volume_l, abs=1e-4)


@pytest.mark.parametrize("target", [0.3, 0.45, 0.6, 0.9, 0.95])
def test_time_to_a_fraction_and_fraction_after_a_time_are_one(target: float) -> None:
    filling = Filling(
        flow_l_min=8.0, loss_l_min=0.5, circle_volume_l=28.0, content_l=1.0, ceiling_l=14.0, mixing_number=0.9
    )
    minutes = filling.time_to_min(0.21, 1.0, target)
    assert filling.fraction_after(0.21, 1.0, minutes) == pytest.approx(target, abs=1e-9)


# --- minutes --------------------------------------------------------------------------------------------


def test_it_waits_for_the_slowest() -> None:
    found = priming(Case(animal=HORSE), Profile())
    assert value(found, "minutes") == max(value(found, "fill_minutes"), value(found, "oxygen_minutes"))
    assert value(found, "litres_l") == pytest.approx(10.0 * value(found, "minutes"))
    assert value(found, "oxygen_fraction") == pytest.approx(0.9)


def test_a_low_oxygen_target_waits_for_the_reservoir_alone() -> None:
    found = priming(Case(animal=HORSE, equipment=TIGHT), Profile(circle_oxygen_fraction=0.3))
    assert value(found, "minutes") == value(found, "fill_minutes")


def test_it_is_never_a_bare_volume_over_flow() -> None:
    found = priming(Case(animal=HORSE, equipment=TIGHT), Profile(mixing_number=1.1))
    assert value(found, "time_constant_minutes") == pytest.approx(1.1 * 45.0 / 10.0)
    assert found.time_constant_minutes.inputs["mixing_number"] == 1.1


def test_the_dispute_over_mixing_is_shown() -> None:
    usual = priming(Case(animal=HORSE), Profile(mixing_number=0.73))
    assert codes(usual)["priming_mixing_disputed"] == "note"
    assert usual.oxygen_minutes.high is not None
    assert usual.oxygen_minutes.high > value(usual, "oxygen_minutes")
    assert "priming_mixing_disputed" not in codes(priming(Case(animal=HORSE), Profile(mixing_number=1.1)))


def test_air_in_the_reservoir_takes_longer_than_nothing_in_it() -> None:
    nothing, air = (
        priming(Case(animal=HORSE, start=Start(reservoir_content_l=content)), Profile())
        for content in (0.0, 15.0)
    )
    assert value(air, "fill_minutes") == 0.0
    assert value(air, "oxygen_minutes") > value(nothing, "oxygen_minutes")


def test_a_primed_circle_needs_no_time() -> None:
    start = Start(reservoir_content_l=15.0, circle_oxygen_fraction=0.95)
    found = priming(Case(animal=HORSE, start=start), Profile())
    assert value(found, "minutes") == 0.0
    assert value(found, "litres_l") == 0.0


# --- agent ----------------------------------------------------------------------------------------------


def test_prefilling_is_an_option_by_common_practice() -> None:
    found = priming(Case(animal=HORSE), Profile())
    assert found.agent_minutes.value is None
    assert value(found, "agent_liquid_ml") == 0.0
    option = found.with_agent
    assert option is not None
    assert value(option, "vaporiser_percent") == 3.5  # common practice, dial 3 to 4 %, no source
    assert value(option, "agent_liquid_ml") > 0.0
    assert value(option, "minutes") >= value(option, "agent_minutes")
    assert value(option, "agent_percent") >= 1.2 * 1.3  # depth wanted × MAC of the horse


def test_a_profile_that_prefills_has_no_option() -> None:
    found = priming(Case(animal=HORSE), Profile(priming_vaporiser_percent=4.0))
    assert found.with_agent is None
    assert value(found, "vaporiser_percent") == 4.0


def test_other_agents_prefill_in_proportion_to_mac() -> None:
    case = Case(animal=HORSE, settings=Settings(agent="sevoflurane"))
    option = priming(case, Profile()).with_agent
    assert option is not None
    # 3.5 × MAC of sevoflurane over 1.30 (isoflurane, horse)
    assert value(option, "vaporiser_percent") > 3.5
    assert "agents.sevoflurane.mac_horse_percent" in option.vaporiser_percent.inputs


def test_agent_that_cannot_be_reached_is_said() -> None:
    found = priming(Case(animal=HORSE), Profile(priming_vaporiser_percent=1.0))
    assert codes(found)["priming_agent_out_of_reach"] == "caution"
    assert found.minutes.value is None
    assert found.litres_l.value is None


# --- what cannot be -------------------------------------------------------------------------------------


def test_a_leak_above_the_flow_never_fills() -> None:
    found = priming(Case(animal=HORSE, equipment=Equipment(leak_at_30_cmh2o_ml_min=90000.0)), Profile())
    assert codes(found)["priming_never_fills"] == "stop"
    assert found.minutes.value is None
    assert all(each.value is None or math.isfinite(each.value) for each in found.numbers)


def test_a_concentrator_too_poor_for_the_target_is_said() -> None:
    supply = Supply(oxygen="concentrator", concentrator_oxygen_fraction=0.9)
    found = priming(Case(animal=HORSE, supply=supply), Profile(circle_oxygen_fraction=0.95))
    assert codes(found)["priming_oxygen_out_of_reach"] == "caution"


def test_a_reservoir_too_small_for_the_first_breath_is_said() -> None:
    found = priming(Case(animal=HORSE, equipment=Equipment(reservoir_capacity_l=8.0)), Profile())
    assert codes(found)["priming_below_first_breath"] == "caution"
    assert value(found, "keeps_plugged_minutes") == 0.0


# --- keeping --------------------------------------------------------------------------------------------


def test_a_plugged_circle_keeps_until_the_first_breath_is_no_longer_there() -> None:
    # arithmetic: 15 L - twice 5 L = 5 L, at 0.2 L/min of sample
    found = priming(Case(animal=HORSE), Profile())
    assert value(found, "holding_flow_l_min") == pytest.approx(0.2)
    assert value(found, "keeps_plugged_minutes") == pytest.approx(25.0)


def test_an_open_port_loses_it_sooner() -> None:
    found = priming(Case(animal=HORSE), Profile())
    assert value(found, "keeps_open_minutes") < value(found, "keeps_plugged_minutes")


def test_nothing_lost_keeps_without_end() -> None:
    found = priming(Case(animal=HORSE, equipment=TIGHT), Profile())
    assert found.keeps_plugged_minutes.value is None
    assert "no end" in found.keeps_plugged_minutes.note


def test_it_has_one_json_form_with_minutes_first() -> None:
    told = priming(Case(animal=HORSE), Profile()).as_json()
    assert next(iter(told)) == "minutes"
    assert told["minutes"]["value"] == told["oxygen_minutes"]["value"]
    assert told["with_agent"]["vaporiser_percent"]["value"] == 3.5
    assert told["minutes"] is not None


# --- schedule -------------------------------------------------------------------------------------------


def test_the_rule_gives_twice_the_flow_at_first() -> None:
    # common practice from memory: 20, then 10 mL/kg/min
    induction, maintenance = gas_schedule(Case(animal=HORSE), Profile()).phases
    assert (induction.fresh_gas_flow_l_min.value, maintenance.fresh_gas_flow_l_min.value) == (10.0, 5.0)
    assert (induction.from_min, maintenance.from_min) == (0.0, 15.0)
    assert maintenance.lasts_minutes.value == 105.0


def test_the_dial_brings_what_is_taken_up_and_what_spills() -> None:
    # by hand: Lowe & Ernst, 500 kg: output 2 × 500^0.75 = 211.5 dL/min, content 1.2 × 1.30 × 0.92 =
    # 1.435 mL/dL; taken from 0 to 15 min 2 × 303.5 × √15 = 2351 mL, 156.7 mL/min at 37 °C, 148.1 at 20 °C.
    # vapour 0.1481 + 0.0156 ÷ 0.9844 × (10 - 1.15) = 0.2883 L/min in 10.2883 L/min: 2.80 %
    induction, maintenance = gas_schedule(Case(animal=HORSE), Profile()).phases
    assert induction.vaporiser_percent.value == pytest.approx(2.80, abs=0.02)
    assert (maintenance.vaporiser_percent.value or 0.0) < (induction.vaporiser_percent.value or 0.0)


def test_the_rule_of_thumb_stands_beside_the_dial() -> None:
    maintenance = gas_schedule(Case(animal=HORSE), Profile()).phases[1]
    rule = maintenance.rule_vaporiser_percent
    assert rule.low is not None
    assert rule.high is not None
    assert rule.low <= (maintenance.vaporiser_percent.value or 0.0) <= rule.high


def test_what_a_person_set_stands() -> None:
    case = Case(
        animal=HORSE,
        start=Start(state="induced"),
        settings=Settings(fresh_gas_flow_l_min=8.0, vaporiser_percent=5.0),
        changes=(Change(at_min=10.0, settings={"fresh_gas_flow_l_min": 3.0, "vaporiser_percent": 2.5}),),
    )
    induction, maintenance = gas_schedule(case, Profile(settled_after_min=10.0)).phases
    assert (induction.fresh_gas_flow_l_min.value, induction.vaporiser_percent.value) == (8.0, 5.0)
    assert (maintenance.fresh_gas_flow_l_min.value, maintenance.vaporiser_percent.value) == (3.0, 2.5)


def test_it_turns_into_changes_of_a_case() -> None:
    schedule = gas_schedule(Case(animal=HORSE), Profile())
    changes = schedule.changes()
    assert [each["at_min"] for each in changes] == [0.0, 15.0]
    case = Case(
        animal=HORSE,
        changes=tuple(
            Change(at_min=each.pop("at_min"), settings=each) for each in (dict(each) for each in changes)
        ),
    )
    assert case.settings_at(60.0).fresh_gas_flow_l_min == 5.0


def test_infusions_spare_agent() -> None:
    alone, spared = (
        gas_schedule(Case(animal=HORSE, settings=Settings(injectable_mac_multiple=lent)), Profile())
        for lent in (0.0, 0.4)
    )
    assert (spared.wanted_percent.value or 0.0) == pytest.approx(
        (alone.wanted_percent.value or 0.0) * 0.8 / 1.2
    )


def test_a_dial_beyond_the_vaporiser_is_cut_and_said() -> None:
    case = Case(animal=HORSE, settings=Settings(fresh_gas_flow_l_min=1.6))
    case = replace(case, start=Start(state="induced"))
    schedule = gas_schedule(case, Profile(mac_multiple=2.0))
    assert schedule.phases[0].vaporiser_percent.value == 5.0
    assert "dial_beyond_vaporiser" in {finding.code for finding in schedule.findings}


def test_fresh_gas_below_the_need_is_said() -> None:
    case = Case(animal=HORSE, settings=Settings(fresh_gas_flow_l_min=1.0))
    assert "fresh_gas_below_need" in {finding.code for finding in gas_schedule(case, Profile()).findings}


def test_a_short_job_is_induction_alone() -> None:
    case = Case(animal=HORSE, procedure=Procedure(expected_min=10.0))
    induction, maintenance = gas_schedule(case, Profile()).phases
    assert (induction.lasts_minutes.value, maintenance.lasts_minutes.value) == (10.0, 0.0)


@pytest.mark.parametrize("agent", get_args(Agent))
@pytest.mark.parametrize("altitude_m", [0.0, 1000.0, 3000.0])
def test_dial_and_delivered_fraction_are_one(agent: Agent, altitude_m: float) -> None:
    case = Case(
        animal=HORSE,
        place=Place(altitude_m=altitude_m),
        settings=Settings(agent=agent),
    )
    vaporiser = Vaporiser.of(case)
    for dial in (0.5, 2.0, 4.5):
        assert vaporiser.dial_percent(vaporiser.delivered_fraction(dial)) == pytest.approx(dial, rel=1e-9)
