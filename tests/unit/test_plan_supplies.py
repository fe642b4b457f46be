"""Supplies: oxygen, agent, absorbent, cost and climate; what is short and what is said about it."""

from dataclasses import replace

import pytest

from lungeline.case import (
    Animal,
    Case,
    Change,
    Cylinder,
    Equipment,
    Procedure,
    Profile,
    Reasoned,
    Settings,
    Start,
    Supply,
)
from lungeline.errors import MissingError, UnknownNameError
from lungeline.plan.gas.cylinder_stock import cylinder_sizes
from lungeline.plan.gas.gas_use import planned_use
from lungeline.plan.gas.supplies import Supplies, supplies

HORSE = Animal(species="horse", weight_kg=500.0)
# Already primed, nothing kept back or set aside: what is left is the arithmetic of litres over flow.
PRIMED = Start(state="induced", reservoir_content_l=15.0, circle_oxygen_fraction=0.95)
BARE = Profile(reserve_fraction=0.0, recovery_oxygen_l_min=0.0)


def a_case(*cylinders: Cylinder, flow_l_min: float = 5.0, expected_min: float = 120.0) -> Case:
    """A primed horse at one flow from connection on, oxygen from cylinders."""
    return Case(
        animal=HORSE,
        start=PRIMED,
        settings=Settings(fresh_gas_flow_l_min=flow_l_min, tidal_volume_l=5.0, respiratory_rate_per_min=8.0),
        procedure=Procedure(expected_min=expected_min),
        supply=Supply(oxygen="cylinders"),
        cylinders=cylinders,
    )


def codes(found: Supplies) -> dict[str, str]:
    """Severity of each finding by its code."""
    return {finding.code: finding.severity for finding in found.findings}


def there(reasoned: Reasoned) -> float:
    """A number that must be there."""
    assert reasoned.value is not None
    return reasoned.value


# --- oxygen needed --------------------------------------------------------------------------------------


def test_the_need_is_the_sum_of_its_parts() -> None:
    # arithmetic: 10 L/min × 15 min, 5 L/min × 105 min, 15 L/min × 45 min
    found = supplies(Case(animal=HORSE), Profile()).oxygen.need
    assert there(found.induction_l) == 150.0
    assert there(found.maintenance_l) == 525.0
    assert there(found.recovery_l) == 675.0
    assert there(found.drive_l) == 0.0
    assert there(found.priming_l) > 50.0
    parts = (found.priming_l, found.induction_l, found.maintenance_l, found.drive_l, found.recovery_l)
    assert there(found.needed_l) == pytest.approx(sum(there(part) for part in parts))


def test_oxygen_that_drives_the_ventilator_counts() -> None:
    # arithmetic: 5 L × 8/min × 1.2 for 120 min
    case = replace(a_case(), supply=Supply(oxygen="cylinders", drive_gas="oxygen", drive_gas_multiple=1.2))
    need = supplies(case, BARE).oxygen.need
    assert there(need.drive_l) == pytest.approx(5.0 * 8.0 * 1.2 * 120.0)
    assert there(need.maintenance.l_min) == pytest.approx(5.0 + 48.0)


def test_the_planned_minute_volume_drives() -> None:
    case = replace(a_case(), supply=Supply(oxygen="cylinders", drive_gas="oxygen"))
    use = replace(planned_use(case, BARE), minute_volume_l_min=46.0)
    assert there(supplies(case, BARE, use).oxygen.need.maintenance.l_min) == pytest.approx(51.0)


def test_air_and_electricity_draw_no_oxygen() -> None:
    for drive in ("air", "none"):
        case = replace(a_case(), supply=Supply(oxygen="cylinders", drive_gas=drive))
        assert there(supplies(case, BARE).oxygen.need.drive_l) == 0.0


def test_half_air_draws_less_from_the_source() -> None:
    # by hand: 5 L/min of 60 % oxygen is 5 × (0.6 - 0.2095) / 0.7905 = 2.47 L/min of oxygen
    case = a_case(Cylinder(size="uk_j", gauge_bar=137.0))
    mixed = replace(case, settings=replace(case.settings, fresh_gas_oxygen_fraction=0.6))
    assert there(supplies(mixed, BARE).oxygen.need.maintenance.l_min) == pytest.approx(2.47, abs=0.01)


def test_less_fresh_gas_than_is_used_and_lost_draws_what_is_used_and_lost() -> None:
    case = a_case(Cylinder(size="uk_j", gauge_bar=137.0), flow_l_min=0.5)
    found = supplies(case, BARE)
    least = next(each for each in found.numbers if each.name == "supplies.least_flow_l_min")
    assert there(found.oxygen.need.maintenance.l_min) == there(least) > 0.5
    assert codes(found)["fresh_gas_below_need"] == "caution"


# --- how long it lasts ----------------------------------------------------------------------------------


def test_minutes_are_whole_and_never_rounded_up() -> None:
    found = supplies(a_case(Cylinder(size="uk_f", gauge_bar=100.0)), BARE)
    exact = there(found.oxygen.usable_l) / 5.0
    assert there(found.oxygen_minutes) == float(int(exact)) <= exact


def test_priming_and_recovery_are_set_aside_and_the_reserve_is_kept() -> None:
    case = a_case(Cylinder(size="uk_j", gauge_bar=137.0))
    profile = Profile(reserve_fraction=0.25, recovery_oxygen_l_min=10.0)
    found = supplies(case, profile)
    content = there(found.oxygen.cylinders[0].content_l)
    # by hand: three quarters of the content, less 10 L/min × 45 min, at 5 L/min
    assert there(found.oxygen_minutes) == float(int((0.75 * content - 450.0) / 5.0))


def test_what_the_residual_pressure_holds_is_not_counted() -> None:
    # 14 bar of residual: at 15 bar there is next to nothing to be had, at 10 bar nothing
    for gauge_bar, most in ((15.0, 0.08), (10.0, 0.0)):
        stock = supplies(a_case(Cylinder(size="uk_j", gauge_bar=gauge_bar)), BARE).oxygen.cylinders[0]
        assert there(stock.usable_l) <= most * there(stock.content_l)


def test_induction_draws_first() -> None:
    case = replace(
        a_case(Cylinder(water_capacity_l=10.0, gauge_bar=100.0), flow_l_min=10.0),
        changes=(Change(at_min=15.0, settings={"fresh_gas_flow_l_min": 4.0}),),
    )
    found = supplies(case, BARE)
    usable = there(found.oxygen.usable_l)
    # by hand: 15 min at 10 L/min, the rest at 4 L/min
    assert there(found.oxygen_minutes) == float(int(15.0 + (usable - 150.0) / 4.0))


def test_only_connected_cylinders_count_at_first() -> None:
    one = Cylinder(size="uk_f", gauge_bar=137.0)
    other = Cylinder(size="uk_f", gauge_bar=137.0, connected=False, count_number=2.0)
    found = supplies(a_case(one, other), BARE)
    assert there(found.oxygen.all_minutes) == pytest.approx(3.0 * there(found.oxygen_minutes), abs=3.0)
    assert [stock.connected for stock in found.oxygen.cylinders] == [True, False]


def test_each_cylinder_has_its_own_minutes() -> None:
    found = supplies(
        a_case(Cylinder(size="uk_f", gauge_bar=137.0), Cylinder(size="uk_d", gauge_bar=137.0)), BARE
    )
    big, small = (there(stock.minutes) for stock in found.oxygen.cylinders)
    assert there(found.oxygen_minutes) == pytest.approx(big + small, abs=2.0)


def test_a_cold_cylinder_holds_more_than_its_gauge_says() -> None:
    cold, warm = (
        there(
            supplies(a_case(Cylinder(size="uk_j", gauge_bar=100.0, temperature_c=t)), BARE)
            .oxygen.cylinders[0]
            .content_l
        )
        for t in (0.0, 30.0)
    )
    assert cold > warm


# --- enough or not --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("water_l", "gauge_bar", "code", "severity", "enough"),
    [
        (50.0, 8.0, "oxygen_short", "stop", False),
        (50.0, 18.5, "oxygen_cuts_reserve", "caution", False),
        (10.0, 100.0, "oxygen_margin_thin", "advice", True),
    ],
)
def test_enough_or_not(
    water_l: float,
    gauge_bar: float,
    code: str,
    severity: str,
    enough: bool,  # noqa: FBT001 - a column of the table
) -> None:
    # 5 L/min × 120 min = 600 L. By pressure times volume some 400 L, all of it too little; 930 L, of which
    # the 14 bar that stay are 700; and 1000 L, of which a quarter stays, but not twice 600
    case = a_case(Cylinder(water_capacity_l=water_l, gauge_bar=gauge_bar))
    found = supplies(case, replace(BARE, reserve_fraction=0.25))
    assert found.oxygen.enough is enough
    assert codes(found)[code] == severity


def test_plenty_says_nothing() -> None:
    found = supplies(a_case(Cylinder(size="metric_50l", gauge_bar=200.0)), BARE)
    assert found.oxygen.enough
    assert not [code for code in codes(found) if code.startswith("oxygen")]


def test_a_change_of_cylinder_on_the_way_is_said() -> None:
    one = Cylinder(size="uk_d", gauge_bar=137.0)
    more = Cylinder(size="uk_j", gauge_bar=137.0, connected=False)
    assert codes(supplies(a_case(one, more), BARE))["oxygen_change_cylinder"] == "advice"


def test_cylinders_that_are_none_stop() -> None:
    found = supplies(a_case(), BARE)
    assert codes(found)["oxygen_no_cylinder"] == "stop"
    assert found.oxygen_minutes.value is None


def test_a_pipeline_has_no_minutes_but_wants_a_stand_by() -> None:
    found = supplies(Case(animal=HORSE), Profile())
    assert found.oxygen_minutes.value is None
    assert "pipeline" in found.oxygen_minutes.note
    assert codes(found)["oxygen_no_stand_by"] == "advice"
    beside = Case(animal=HORSE, cylinders=(Cylinder(size="uk_d", gauge_bar=137.0),))
    assert codes(supplies(beside, Profile()))["oxygen_stand_by_short"] == "advice"


# --- the gauge ------------------------------------------------------------------------------------------


def test_the_age_of_a_reading_is_shown_and_expires() -> None:
    fresh, old = (
        supplies(a_case(Cylinder(size="uk_j", gauge_bar=137.0, read_min_ago=age)), BARE)
        for age in (20.0, 75.0)
    )
    assert there(fresh.oxygen.cylinders[0].gauge_age_minutes) == 20.0
    assert there(fresh.oxygen.cylinders[0].gauge_expires_minutes) == 40.0
    assert there(old.oxygen.cylinders[0].gauge_expires_minutes) == 0.0
    assert "gauge_reading_old" not in codes(fresh)
    assert codes(old)["gauge_reading_old"] == "caution"


def test_a_gauge_above_the_filling_pressure_is_a_slip() -> None:
    assert (
        codes(supplies(a_case(Cylinder(size="uk_e", gauge_bar=200.0)), BARE))["gauge_above_full"] == "caution"
    )
    # a full one in the sun: 137 bar at 15 °C reads 147 at 30 °C (CoolProp 8.0.0)
    warm = Cylinder(size="uk_e", gauge_bar=147.0, temperature_c=30.0)
    assert "gauge_above_full" not in codes(supplies(a_case(warm), BARE))


def test_sizes_on_which_books_differ_are_named() -> None:
    found = supplies(a_case(Cylinder(size="us_e", gauge_bar=131.0)), BARE)
    assert codes(found)["cylinder_content_unsure"] == "advice"
    by_capacity = supplies(a_case(Cylinder(water_capacity_l=4.8, gauge_bar=131.0)), BARE)
    assert "cylinder_content_unsure" not in codes(by_capacity)


def test_a_cylinder_of_no_size_is_refused() -> None:
    with pytest.raises(MissingError, match="water_capacity_l"):
        supplies(a_case(Cylinder(gauge_bar=100.0)), BARE)
    with pytest.raises(UnknownNameError, match="uk_j"):
        supplies(a_case(Cylinder(size="uk_jj", gauge_bar=100.0)), BARE)


def test_every_size_of_the_reference_has_a_content() -> None:
    assert len(cylinder_sizes()) >= 18
    for size in cylinder_sizes():
        stock = supplies(a_case(Cylinder(size=size, gauge_bar=100.0)), BARE).oxygen.cylinders[0]
        assert there(stock.content_l) > 100.0


# --- concentrator ---------------------------------------------------------------------------------------


def test_a_concentrator_has_a_ceiling_and_dilutes() -> None:
    supply = Supply(oxygen="concentrator", concentrator_l_min=8.0, concentrator_oxygen_fraction=0.93)
    found = supplies(replace(Case(animal=HORSE), supply=supply), Profile(circle_oxygen_fraction=0.92))
    assert codes(found)["concentrator_flow_exceeded"] == "caution"  # 10 L/min in induction
    assert codes(found)["concentrator_dilutes_circle"] == "caution"
    assert there(found.oxygen.steady_oxygen_fraction) < 0.93
    assert found.oxygen_minutes.value is None


def test_a_concentrator_cannot_drive_a_ventilator() -> None:
    supply = Supply(oxygen="concentrator", drive_gas="oxygen")
    found = supplies(replace(Case(animal=HORSE), supply=supply), Profile())
    assert codes(found)["concentrator_cannot_drive"] == "stop"


def test_a_large_concentrator_at_a_modest_target_says_nothing() -> None:
    supply = Supply(oxygen="concentrator", concentrator_l_min=30.0)
    found = supplies(replace(Case(animal=HORSE), supply=supply), Profile(circle_oxygen_fraction=0.85))
    assert not [code for code in codes(found) if code.startswith("concentrator")]


# --- agent ----------------------------------------------------------------------------------------------


def test_the_liquid_is_that_of_every_phase() -> None:
    found = supplies(Case(animal=HORSE), Profile(priming_vaporiser_percent=3.5))
    use = planned_use(Case(animal=HORSE), Profile(priming_vaporiser_percent=3.5))
    by_hand = (
        there(use.priming.agent_liquid_ml)
        + there(found.agent.induction_ml_h) * 15.0 / 60.0
        + there(found.agent.maintenance_ml_h) * 105.0 / 60.0
    )
    assert there(found.agent.agent_liquid_ml) == pytest.approx(by_hand)


def test_the_liquid_at_hand_lasts_so_many_whole_minutes() -> None:
    case = replace(a_case(flow_l_min=5.0), supply=Supply(agent_liquid_ml=50.0))
    case = replace(case, settings=replace(case.settings, vaporiser_percent=2.0), assumed_settings=())
    found = supplies(case, BARE)
    exact = 50.0 / there(found.agent.maintenance_ml_h) * 60.0
    assert there(found.agent.agent_minutes) == float(int(exact)) <= exact


def test_too_little_liquid_is_said() -> None:
    case = replace(Case(animal=HORSE), supply=Supply(agent_liquid_ml=30.0))
    found = supplies(case, Profile())
    assert codes(found)["agent_short"] == "caution"
    assert there(found.agent.agent_minutes) < 120.0
    assert supplies(Case(animal=HORSE), Profile()).agent.agent_minutes.value is None


def test_the_uptake_bound_lies_below_what_is_delivered() -> None:
    found = supplies(Case(animal=HORSE), Profile()).agent
    assert 0.0 < there(found.uptake_bound_ml) < there(found.agent_liquid_ml)


def test_a_dial_that_cannot_feed_the_animal_is_said() -> None:
    case = Case(
        animal=HORSE, start=PRIMED, settings=Settings(fresh_gas_flow_l_min=2.0, vaporiser_percent=1.0)
    )
    assert codes(supplies(case, Profile()))["agent_below_uptake"] == "caution"


def test_the_warming_names_its_set() -> None:
    found = supplies(Case(animal=HORSE), Profile()).agent
    assert found.as_json()["gwp_set"] == "GWP100, IPCC AR6 (2021)"
    assert found.co2_equivalent_kg.inputs["gwp_set"] == "GWP100, IPCC AR6 (2021)"
    assert "GWP20" in str(found.co2_equivalent_20_years_kg.inputs["gwp_set"])


# --- absorbent, cost, waste -----------------------------------------------------------------------------


def test_used_absorbent_lasts_less() -> None:
    fresh, half = (
        there(
            supplies(
                Case(animal=HORSE, equipment=Equipment(absorbent_used_fraction=used)), Profile()
            ).absorbent.absorbent_hours
        )
        for used in (0.0, 0.5)
    )
    assert half == pytest.approx(fresh / 2.0)


@pytest.mark.parametrize(("used", "code"), [(0.9, "absorbent_short"), (0.7, "absorbent_may_run_out")])
def test_spent_absorbent_is_said(used: float, code: str) -> None:
    case = Case(animal=HORSE, equipment=Equipment(absorbent_used_fraction=used))
    assert code in codes(supplies(case, Profile()))


def test_costs_are_those_of_what_has_a_price() -> None:
    found = supplies(Case(animal=HORSE), Profile(agent_price_per_100ml=20.0, currency="EUR"))
    assert [each.name for each in found.costs] == ["supplies.agent_cost", "supplies.total_cost"]
    assert there(found.costs[0]) == pytest.approx(0.2 * there(found.agent.agent_liquid_ml))
    assert found.as_json()["currency"] == "EUR"
    assert supplies(Case(animal=HORSE), Profile()).costs == ()


def test_all_prices_add_up() -> None:
    profile = Profile(oxygen_price_per_1000l=6.0, agent_price_per_100ml=20.0, absorbent_price_per_kg=8.0)
    *parts, total = supplies(Case(animal=HORSE), profile).costs
    assert len(parts) == 3
    assert there(total) == pytest.approx(sum(there(part) for part in parts))


def test_waste_gas_is_remembered_with_its_limits() -> None:
    finding = next(
        each for each in supplies(Case(animal=HORSE), Profile()).findings if each.code == "waste_gas"
    )
    assert finding.severity == "note"
    # NIOSH 77-140: 2 ppm ceiling for halogenated agents (abstract)
    assert finding.figures["niosh_halogenated_ppm"] == 2.0
    assert finding.figures["europe_isoflurane_ppm"] == 10.0
    assert finding.figures["lowest_limit_ppm"] == 2.0
    assert "europe_halothane_ppm" not in finding.figures


# --- form -----------------------------------------------------------------------------------------------


def test_every_number_can_be_asked_why() -> None:
    case = a_case(Cylinder(size="us_e", gauge_bar=131.0))
    found = supplies(case, Profile(agent_price_per_100ml=20.0))
    names = [each.name for each in found.numbers]
    assert len(names) == len(set(names))
    for each in found.numbers:
        why = each.why()
        assert why["formula"]
        assert why["sources"]


def test_it_has_one_json_form() -> None:
    told = supplies(a_case(Cylinder(size="us_e", gauge_bar=131.0)), BARE).as_json()
    assert told["oxygen_minutes"]["value"] > 0.0
    assert {"agent_liquid_ml", "absorbent_hours", "co2_equivalent_kg", "gwp_set", "enough"} <= set(told)
    assert {"content_l", "lasts_minutes", "gauge_age_minutes", "connected"} <= set(told["cylinders"][0])


def test_the_gravest_finding_comes_first() -> None:
    found = supplies(a_case(Cylinder(size="us_e", gauge_bar=20.0, read_min_ago=200.0)), Profile())
    assert found.findings[0].severity == "stop"
    assert found.findings[-1].code == "waste_gas"
