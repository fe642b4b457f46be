"""Laws gas must obey whatever the numbers: round trips, monotony, limits, balance."""

import math

from hypothesis import assume, given
from hypothesis import strategies as st

from lungeline.physics.absorbent import (
    absorbent_capacity_l,
    absorbent_life_min,
    absorber_efficiency_fraction,
)
from lungeline.physics.agent_use import (
    agent_liquid_from_carrier_ml_h,
    agent_liquid_ml_h,
    agent_mass_g,
    vapour_yield_ml_ml,
)
from lungeline.physics.atmosphere import (
    inspired_po2_at_altitude_mmhg,
    standard_altitude_m,
    standard_pressure_mmhg,
)
from lungeline.physics.breathed_gas import (
    atpd_from_btps_l,
    atps_from_btps_l,
    btps_from_atpd_l,
    btps_from_atps_l,
    fresh_gas_btps_l_min,
)
from lungeline.physics.circle import (
    circle_time_constant_min,
    denitrogenation_time_min,
    mixed_fraction,
    nitrogen_fraction,
    steady_oxygen_fraction,
    wash_in_fraction,
    wash_in_time_min,
)
from lungeline.physics.cylinders import (
    content_by_proportion_l,
    cylinder_content_l,
    endurance_min,
    endurance_whole_min,
    gauge_at_15c_bar,
    gauge_at_temperature_bar,
)
from lungeline.physics.gas_conditions import (
    atpd_from_stpd_l,
    atps_from_stpd_l,
    btps_from_stpd_l,
    stpd_from_atpd_l,
    stpd_from_atps_l,
    stpd_from_btps_l,
)
from lungeline.physics.gas_laws import (
    adiabatic_compliance_l_cmh2o,
    cooled_pressure_cmh2o,
    isothermal_compliance_l_cmh2o,
    sealed_pressure_cmh2o,
)
from lungeline.physics.leak_decay import (
    decay_leak_ml_min,
    decay_pressure_cmh2o,
    empty_time_min,
    mean_decay_leak_ml_min,
)
from lungeline.physics.leaks import (
    held_leak_ml_min,
    leak_exponent_number,
    leak_ml_min,
    rise_and_fall_compliance_ml_cmh2o,
    rise_and_fall_leak_ml_min,
)
from lungeline.physics.leaks_in_use import ramp_breath_leak_ml_min, square_breath_leak_ml_min
from lungeline.physics.oxygen_gas import oxygen_density_kg_m3
from lungeline.physics.rc_lung import (
    constant_flow_drop_cmh2o,
    constant_flow_pressure_cmh2o,
    held_pressure_cmh2o,
    passive_volume_l,
    pressure_step_volume_l,
)
from lungeline.physics.tube_terms import two_term_drop_cmh2o, two_term_flow_l_s
from lungeline.physics.tubes import tube_drop_cmh2o
from lungeline.physics.vapour import (
    bypass_output_by_rule_fraction,
    bypass_output_fraction,
    heated_dial_fraction,
    saturated_vapour_fraction,
)
from lungeline.physics.ventilation_timing import (
    breath_cycle_s,
    expiratory_time_s,
    inspiratory_expiratory_ratio,
    square_mean_pressure_cmh2o,
)
from lungeline.physics.water import saturated_water_vapour_mmhg


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


ambients = numbers(400.0, 790.0)
rooms_c = numbers(0.0, 40.0)
bodies_c = numbers(30.0, 42.0)
volumes_l = numbers(0.01, 1000.0)
exponents = numbers(0.5, 1.0)
leaks_ml_min = numbers(1.0, 5000.0)
test_pressures = numbers(5.0, 60.0)
compliances = numbers(1.0, 500.0)


# --- conditions -----------------------------------------------------------------------------------------


@given(volumes_l, ambients, bodies_c, rooms_c)
def test_every_conversion_has_a_way_back(
    volume_l: float, ambient: float, body_c: float, room_c: float
) -> None:
    water = saturated_water_vapour_mmhg(body_c)
    ways_back = (
        stpd_from_btps_l(btps_from_stpd_l(volume_l, ambient, body_c, water), ambient, body_c, water),
        stpd_from_atps_l(atps_from_stpd_l(volume_l, ambient, room_c), ambient, room_c),
        stpd_from_atpd_l(atpd_from_stpd_l(volume_l, ambient, room_c), ambient, room_c),
        atps_from_btps_l(
            btps_from_atps_l(volume_l, ambient, room_c, body_c, water), ambient, room_c, body_c, water
        ),
        atpd_from_btps_l(
            btps_from_atpd_l(volume_l, ambient, room_c, body_c, water), ambient, room_c, body_c, water
        ),
    )
    assert all(math.isclose(back, volume_l, rel_tol=1e-12) for back in ways_back)


@given(volumes_l, ambients, bodies_c, rooms_c)
def test_a_detour_over_standard_conditions_changes_nothing(
    volume_l: float, ambient: float, body_c: float, room_c: float
) -> None:
    water = saturated_water_vapour_mmhg(body_c)
    direct = btps_from_atps_l(volume_l, ambient, room_c, body_c, water)
    detour = btps_from_stpd_l(stpd_from_atps_l(volume_l, ambient, room_c), ambient, body_c, water)
    assert math.isclose(direct, detour, rel_tol=1e-12)
    dry = fresh_gas_btps_l_min(volume_l, ambient, room_c, body_c, water)
    over_standard = btps_from_stpd_l(stpd_from_atpd_l(volume_l, ambient, room_c), ambient, body_c, water)
    assert math.isclose(dry, over_standard, rel_tol=1e-12)


@given(volumes_l, ambients, numbers(0.0, 29.0), bodies_c)
def test_gas_swells_on_its_way_into_an_animal(
    volume_l: float, ambient: float, room_c: float, body_c: float
) -> None:
    water = saturated_water_vapour_mmhg(body_c)
    from_moist = btps_from_atps_l(volume_l, ambient, room_c, body_c, water)
    assert volume_l < from_moist < btps_from_atpd_l(volume_l, ambient, room_c, body_c, water)


@given(numbers(0.0, 49.0), numbers(0.01, 1.0))
def test_warmer_gas_holds_more_water(temperature_c: float, warmer: float) -> None:
    assert saturated_water_vapour_mmhg(temperature_c + warmer) > saturated_water_vapour_mmhg(temperature_c)


# --- atmosphere -----------------------------------------------------------------------------------------


@given(numbers(-400.0, 11000.0))
def test_altitude_is_found_again_from_its_pressure(altitude_m: float) -> None:
    assert math.isclose(standard_altitude_m(standard_pressure_mmhg(altitude_m)), altitude_m, abs_tol=1e-6)


@given(numbers(-400.0, 10000.0), numbers(1.0, 1000.0), numbers(0.21, 1.0))
def test_higher_up_there_is_less_oxygen(altitude_m: float, climb_m: float, oxygen: float) -> None:
    assert standard_pressure_mmhg(altitude_m + climb_m) < standard_pressure_mmhg(altitude_m)
    above = inspired_po2_at_altitude_mmhg(altitude_m + climb_m, oxygen, 47.0)
    assert above < inspired_po2_at_altitude_mmhg(altitude_m, oxygen, 47.0)


# --- closed gas -----------------------------------------------------------------------------------------


@given(numbers(1.0, 100.0), ambients, numbers(1.01, 1.67))
def test_fast_gas_is_stiffer_than_slow_gas(volume_l: float, ambient: float, ratio: float) -> None:
    slow = isothermal_compliance_l_cmh2o(volume_l, ambient)
    assert adiabatic_compliance_l_cmh2o(volume_l, ambient, ratio) < slow


@given(numbers(1.0, 60.0), rooms_c, ambients, numbers(1.01, 1.67))
def test_a_tight_system_filled_fast_sags_but_not_to_nothing(
    pressure: float, room_c: float, ambient: float, ratio: float
) -> None:
    # Bernoulli's inequality: with P over ambient pressure x, (1 + x)^(1/ratio) is at most 1 + x/ratio
    cooled = cooled_pressure_cmh2o(pressure, room_c, ambient, ratio)
    assert cooled > 0.0
    assert cooled <= pressure / ratio + 1e-9


@given(numbers(-40.0, 100.0), rooms_c, numbers(0.0, 60.0), ambients)
def test_sealed_gas_comes_back_with_its_temperature(
    pressure: float, temperature_c: float, other_c: float, ambient: float
) -> None:
    there = sealed_pressure_cmh2o(pressure, temperature_c, other_c, ambient)
    back = sealed_pressure_cmh2o(there, other_c, temperature_c, ambient)
    assert math.isclose(back, pressure, abs_tol=1e-9)


# --- tubes ----------------------------------------------------------------------------------------------


@given(numbers(-12.0, 12.0), numbers(1e-4, 10.0), numbers(0.0, 5.0))
def test_the_flow_of_a_drop_has_that_drop(flow: float, laminar: float, turbulent: float) -> None:
    drop = two_term_drop_cmh2o(flow, laminar, turbulent)
    assert math.isclose(two_term_flow_l_s(drop, laminar, turbulent), flow, rel_tol=1e-9, abs_tol=1e-12)


@given(numbers(0.1, 10.0), numbers(5.0, 40.0), numbers(10.0, 150.0), numbers(1.01, 2.0))
def test_narrower_longer_and_faster_costs_more(
    flow: float, diameter: float, length: float, more: float
) -> None:
    drop = tube_drop_cmh2o(flow, diameter, length, 1.28, 2.03e-5, 1.5)
    assert tube_drop_cmh2o(flow * more, diameter, length, 1.28, 2.03e-5, 1.5) > drop
    assert tube_drop_cmh2o(flow, diameter / more, length, 1.28, 2.03e-5, 1.5) > drop
    assert tube_drop_cmh2o(flow, diameter, length * more, 1.28, 2.03e-5, 1.5) > drop
    assert tube_drop_cmh2o(-flow, diameter, length, 1.28, 2.03e-5, 1.5) == drop


# --- leaks ----------------------------------------------------------------------------------------------


@given(numbers(0.1, 60.0), leaks_ml_min, test_pressures, exponents)
def test_a_leak_is_the_test_leak_at_the_test_pressure_and_odd_about_zero(
    pressure: float, leak: float, test_pressure: float, exponent: float
) -> None:
    assert math.isclose(leak_ml_min(test_pressure, leak, test_pressure, exponent), leak, rel_tol=1e-12)
    inward = leak_ml_min(-pressure, leak, test_pressure, exponent)
    assert inward == -leak_ml_min(pressure, leak, test_pressure, exponent)


@given(numbers(1.0, 30.0), numbers(1.1, 3.0), leaks_ml_min, exponents)
def test_two_pressures_give_the_exponent(low: float, more: float, leak: float, exponent: float) -> None:
    first, second = (leak_ml_min(pressure, leak, 30.0, exponent) for pressure in (low * more, low))
    assert math.isclose(leak_exponent_number(first, low * more, second, low), exponent, rel_tol=1e-9)


@given(leaks_ml_min, compliances, numbers(100.0, 10000.0))
def test_rise_and_fall_give_back_what_made_them(leak: float, compliance: float, flow: float) -> None:
    rise, fall = (flow - leak) / compliance, leak / compliance
    assert math.isclose(rise_and_fall_leak_ml_min(flow, rise, fall), leak, rel_tol=1e-9)
    assert math.isclose(rise_and_fall_compliance_ml_cmh2o(flow, rise, fall), compliance, rel_tol=1e-9)
    assert math.isclose(held_leak_ml_min(flow, compliance, rise), leak, rel_tol=1e-9, abs_tol=1e-8)


@given(numbers(5.0, 60.0), numbers(1.0, 30.0), compliances, leaks_ml_min, exponents)
def test_a_fall_gives_back_the_leak_that_made_it(
    start: float, elapsed_s: float, compliance: float, leak: float, exponent: float
) -> None:
    end = decay_pressure_cmh2o(start, elapsed_s, compliance, leak, 30.0, exponent)
    assert 0.0 <= end < start
    assume(end > 0.01 * start)
    assume(end < 0.999 * start)
    found = decay_leak_ml_min(30.0, start, end, elapsed_s, compliance, exponent)
    assert math.isclose(found, leak, rel_tol=1e-6)
    # the mean of what leaked lies between the leaks of its two ends
    mean = mean_decay_leak_ml_min(compliance, start, end, elapsed_s)
    first, last = (leak_ml_min(pressure, leak, 30.0, exponent) for pressure in (start, end))
    assert last * (1.0 - 1e-9) <= mean <= first * (1.0 + 1e-9)


@given(numbers(5.0, 60.0), numbers(1.0, 60.0), numbers(1.0, 60.0), compliances, leaks_ml_min, exponents)
def test_a_fall_in_two_parts_is_the_whole_fall(  # noqa: PLR0913, PLR0917 - each is drawn
    start: float, first_s: float, second_s: float, compliance: float, leak: float, exponent: float
) -> None:
    between = decay_pressure_cmh2o(start, first_s, compliance, leak, 30.0, exponent)
    in_parts = decay_pressure_cmh2o(between, second_s, compliance, leak, 30.0, exponent)
    at_once = decay_pressure_cmh2o(start, first_s + second_s, compliance, leak, 30.0, exponent)
    # near empty the law is so steep that rounding shows: an absolute bound of a billionth of the start
    assert math.isclose(in_parts, at_once, rel_tol=1e-6, abs_tol=1e-9 * start)


@given(numbers(5.0, 60.0), compliances, leaks_ml_min, numbers(0.5, 0.95))
def test_it_is_empty_when_it_should_be_and_not_before(
    start: float, compliance: float, leak: float, exponent: float
) -> None:
    empty_s = 60.0 * empty_time_min(start, compliance, leak, 30.0, exponent)
    assert decay_pressure_cmh2o(start, 1.001 * empty_s, compliance, leak, 30.0, exponent) == 0.0
    assert decay_pressure_cmh2o(start, 0.9 * empty_s, compliance, leak, 30.0, exponent) > 0.0


@given(numbers(0.0, 20.0), numbers(0.0, 40.0), numbers(0.1, 0.9), numbers(2.0, 20.0), leaks_ml_min)
def test_a_laminar_leak_goes_with_mean_pressure_whatever_the_shape(
    low: float, rise: float, share: float, cycle_s: float, leak: float
) -> None:
    high, inspiration_s = low + rise, share * cycle_s
    mean = square_mean_pressure_cmh2o(low, high, inspiration_s, cycle_s)
    square = square_breath_leak_ml_min(low, high, inspiration_s, cycle_s, leak, 30.0, 1.0)
    assert math.isclose(square, leak * mean / 30.0, rel_tol=1e-9, abs_tol=1e-9)
    mean_of_ramp = low + 0.5 * rise * share
    ramp = ramp_breath_leak_ml_min(low, high, inspiration_s, cycle_s, leak, 30.0, 1.0)
    assert math.isclose(ramp, leak * mean_of_ramp / 30.0, rel_tol=1e-9, abs_tol=1e-9)


@given(numbers(0.0, 20.0), numbers(0.0, 40.0), numbers(0.1, 0.9), numbers(2.0, 20.0), leaks_ml_min, exponents)
def test_a_leak_in_use_is_at_most_that_of_the_mean_pressure(  # noqa: PLR0913, PLR0917 - each is drawn
    low: float, rise: float, share: float, cycle_s: float, leak: float, exponent: float
) -> None:
    # Jensen: a power below 1 is concave
    high, inspiration_s = low + rise, share * cycle_s
    mean = square_mean_pressure_cmh2o(low, high, inspiration_s, cycle_s)
    at_mean = leak_ml_min(mean, leak, 30.0, exponent)
    square = square_breath_leak_ml_min(low, high, inspiration_s, cycle_s, leak, 30.0, exponent)
    assert square <= at_mean * (1.0 + 1e-9) + 1e-9


# --- vapour ---------------------------------------------------------------------------------------------


@given(numbers(0.0, 0.18), numbers(50.0, 700.0), ambients)
def test_no_vaporiser_gives_more_than_the_whole(dial: float, vapour: float, ambient: float) -> None:
    delivered = bypass_output_fraction(dial, vapour, ambient)
    assert 0.0 <= delivered <= 1.0
    assert delivered < 1.0 or vapour >= ambient
    assert 0.0 <= bypass_output_by_rule_fraction(dial, ambient) < 1.0
    assert 0.0 <= heated_dial_fraction(dial, ambient) < 1.0
    assert 0.0 < saturated_vapour_fraction(vapour, ambient) <= 1.0


@given(numbers(0.001, 0.08), numbers(50.0, 300.0), numbers(400.0, 759.0))
def test_a_bypass_vaporiser_gives_no_less_partial_pressure_at_altitude(
    dial: float, vapour: float, ambient: float
) -> None:
    assert math.isclose(bypass_output_fraction(dial, vapour, 760.0), dial, rel_tol=1e-12)
    delivered = bypass_output_fraction(dial, vapour, ambient)
    # where the dial asks for less than saturated gas, as every real dial does
    assume(dial < vapour / 760.0)
    assert delivered >= bypass_output_by_rule_fraction(dial, ambient) * (1.0 - 1e-12)


@given(numbers(0.1, 20.0), numbers(0.0, 0.18), numbers(1.2, 1.9), numbers(150.0, 210.0), numbers(22.0, 30.0))
def test_liquid_and_mass_of_agent_are_one(
    flow: float, fraction: float, density: float, molar_mass: float, molar_volume: float
) -> None:
    gives = vapour_yield_ml_ml(density, molar_mass, molar_volume)
    liquid_g = density * agent_liquid_ml_h(flow, fraction, gives)
    assert math.isclose(
        liquid_g, agent_mass_g(flow, fraction, 60.0, molar_mass, molar_volume), rel_tol=1e-12, abs_tol=1e-12
    )
    # carrier and vapour together are what leaves
    from_carrier = agent_liquid_from_carrier_ml_h(flow * (1.0 - fraction), fraction, gives)
    assert math.isclose(from_carrier, liquid_g / density, rel_tol=1e-12, abs_tol=1e-12)


# --- absorbent ------------------------------------------------------------------------------------------


@given(numbers(0.1, 10.0), numbers(8.0, 20.0), numbers(0.0, 0.9), numbers(0.05, 3.0), numbers(1.01, 3.0))
def test_more_carbon_dioxide_uses_absorbent_sooner(
    mass: float, capacity: float, used: float, output: float, more: float
) -> None:
    left = absorbent_capacity_l(mass, capacity, used)
    life = absorbent_life_min(left, output, 0.0)
    assert absorbent_life_min(left, output * more, 0.0) < life
    assert math.isclose(life * output, left, rel_tol=1e-12)
    assert absorbent_life_min(left, output, 0.5) > life


@given(numbers(0.0, 2.0), numbers(0.0, 1.0), numbers(0.0, 1.0))
def test_absorbent_gets_no_better_with_use(used: float, more: float, bypass: float) -> None:
    before = absorber_efficiency_fraction(100.0 * used, 100.0, bypass)
    after = absorber_efficiency_fraction(100.0 * (used + more), 100.0, bypass)
    assert 0.0 <= after <= before <= 1.0 - bypass


# --- cylinders ------------------------------------------------------------------------------------------


@given(numbers(1.0, 300.0), numbers(-20.0, 50.0))
def test_a_gauge_is_found_again_at_its_temperature(gauge: float, temperature_c: float) -> None:
    there = gauge_at_temperature_bar(gauge, temperature_c)
    assert math.isclose(gauge_at_15c_bar(there, temperature_c), gauge, rel_tol=1e-9)
    assert (there > gauge) == (temperature_c > 15.0) or math.isclose(temperature_c, 15.0, abs_tol=1e-9)


@given(numbers(1.0, 280.0), numbers(0.1, 20.0), numbers(-20.0, 50.0))
def test_more_pressure_is_more_oxygen(gauge: float, more: float, temperature_c: float) -> None:
    assert oxygen_density_kg_m3(gauge + more, temperature_c) > oxygen_density_kg_m3(gauge, temperature_c)
    content = cylinder_content_l(10.0, gauge, temperature_c, 760.0)
    assert cylinder_content_l(10.0, gauge + more, temperature_c, 760.0) > content
    assert math.isclose(cylinder_content_l(20.0, gauge, temperature_c, 760.0), 2.0 * content, rel_tol=1e-12)


@given(numbers(0.0, 10000.0), numbers(0.0, 500.0), numbers(0.1, 100.0), numbers(1.01, 5.0))
def test_endurance_falls_with_use_and_is_never_rounded_up(
    content: float, residual: float, use: float, more: float
) -> None:
    lasts = endurance_min(content, residual, use)
    assert endurance_min(content, residual, use * more) <= lasts
    whole = endurance_whole_min(content, residual, use)
    assert whole == int(whole)
    assert whole <= lasts + 1e-9
    assert lasts < whole + 1.0


@given(numbers(0.0, 1.0), numbers(100.0, 300.0), numbers(100.0, 10000.0))
def test_proportion_is_empty_at_nothing_and_full_at_full(share: float, full: float, content: float) -> None:
    part = content_by_proportion_l(share * full, full, content)
    assert math.isclose(part, share * content, rel_tol=1e-12, abs_tol=1e-12)


# --- circle ---------------------------------------------------------------------------------------------


@given(numbers(0.0, 1.0), numbers(0.0, 1.0), numbers(0.0, 200.0), numbers(0.1, 60.0))
def test_wash_in_stays_between_start_and_fresh_gas(
    start: float, fresh: float, elapsed: float, constant: float
) -> None:
    now = wash_in_fraction(start, fresh, elapsed, constant)
    assert min(start, fresh) - 1e-12 <= now <= max(start, fresh) + 1e-12


@given(numbers(0.0, 1.0), numbers(0.0, 1.0), numbers(0.01, 5.0), numbers(0.1, 60.0))
def test_the_time_to_a_fraction_is_the_time_of_that_fraction(
    start: float, fresh: float, constants: float, constant: float
) -> None:
    assume(abs(start - fresh) > 1e-3)
    target = wash_in_fraction(start, fresh, constants * constant, constant)
    assert math.isclose(wash_in_time_min(start, fresh, target, constant), constants * constant, rel_tol=1e-6)


@given(numbers(0.1, 0.79), numbers(10.0, 100.0), numbers(2.0, 20.0), numbers(0.0, 1.5), numbers(0.5, 5.0))
def test_an_animal_that_uses_oxygen_keeps_its_nitrogen_longer(
    start: float, volume_l: float, flow: float, used: float, more: float
) -> None:
    alone = nitrogen_fraction(start, 10.0, volume_l, flow, 0.0)
    assert alone <= nitrogen_fraction(start, 10.0, volume_l, flow, used)
    faster = denitrogenation_time_min(start, 0.05, volume_l, flow + more, used)
    assert faster < denitrogenation_time_min(start, 0.05, volume_l, flow, used)
    assert circle_time_constant_min(volume_l, flow + more) < circle_time_constant_min(volume_l, flow)


@given(numbers(1.0, 20.0), numbers(0.21, 1.0), numbers(0.0, 0.95))
def test_a_circle_never_ends_richer_than_its_source(flow: float, source: float, share: float) -> None:
    end = steady_oxygen_fraction(flow, source, share * flow)
    assert 0.0 <= end <= source + 1e-12
    # what comes in is used or spilled
    if end > 0.0:
        spilled = flow * (1.0 - share)
        assert math.isclose(flow * source, share * flow + end * spilled, rel_tol=1e-9)


@given(numbers(1.0, 60.0), numbers(0.0, 1.0), numbers(0.0, 30.0), numbers(0.0, 1.0))
def test_mixing_keeps_every_litre(circle_l: float, circle: float, lung_l: float, lung: float) -> None:
    mixed = mixed_fraction(circle_l, circle, lung_l, lung)
    kept_l = circle_l * circle + lung_l * lung
    assert math.isclose(mixed * (circle_l + lung_l), kept_l, rel_tol=1e-9, abs_tol=1e-300)


# --- breaths --------------------------------------------------------------------------------------------


@given(numbers(2.0, 20.0), numbers(0.3, 2.0), numbers(0.0, 0.9))
def test_the_parts_of_a_breath_make_its_cycle(rate: float, inspiration_s: float, pause_s: float) -> None:
    expiration_s = expiratory_time_s(rate, inspiration_s, pause_s)
    whole = inspiration_s + pause_s + expiration_s
    assert math.isclose(whole, breath_cycle_s(rate), rel_tol=1e-12)
    ratio = inspiratory_expiratory_ratio(inspiration_s + pause_s, expiration_s)
    assert math.isclose(ratio * expiration_s, inspiration_s + pause_s, rel_tol=1e-12)


@given(numbers(0.1, 10.0), numbers(0.05, 5.0), numbers(0.05, 5.0), numbers(0.1, 10.0), numbers(0.01, 2.0))
def test_an_expiration_in_two_parts_is_the_whole(
    volume: float, first_s: float, second_s: float, resistance: float, compliance: float
) -> None:
    between = passive_volume_l(volume, first_s, resistance, compliance)
    in_parts = passive_volume_l(between, second_s, resistance, compliance)
    at_once = passive_volume_l(volume, first_s + second_s, resistance, compliance)
    assert math.isclose(in_parts, at_once, rel_tol=1e-9, abs_tol=1e-300)


@given(numbers(1.0, 60.0), numbers(0.05, 5.0), numbers(0.1, 10.0), numbers(0.01, 2.0))
def test_filling_is_emptying_upside_down(
    step: float, elapsed_s: float, resistance: float, compliance: float
) -> None:
    filled = pressure_step_volume_l(step, elapsed_s, resistance, compliance)
    missing = passive_volume_l(step * compliance, elapsed_s, resistance, compliance)
    assert math.isclose(filled + missing, step * compliance, rel_tol=1e-9)


@given(
    numbers(0.1, 8.0),
    numbers(0.1, 4.0),
    numbers(0.05, 8.0),
    numbers(0.02, 1.0),
    numbers(0.0, 0.2),
    numbers(0.0, 20.0),
)
def test_what_flowed_is_in_circuit_and_lung(  # noqa: PLR0913, PLR0917 - each is drawn
    flow: float, elapsed_s: float, resistance: float, lung: float, circuit: float, peep: float
) -> None:
    port = constant_flow_pressure_cmh2o(flow, elapsed_s, resistance, lung, circuit, peep)
    alveoli = port - constant_flow_drop_cmh2o(flow, elapsed_s, resistance, lung, circuit)
    stored = circuit * (port - peep) + lung * (alveoli - peep)
    assert math.isclose(stored, flow * elapsed_s, rel_tol=1e-9)
    plateau = held_pressure_cmh2o(flow * elapsed_s, lung, circuit, peep)
    assert alveoli - 1e-9 <= plateau <= port + 1e-9
