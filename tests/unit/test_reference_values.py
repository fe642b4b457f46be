"""Shipped figures against what was printed, and against each other by arithmetic from outside."""

import math

import pytest

from lungeline import reference

MOLAR_VOLUME_ML_MOL = 24_055.0  # ideal gas at 20 °C, 1 atm: 8.314462618 x 293.15 / 101.325
PA_PER_CMH2O = 98.0665  # UCUM
AGENTS = ("isoflurane", "sevoflurane", "desflurane", "halothane")


def value(name: str) -> float:
    return reference.figure(name).value


PRINTED = [
    (
        "agents.isoflurane.blood_gas_horse_ratio",
        0.92,
        0.88,
        0.96,
    ),  # Bergadano 2003, Br J Anaesth: 0.92 ± 0.04
    ("agents.halothane.blood_gas_horse_ratio", 1.66, 1.60, 1.72),  # Bergadano 2003: 1.66 ± 0.06
    ("agents.sevoflurane.blood_gas_horse_ratio", 0.47, 0.44, 0.50),  # Bergadano 2003: 0.47 ± 0.03
    ("agents.isoflurane.mac_donkey_percent", 1.44, 1.31, 1.57),  # Maney 2022, Am J Vet Res: 1.44 ± 0.13
    ("agents.desflurane.mac_horse_percent", 7.6, 7.2, 8.0),  # Tendillo 1997, Vet Surg: 7.6 ± 0.4
    ("agents.halothane.mac_horse_percent", 0.93, 0.93, 0.93),  # Steffey & Howland 1978: 0.93
    (
        "mac.reduction.lidocaine_sevoflurane.reduction_fraction",
        0.267,
        0.147,
        0.387,
    ),  # Rezende 2011: 26.7 ± 12 %
    (
        "mac.reduction.xylazine_high_isoflurane.reduction_fraction",
        0.342,
        0.323,
        0.361,
    ),  # Steffey 2000: 34.2 ± 1.9
    ("circle.volume_40l_bag_l", 49.26, 48.68, 49.84),  # Solano 2005: 49.26 ± 0.58 (SEM)
    ("circle.volume_20l_bag_l", 32.97, 32.06, 33.88),  # Solano 2005: 32.97 ± 0.91 (SEM)
    (
        "mechanics.compliance.horse_dorsal_conventional_ml_cmh2o_kg",
        0.64,
        0.52,
        0.76,
    ),  # 0.64 ± 0.12, as printed
    ("mechanics.closing_pressure.conventional_cmh2o", 11.0, 9.5, 12.5),  # Brandly 2023: 11.0 ± 1.5
    ("exchange.alveolar_dead_space_fraction", 0.23, 0.10, 0.36),  # Moens 1989, Equine Vet J: 23 ± 13 %
    ("species.horse.p50_mmhg", 23.8, 23.0, 24.6),  # Clerbaux 1993: 23.8 ± 0.8
    ("species.cattle.p50_mmhg", 25.0, 23.6, 26.4),  # Clerbaux 1993: 25.0 ± 1.4
    ("species.horse.paco2_awake_mmhg", 45.0, 36.3, 54.0),  # Hughes & Bardell 2019: 36.3 to 54.0
    ("breathing.apnoea.paco2_rise_mmhg_min", 5.5, 5.5, 5.5),  # Blaze & Robinson 1987: 5.5
    ("cylinders.uk_f.content_l", 1360.0, 1360.0, 1360.0),  # Emerg Med J note: F 1360 L at 13 700 kPa
    ("limits.leak.tubes_astm_f1205_ml_min", 75.0, 75.0, 75.0),  # ASTM F1205-88 clause 7: 75 mL/min at 3 kPa
    ("practice.test_lung.peak_pressure_cmh2o", 10.0, 10.0, 10.0),  # common practice
]


@pytest.mark.parametrize(("name", "printed", "low", "high"), PRINTED)
def test_as_printed(name: str, printed: float, low: float, high: float) -> None:
    figure = reference.figure(name)
    assert (figure.value, figure.low, figure.high) == pytest.approx((printed, low, high), abs=1e-9)


@pytest.mark.parametrize("agent", AGENTS)
def test_vapour_yield_is_that_of_an_ideal_gas(agent: str) -> None:
    """Closed form: mL of vapour from a mL of liquid = molar volume x density / molar mass."""
    ideal = (
        MOLAR_VOLUME_ML_MOL
        * value(f"agents.{agent}.density_g_ml")
        / value(f"agents.{agent}.molar_mass_g_mol")
    )
    assert value(f"agents.{agent}.vapour_yield_ideal_20c_ml_ml") == pytest.approx(ideal, rel=0.001)
    assert value(f"agents.{agent}.vapour_yield_ideal_37c_ml_ml") == pytest.approx(
        ideal * 310.15 / 293.15, rel=0.003
    )
    assert value(f"agents.{agent}.vapour_yield_ml_ml") == pytest.approx(ideal, rel=0.01)
    assert value(f"agents.{agent}.consumption_factor_number") == pytest.approx(600.0 / ideal, rel=0.003)


@pytest.mark.parametrize("agent", AGENTS)
def test_carbon_follows_from_density_and_warming_potential(agent: str) -> None:
    """Closed form: kg CO2 equivalent for each mL = density x GWP100 / 1000."""
    grams = value(f"agents.{agent}.density_g_ml") * value(f"agents.{agent}.gwp100_ar6_ratio")
    assert value(f"agents.{agent}.carbon_dioxide_equivalent_kg_ml") == pytest.approx(
        grams / 1000.0, rel=0.005
    )


PRESSURES = [
    # label pressures; equation good to 0.8 % (isoflurane), 0.1 mmHg (sevoflurane), 0.6 % (halothane)
    ("isoflurane", 20.0, 238.0, 0.008),
    ("isoflurane", 25.0, 295.0, 0.008),
    ("isoflurane", 30.0, 367.0, 0.008),
    ("isoflurane", 35.0, 450.0, 0.008),
    ("sevoflurane", 20.0, 157.0, 0.001),
    ("sevoflurane", 25.0, 197.0, 0.001),
    ("sevoflurane", 36.0, 317.0, 0.001),
    ("halothane", 20.0, 243.5, 0.006),
    ("halothane", 25.0, 298.2, 0.001),
    ("halothane", 30.0, 364.2, 0.001),
    # a two-point fit from memory, not verified: label 669 and 760 mmHg
    ("desflurane", 20.0, 669.0, 0.012),
    ("desflurane", 22.8, 760.0, 0.012),
]


@pytest.mark.parametrize(("agent", "temperature_c", "label_mmhg", "tolerance"), PRESSURES)
def test_vapour_pressure_coefficients(
    agent: str, temperature_c: float, label_mmhg: float, tolerance: float
) -> None:
    a, b, c = (value(f"agents.{agent}.antoine_{letter}") for letter in ("a_number", "b_k", "c_k"))
    assert 10.0 ** (a - b / (temperature_c + c)) == pytest.approx(label_mmhg, rel=tolerance)


def test_the_rival_isoflurane_equation_agrees_at_20_degrees() -> None:
    """Landolt-Börnstein form gives 238.0 mmHg at 20 °C, computed with an independent library."""
    stem = "agents.isoflurane.antoine_landolt_boernstein"
    a, b, c = (value(f"{stem}_{letter}") for letter in ("a_number", "b_k", "c_k"))
    assert 10.0 ** (a - b / (20.0 + c)) == pytest.approx(238.0, rel=0.001)


@pytest.mark.parametrize(
    ("gauge_bar", "content_l_l"),
    [
        (50, 51.1),
        (100, 104.9),
        (137, 145.25),
        (150, 159.3),
        (200, 211.9),
        (230, 241.5),
        (250, 260.4),
        (300, 303.8),
    ],
)
def test_compressibility_polynomial_gives_the_contents(gauge_bar: float, content_l_l: float) -> None:
    """Contents by CoolProp 8.0.0 for each litre of water at 15 °C; real-gas law with the polynomial."""

    def compressibility(bar: float) -> float:
        return sum(value(f"cylinders.oxygen.compressibility_{n}_number") * bar**n for n in range(5))

    full, empty = gauge_bar + 1.01325, 1.01325
    litres = (full / compressibility(full) - empty / compressibility(empty)) * 0.9993 / 1.01325
    assert litres == pytest.approx(content_l_l, rel=0.001)
    assert value(f"cylinders.oxygen.content_{gauge_bar}bar_l_l") == pytest.approx(content_l_l, rel=0.001)


@pytest.mark.parametrize("size", ["c", "d", "cd", "e", "f", "g", "j", "hx", "zx"])
def test_real_gas_content_follows_from_the_water_capacity(size: str) -> None:
    """Water litres x content for each water litre at the filling pressure; rounded capacities, so 0.5 %."""
    table = f"cylinders.uk_{size}"
    each = value(f"cylinders.oxygen.content_{value(f'{table}.fill_bar'):g}bar_l_l")
    assert value(f"{table}.content_real_gas_l") == pytest.approx(value(f"{table}.water_l") * each, rel=0.005)


@pytest.mark.parametrize("water_l", [10, 20, 40, 50])
@pytest.mark.parametrize("gauge_bar", [150, 200, 300])
def test_metric_contents(water_l: int, gauge_bar: int) -> None:
    each = value(f"cylinders.oxygen.content_{gauge_bar}bar_l_l")
    printed = value(f"cylinders.metric_{water_l}l.content_{gauge_bar}bar_l")
    assert printed == pytest.approx(water_l * each, rel=0.001)


@pytest.mark.parametrize(
    ("size", "contents_l"), [("d", 352), ("e", 616), ("m", 3432), ("g", 5302), ("h", 6908)]
)
def test_us_factors(size: str, contents_l: float) -> None:
    """Litres for each psi x 2200 psi, as tabulated; arithmetic."""
    assert value(f"cylinders.us_{size}.factor_l_psi") * 2200.0 == pytest.approx(contents_l, rel=0.001)


TUBE_DIAMETERS_MM = (10, 12, 14, 16, 18, 20, 22, 24, 26, 30)


@pytest.mark.parametrize("diameter_mm", TUBE_DIAMETERS_MM)
def test_tube_volume_is_that_of_a_cylinder(diameter_mm: int) -> None:
    length_cm = value(f"tubes.size.id_{diameter_mm}mm.length_cm")
    volume_ml = math.pi / 4.0 * (diameter_mm / 10.0) ** 2 * length_cm
    assert value(f"tubes.size.id_{diameter_mm}mm.volume_ml") == pytest.approx(volume_ml, abs=0.6)


@pytest.mark.parametrize("diameter_mm", TUBE_DIAMETERS_MM)
def test_tube_coefficients_follow_blasius(diameter_mm: int) -> None:
    """Blasius friction f = 0.3164 Re^-0.25 and 1.5 dynamic heads (Jarreau 1999), at 2 L/s.

    The coefficients are a least-squares fit over a range of flows and rounded: 6 % at one flow.
    """
    tube = f"tubes.size.id_{diameter_mm}mm"
    fitted_cmh2o = value(f"{tube}.k1_cmh2o_s_l") * 2.0 + value(f"{tube}.k2_cmh2o_s2_l2") * 4.0
    length_m = value(f"{tube}.length_cm") / 100.0
    assert fitted_cmh2o == pytest.approx(_blasius_cmh2o(diameter_mm / 1000.0, length_m, 0.002), rel=0.06)


def _blasius_cmh2o(diameter_m: float, length_m: float, flow_m3_s: float) -> float:
    density, viscosity = (
        value("tubes.method.oxygen_density_kg_m3"),
        value("tubes.method.oxygen_viscosity_pa_s"),
    )
    speed_m_s = flow_m3_s / (math.pi / 4.0 * diameter_m**2)
    reynolds = density * speed_m_s * diameter_m / viscosity
    exponent = value("tubes.method.blasius_exponent_number")
    friction = value("tubes.method.blasius_coefficient_number") * math.pow(reynolds, exponent)
    head_pa = density * speed_m_s**2 / 2.0
    return (
        head_pa
        * (friction * length_m / diameter_m + value("tubes.method.dynamic_heads_number"))
        / PA_PER_CMH2O
    )


@pytest.mark.parametrize("height_m", [1000, 2000, 3000, 5000])
def test_standard_atmosphere(height_m: int) -> None:
    """US Standard Atmosphere 1976: p = p0 (1 - L h / T0)^5.25588."""
    sea_level, lapse, temperature, exponent = (
        value(f"atmosphere.{name}")
        for name in ("sea_level_kpa", "lapse_k_m", "sea_level_temperature_k", "exponent_number")
    )
    expected_kpa = sea_level * (1.0 - lapse * height_m / temperature) ** exponent
    assert value(f"atmosphere.pressure_{height_m}m_kpa") == pytest.approx(expected_kpa, abs=0.01)


def test_circle_bag_and_rest_come_from_the_two_measured_circles() -> None:
    """Arithmetic on Solano 2005: (49.26 - 32.97) / 20 L of nominal bag."""
    small, large = value("circle.volume_20l_bag_l"), value("circle.volume_40l_bag_l")
    assert value("circle.bag_gas_fraction") == pytest.approx((large - small) / 20.0, abs=0.005)
    assert value("circle.volume_without_bag_l") == pytest.approx(2.0 * small - large, abs=0.05)


@pytest.mark.parametrize(("flow_l_min", "measured_min"), [(3, 18.1), (6, 9.2), (10, 5.4)])
def test_mixing_number_reproduces_the_measured_time_constants(flow_l_min: float, measured_min: float) -> None:
    """Bukoski 2012: measured time constants over 49.26 L / flow; within 2 %."""
    mixed_min = value("circle.mixing_number") * value("circle.volume_40l_bag_l") / flow_l_min
    assert mixed_min == pytest.approx(measured_min, rel=0.02)


def test_absorbent_capacity_is_what_the_trial_needed() -> None:
    """Jørgensen 1977: 600 g at 300 mL/min lasted at least 4 h."""
    litres = value("absorbents.capacity_l_100g") * value("absorbents.trial_mass_g") / 100.0
    hours = litres * 1000.0 / value("absorbents.trial_carbon_dioxide_ml_min") / 60.0
    assert hours == pytest.approx(value("absorbents.trial_duration_h"))


@pytest.mark.parametrize("agent", AGENTS)
def test_milligrams_for_each_ppm(agent: str) -> None:
    """Closed form: molar mass / molar volume at 20 °C."""
    expected = value(f"agents.{agent}.molar_mass_g_mol") / (MOLAR_VOLUME_ML_MOL / 1000.0)
    assert value(f"limits.waste.{agent}_per_ppm_mg_m3") == pytest.approx(expected, abs=0.006)


@pytest.mark.parametrize(
    ("weight_kg", "resistance_cmh2o_s_l"), [(50, 1.6), (140, 0.77), (300, 0.45), (500, 0.31), (650, 0.26)]
)
def test_resistance_allometry(weight_kg: float, resistance_cmh2o_s_l: float) -> None:
    """Stahl 1967 (coefficients from memory), worked values 24.4 x kg^-0.70."""
    coefficient = value("allometry.resistance.coefficient_cmh2o_s_l")
    expected = coefficient * weight_kg ** value("allometry.resistance.exponent_number")
    assert expected == pytest.approx(resistance_cmh2o_s_l, abs=0.04)


def test_gas_volume_factors() -> None:
    """Closed forms at 760 mmHg: (310.15/T) x 760/713."""
    assert value("constants.room_to_body_gas_ratio") == pytest.approx(
        310.15 / 293.15 * 760.0 / 713.0, abs=5e-4
    )
    assert value("constants.standard_to_body_gas_ratio") == pytest.approx(
        310.15 / 273.15 * 760.0 / 713.0, abs=1e-4
    )


def test_tissue_flows_add_up_to_the_cardiac_output() -> None:
    groups = ("vessel_rich", "muscle", "fat", "vessel_poor")
    assert sum(value(f"tissues.horse.{group}_flow_fraction") for group in groups) == pytest.approx(1.0)


def test_fat_law_passes_through_both_ends() -> None:
    """Dugdale 2011: 1 % at a condition score of 1.25, 26 % at 7; exponential."""
    lowest, highest = (
        value(f"tissues.pony.fat_at_{end}_condition_fraction") for end in ("lowest", "highest")
    )
    grown = lowest * math.exp(value("tissues.pony.fat_condition_rate_number") * (7.0 - 1.25))
    assert grown == pytest.approx(highest, rel=0.01)


def test_the_default_horse_agrees_with_the_practice_it_came_from() -> None:
    """Common practice: a 500 kg horse at about 5 L, 8 breaths a minute over 2 s."""
    assert value("defaults.horse.tidal_volume_ml_kg") * 500.0 / 1000.0 == value(
        "practice.horse_500kg.tidal_volume_l"
    )
    assert value("defaults.horse.respiratory_rate_per_min") == value(
        "practice.horse_500kg.respiratory_rate_per_min"
    )
    assert value("defaults.horse.inspiratory_time_s") == value("practice.horse_500kg.inspiratory_time_s")
    peak = reference.figure("practice.horse_500kg.peak_pressure_cmh2o").high
    assert value("defaults.horse.pressure_limit_cmh2o") == peak + value(
        "practice.pressure_limit_margin_cmh2o"
    )
