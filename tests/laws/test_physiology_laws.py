"""Laws any animal must obey: monotony, round trips, limits, balance."""

import math

from hypothesis import assume, given
from hypothesis import strategies as st

from lungeline.physiology.alveolar_gas import (
    alveolar_po2_mmhg,
    alveolar_po2_short_mmhg,
    alveolar_ventilation_for_paco2_l_min,
    steady_paco2_mmhg,
)
from lungeline.physiology.blood_gases import (
    base_excess_from_ph_mmol_l,
    blood_ph,
    carbon_dioxide_content_douglas1988,
    oxygen_content_l_l,
    oxygen_pressure_at_saturation_mmhg,
    oxygen_pressure_mmhg,
    oxygen_saturation_fraction,
)
from lungeline.physiology.circulation import (
    cardiac_output_under_l_min,
    output_pressure_linear_law_multiple,
    output_pressure_square_law_multiple,
)
from lungeline.physiology.dead_space import (
    alveolar_dead_space_fraction,
    paco2_from_etco2_mmhg,
    physiological_dead_space_fraction,
)
from lungeline.physiology.drive import apnoea_rise_two_stores_mmhg, breathing_drive_ratio, own_rate_per_min
from lungeline.physiology.emptying import emptying_time_s, trapped_volume_l, trapped_volume_turbulent_l
from lungeline.physiology.mac import (
    combined_reduction_fraction,
    mac_at_pressure_percent,
    mac_at_temperature_percent,
    mac_multiple,
    mac_reduced_percent,
)
from lungeline.physiology.mechanics import (
    airway_pressure_cmh2o,
    dynamic_compliance_l_cmh2o,
    inspiratory_work_j,
    mechanical_power_gattinoni2016_j_min,
    static_compliance_l_cmh2o,
)
from lungeline.physiology.oxygen_delivery import (
    cardiac_output_fick_l_min,
    mixed_venous_content_l_l,
    oxygen_use_fick_l_min,
)
from lungeline.physiology.shunt import (
    arterial_content_l_l,
    f_shunt_fraction,
    iso_shunt_pao2_mmhg,
    shunt_fraction,
)
from lungeline.physiology.size import weight_carroll1988_kg, weight_error_fraction
from lungeline.physiology.uptake import (
    alveolar_fraction_quasi_steady,
    alveolar_uptake_l_min,
    arterial_agent_fraction,
    tissue_fraction_after,
)


def between(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(min_value=low, max_value=high, allow_nan=False, allow_infinity=False)


PO2 = between(1.0, 700.0)
PCO2 = between(15.0, 150.0)
PH = between(6.9, 7.7)
P50 = between(18.0, 32.0)
HAEMOGLOBIN = between(5.0, 20.0)
FRACTION = between(0.0, 1.0)
STEP = between(0.5, 20.0)

# --- blood --------------------------------------------------------------------------------------------


@given(PO2, STEP, PH, P50)
def test_saturation_rises_with_oxygen_and_stays_a_fraction(
    po2: float, step: float, ph: float, p50: float
) -> None:
    low, high = oxygen_saturation_fraction(po2, ph, p50), oxygen_saturation_fraction(po2 + step, ph, p50)
    assert 0.0 < low < high < 1.0


@given(PO2, PH, between(0.01, 0.2), P50)
def test_saturation_rises_with_ph(po2: float, ph: float, step: float, p50: float) -> None:
    assert oxygen_saturation_fraction(po2, ph + step, p50) > oxygen_saturation_fraction(po2, ph, p50)


@given(PO2, PH, P50, between(0.5, 5.0))
def test_saturation_falls_with_p50(po2: float, ph: float, p50: float, step: float) -> None:
    assert oxygen_saturation_fraction(po2, ph, p50 + step) < oxygen_saturation_fraction(po2, ph, p50)


@given(between(0.0, 1999.0), PH, P50, HAEMOGLOBIN)
def test_oxygen_content_can_be_read_backwards(po2: float, ph: float, p50: float, hb: float) -> None:
    content = oxygen_content_l_l(po2, ph, p50, hb)
    assert math.isclose(oxygen_pressure_mmhg(content, ph, p50, hb), po2, rel_tol=1e-7, abs_tol=1e-7)


@given(between(0.5, 150.0), PH, P50)
def test_saturation_can_be_read_backwards(po2: float, ph: float, p50: float) -> None:
    saturation = oxygen_saturation_fraction(po2, ph, p50)
    assert math.isclose(oxygen_pressure_at_saturation_mmhg(saturation, ph, p50), po2, rel_tol=1e-6)


@given(PCO2, STEP, between(-10.0, 12.0))
def test_ph_falls_with_carbon_dioxide_and_rises_with_base(pco2: float, step: float, base: float) -> None:
    assert blood_ph(pco2 + step, base) < blood_ph(pco2, base) < blood_ph(pco2, base + 1.0)


@given(PCO2, between(-8.0, 12.0))
def test_base_excess_can_be_read_backwards(pco2: float, base: float) -> None:
    assert math.isclose(base_excess_from_ph_mmol_l(pco2, blood_ph(pco2, base)), base, abs_tol=1e-9)


@given(PCO2, STEP, between(-8.0, 12.0), HAEMOGLOBIN, FRACTION)
def test_carbon_dioxide_content_rises_with_its_pressure_and_falls_with_saturation(
    pco2: float, step: float, base: float, hb: float, saturation: float
) -> None:
    def content(pressure: float, saturated: float) -> float:
        return carbon_dioxide_content_douglas1988(pressure, blood_ph(pressure, base), hb, saturated)

    assert content(pco2 + step, saturation) > content(pco2, saturation) > 0.0
    assert content(pco2, 0.0) > content(pco2, 1.0)  # Haldane


# --- gas ----------------------------------------------------------------------------------------------


@given(between(0.1, 3.0), between(1.0, 60.0), between(0.1, 20.0), between(33.0, 41.0))
def test_carbon_dioxide_falls_with_ventilation_and_can_be_read_backwards(
    output: float, ventilation: float, step: float, temperature: float
) -> None:
    paco2 = steady_paco2_mmhg(output, ventilation, temperature)
    assert steady_paco2_mmhg(output, ventilation + step, temperature) < paco2
    assert math.isclose(
        alveolar_ventilation_for_paco2_l_min(output, paco2, temperature), ventilation, rel_tol=1e-12
    )


@given(between(0.15, 1.0), between(400.0, 780.0), between(20.0, 120.0), between(0.7, 1.0))
def test_full_equation_lies_between_the_short_one_and_inspired(
    oxygen: float, pressure: float, paco2: float, ratio: float
) -> None:
    full = alveolar_po2_mmhg(oxygen, pressure, 47.0, paco2, ratio)
    assert alveolar_po2_short_mmhg(oxygen, pressure, 47.0, paco2, ratio) <= full + 1e-9
    assert full < oxygen * (pressure - 47.0)


@given(between(400.0, 780.0), between(20.0, 120.0), between(0.6, 1.2))
def test_on_pure_oxygen_the_exchange_ratio_does_not_matter(
    pressure: float, paco2: float, ratio: float
) -> None:
    assert math.isclose(
        alveolar_po2_mmhg(1.0, pressure, 47.0, paco2, ratio), pressure - 47.0 - paco2, abs_tol=1e-9
    )


@given(between(10.0, 120.0), between(0.0, 0.6))
def test_gap_can_be_read_backwards(etco2: float, gap: float) -> None:
    assert math.isclose(
        alveolar_dead_space_fraction(paco2_from_etco2_mmhg(etco2, gap), etco2), gap, abs_tol=1e-12
    )


@given(between(0.5, 20.0), between(0.0, 3.0), FRACTION, between(0.1, 5.0))
def test_dead_space_is_a_fraction_and_larger_breaths_waste_less(
    tidal: float, airway: float, alveolar: float, step: float
) -> None:
    smaller = physiological_dead_space_fraction(tidal, airway, alveolar)
    larger = physiological_dead_space_fraction(tidal + step, airway, alveolar)
    assert -1e-12 <= larger <= smaller + 1e-12 <= 1.0 + 1e-11


# --- shunt --------------------------------------------------------------------------------------------


@given(FRACTION, between(0.05, 0.25), between(0.001, 0.1))
def test_shunt_can_be_read_backwards(shunt: float, venous: float, span: float) -> None:
    capillary = venous + span
    arterial = arterial_content_l_l(shunt, capillary, venous)
    assert venous - 1e-12 <= arterial <= capillary + 1e-12
    assert math.isclose(shunt_fraction(capillary, arterial, venous), shunt, abs_tol=1e-9)


@given(between(0.02, 0.3), between(0.02, 0.3), between(0.02, 0.3))
def test_shunt_and_f_shunt_are_fractions_where_contents_are_in_order(a: float, b: float, c: float) -> None:
    venous, arterial, capillary = sorted((a, b, c))
    assume(capillary > venous)
    assert 0.0 <= shunt_fraction(capillary, arterial, venous) <= 1.0
    assert 0.0 <= f_shunt_fraction(capillary, arterial, 0.035) < 1.0


@given(between(0.001, 0.5), between(0.005, 0.2), between(0.02, 0.06), between(100.0, 680.0), PH)
def test_oxygen_falls_with_shunt_and_f_shunt_finds_it_again(
    shunt: float, step: float, difference: float, alveolar: float, ph: float
) -> None:
    pressure = iso_shunt_pao2_mmhg(shunt, difference, alveolar, ph, 23.8, 11.5)
    assert pressure < alveolar + 1e-6
    assert iso_shunt_pao2_mmhg(shunt + step, difference, alveolar, ph, 23.8, 11.5) <= pressure
    capillary, arterial = (oxygen_content_l_l(p, ph, 23.8, 11.5) for p in (alveolar, pressure))
    assert (
        math.isclose(f_shunt_fraction(capillary, arterial, difference), shunt, abs_tol=1e-6)
        or pressure == 0.0
    )


@given(between(5.0, 60.0), between(0.1, 0.22), between(0.2, 2.0))
def test_fick_can_be_read_backwards(output: float, arterial: float, used: float) -> None:
    venous = mixed_venous_content_l_l(arterial, used, output)
    assume(venous > 0.0)
    assert math.isclose(oxygen_use_fick_l_min(output, arterial, venous), used, rel_tol=1e-9)
    assert math.isclose(cardiac_output_fick_l_min(used, arterial, venous), output, rel_tol=1e-9)


# --- agents -------------------------------------------------------------------------------------------


@given(between(0.5, 10.0), between(30.0, 39.0), between(0.1, 1.0), between(0.01, 0.06))
def test_mac_falls_as_the_animal_cools(mac: float, temperature: float, step: float, fall: float) -> None:
    cooler = mac_at_temperature_percent(mac, 37.5, temperature, fall)
    assert 0.0 < cooler < mac_at_temperature_percent(mac, 37.5, temperature + step, fall)


@given(FRACTION, FRACTION, FRACTION, between(0.5, 10.0))
def test_sparing_drugs_combine_in_any_order_and_leave_two_fifths(
    a: float, b: float, c: float, mac: float
) -> None:
    one = combined_reduction_fraction(combined_reduction_fraction(a, b), c)
    other = combined_reduction_fraction(a, combined_reduction_fraction(c, b))
    assert math.isclose(one, other, abs_tol=1e-12)
    assert max(a, b, c) - 1e-12 <= one <= 1.0
    assert 0.4 * mac - 1e-12 <= mac_reduced_percent(mac, one) <= mac + 1e-12


@given(between(0.5, 10.0), between(350.0, 780.0))
def test_the_percentage_for_one_mac_is_one_mac_at_any_height(mac: float, pressure: float) -> None:
    shown = mac_at_pressure_percent(mac, pressure)
    assert math.isclose(mac_multiple(shown / 100.0 * pressure, mac), 1.0, rel_tol=1e-12)


@given(between(0.0, 0.1), between(0.0, 0.1), between(1.0, 500.0), between(0.0, 300.0), between(0.0, 300.0))
def test_a_tissue_nears_arterial_blood_and_two_spans_are_one(
    arterial: float, tissue: float, constant: float, first: float, second: float
) -> None:
    after = tissue_fraction_after(arterial, tissue, constant, first)
    assert min(arterial, tissue) - 1e-12 <= after <= max(arterial, tissue) + 1e-12
    there = tissue_fraction_after(arterial, tissue, constant, first + second)
    assert math.isclose(tissue_fraction_after(arterial, after, constant, second), there, abs_tol=1e-12)


@given(
    between(0.001, 0.1),
    between(0.0, 0.1),
    between(1.0, 60.0),
    between(1.0, 60.0),
    FRACTION,
    between(0.3, 3.0),
)
def test_ventilation_brings_what_blood_takes(  # noqa: PLR0913, PLR0917 - the inputs of the balance
    inspired: float, venous: float, ventilation: float, output: float, shunt: float, blood: float
) -> None:
    lung_flow = output * (1.0 - shunt)
    alveolar = alveolar_fraction_quasi_steady(inspired, venous, ventilation, lung_flow, blood)
    taken = alveolar_uptake_l_min(output, shunt, blood, alveolar, venous)
    assert math.isclose(ventilation * (inspired - alveolar), taken, abs_tol=1e-9)
    arterial = arterial_agent_fraction(alveolar, venous, shunt)
    assert min(alveolar, venous) - 1e-12 <= arterial <= max(alveolar, venous) + 1e-12


# --- circulation --------------------------------------------------------------------------------------


@given(between(0.0, 50.0), between(0.1, 10.0), between(15.0, 45.0), between(0.5, 1.1))
def test_output_never_rises_with_airway_pressure_by_either_law(
    pressure: float, step: float, halving: float, volaemia: float
) -> None:
    for law in (output_pressure_square_law_multiple, output_pressure_linear_law_multiple):
        assert 0.0 < law(pressure + step, halving, volaemia) <= law(pressure, halving, volaemia) <= 1.0


@given(between(15.0, 45.0))
def test_both_laws_halve_output_at_the_halving_pressure(halving: float) -> None:
    assert math.isclose(output_pressure_square_law_multiple(4.0 + halving, halving, 1.0), 0.5, rel_tol=1e-9)
    assert math.isclose(output_pressure_linear_law_multiple(4.0 + halving, halving, 1.0), 0.5, rel_tol=1e-9)


@given(between(4.5, 40.0), between(0.5, 0.99), between(0.0, 2.5), between(20.0, 120.0))
def test_an_animal_short_of_volume_loses_more(
    pressure: float, volaemia: float, depth: float, paco2: float
) -> None:
    full, short = (
        cardiac_output_under_l_min(25.0, pressure, 32.0, v, depth, paco2, 0.0, 0.0) for v in (1.0, volaemia)
    )
    rested_full, rested_short = (
        cardiac_output_under_l_min(25.0, 0.0, 32.0, v, depth, paco2, 0.0, 0.0) for v in (1.0, volaemia)
    )
    assert short < full
    assert short / rested_short < full / rested_full


# --- breathing ----------------------------------------------------------------------------------------


@given(between(20.0, 120.0), STEP, between(40.0, 80.0), between(3.0, 8.0), between(0.0, 2.0))
def test_more_carbon_dioxide_never_means_less_breathing(
    pco2: float, step: float, threshold: float, gap: float, depth: float
) -> None:
    low, high = (breathing_drive_ratio(p, threshold, gap) for p in (pco2, pco2 + step))
    assert low <= high
    assert own_rate_per_min(depth, low, 7.0, 6.0) <= own_rate_per_min(depth, high, 7.0, 6.0)


@given(between(0.0, 15.0), between(0.1, 5.0), between(1.0, 4.0), between(0.25, 0.5), between(0.6, 1.4))
def test_apnoea_lies_between_one_store_and_both(
    minutes: float, step: float, output: float, fast: float, slow: float
) -> None:
    rise = apnoea_rise_two_stores_mmhg(minutes, output, fast, slow, 0.0108)
    assert minutes * output / (fast + slow) - 1e-9 <= rise <= minutes * output / fast + 1e-9
    assert apnoea_rise_two_stores_mmhg(minutes + step, output, fast, slow, 0.0108) > rise


# --- mechanics ----------------------------------------------------------------------------------------

COMPLIANCE = between(0.03, 1.2)
LAMINAR = between(0.1, 8.0)
TURBULENT = between(0.0, 2.0)


@given(between(0.3, 12.0), between(0.3, 6.0), COMPLIANCE, LAMINAR, TURBULENT, between(0.0, 20.0))
def test_compliance_is_found_again_from_the_pressures_it_makes(  # noqa: PLR0913, PLR0917 - one animal
    tidal: float, flow: float, compliance: float, laminar: float, turbulent: float, peep: float
) -> None:
    peak = airway_pressure_cmh2o(tidal, flow, compliance, laminar, turbulent, peep)
    plateau = airway_pressure_cmh2o(tidal, 0.0, compliance, laminar, turbulent, peep)
    assert math.isclose(static_compliance_l_cmh2o(tidal, plateau, peep), compliance, rel_tol=1e-9)
    assert dynamic_compliance_l_cmh2o(tidal, peak, peep) < compliance


@given(between(0.3, 12.0), between(0.3, 6.0), COMPLIANCE, LAMINAR, TURBULENT, between(0.0, 20.0))
def test_power_from_a_monitor_is_work_times_rate(  # noqa: PLR0913, PLR0917 - one animal
    tidal: float, flow: float, compliance: float, laminar: float, turbulent: float, peep: float
) -> None:
    peak = airway_pressure_cmh2o(tidal, flow, compliance, laminar, turbulent, peep)
    plateau = airway_pressure_cmh2o(tidal, 0.0, compliance, laminar, turbulent, peep)
    work = inspiratory_work_j(tidal, flow, compliance, laminar, turbulent, peep)
    shown = mechanical_power_gattinoni2016_j_min(8.0, tidal, peak, plateau, peep)
    assert math.isclose(shown, 8.0 * work, rel_tol=1e-9)


@given(between(0.5, 12.0), COMPLIANCE, LAMINAR, between(1.0, 8.0))
def test_without_turbulence_both_forms_trap_the_same(
    tidal: float, compliance: float, laminar: float, time: float
) -> None:
    laminar_only = trapped_volume_l(tidal, laminar, compliance, time)
    both = trapped_volume_turbulent_l(tidal, compliance, laminar, 0.0, time)
    assert math.isclose(laminar_only, both, rel_tol=1e-6, abs_tol=1e-6)


@given(between(0.5, 12.0), COMPLIANCE, LAMINAR, between(0.01, 2.0), between(1.0, 8.0))
def test_turbulence_traps_more_and_the_trapped_volume_repeats_itself(
    tidal: float, compliance: float, laminar: float, turbulent: float, time: float
) -> None:
    trapped = trapped_volume_turbulent_l(tidal, compliance, laminar, turbulent, time)
    assert trapped >= trapped_volume_l(tidal, laminar, compliance, time) * (1.0 - 1e-6) - 1e-9
    assume(trapped > 1e-6)
    needed = emptying_time_s(trapped + tidal, trapped, compliance, laminar, turbulent)
    assert math.isclose(needed, time, rel_tol=1e-6)


@given(between(0.2, 10.0), between(0.05, 0.9), between(0.05, 0.9), COMPLIANCE, LAMINAR, TURBULENT)
def test_emptying_in_two_stretches_takes_as_long_as_in_one(  # noqa: PLR0913, PLR0917 - one animal
    start: float, first: float, second: float, compliance: float, laminar: float, turbulent: float
) -> None:
    middle, end = start * first, start * first * second
    whole = emptying_time_s(start, end, compliance, laminar, turbulent)
    stretches = emptying_time_s(start, middle, compliance, laminar, turbulent) + emptying_time_s(
        middle, end, compliance, laminar, turbulent
    )
    assert math.isclose(whole, stretches, rel_tol=1e-9)
    assert whole >= emptying_time_s(start, end, compliance, laminar, 0.0) * (1.0 - 1e-9)


# --- size ---------------------------------------------------------------------------------------------


@given(between(120.0, 220.0), between(100.0, 220.0), between(-0.1, 0.1), between(-0.1, 0.1))
def test_errors_of_the_tape_are_those_of_measuring_again(
    girth: float, length: float, girth_error: float, length_error: float
) -> None:
    again = weight_carroll1988_kg(girth * (1.0 + girth_error), length * (1.0 + length_error))
    relative = again / weight_carroll1988_kg(girth, length) - 1.0
    assert math.isclose(relative, weight_error_fraction(girth_error, length_error), abs_tol=1e-12)
