"""Oxygen supplies against printed contents, worked endurances and an independent equation of state."""

import pytest
from CoolProp.CoolProp import PropsSI

from lungeline.physics import oxygen_gas
from lungeline.physics.cylinders import (
    content_by_factor_l,
    content_by_proportion_l,
    cylinder_content_l,
    endurance_min,
    endurance_whole_min,
    gas_from_liquid_oxygen_l,
    gauge_at_15c_bar,
    gauge_at_temperature_bar,
)
from lungeline.physics.oxygen_gas import oxygen_compressibility_ratio, oxygen_density_kg_m3
from lungeline.reference import figure

PRESSURES_BAR = [
    5.0,
    10.0,
    20.0,
    35.0,
    50.0,
    75.0,
    100.0,
    138.0,
    151.0,
    175.0,
    201.0,
    231.0,
    251.0,
    275.0,
    300.0,
]


def published_density(pressure_bar: float, temperature_c: float) -> float:
    """Return the density by the equation of state of Schmidt & Wagner 1985, in CoolProp 8.0.0."""
    return float(PropsSI("D", "P", pressure_bar * 1e5, "T", temperature_c + 273.15, "Oxygen"))


# --- the real gas ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("temperature_c", [-20.0, 0.0, 15.0, 20.0, 25.0, 40.0, 50.0])
@pytest.mark.parametrize("pressure_bar", PRESSURES_BAR)
def test_density_of_oxygen(pressure_bar: float, temperature_c: float) -> None:
    ours = oxygen_density_kg_m3(pressure_bar, temperature_c)
    assert ours == pytest.approx(published_density(pressure_bar, temperature_c), rel=0.001)


# CoolProp 8.0.0, at 15 °C; the fit says 5e-5
@pytest.mark.parametrize("pressure_bar", PRESSURES_BAR)
def test_compressibility(pressure_bar: float) -> None:
    published = float(PropsSI("Z", "P", pressure_bar * 1e5, "T", 288.15, "Oxygen"))
    assert oxygen_compressibility_ratio(pressure_bar) == pytest.approx(published, abs=1e-4)


# Z at 15 °C by gauge pressure, computed once apart from this code and printed to three decimals
@pytest.mark.parametrize(
    ("gauge_bar", "printed"),
    [
        (50.0, 0.965),
        (100.0, 0.941),
        (137.0, 0.931),
        (150.0, 0.929),
        (200.0, 0.931),
        (230.0, 0.939),
        (300.0, 0.974),
    ],
)
def test_compressibility_of_the_table(gauge_bar: float, printed: float) -> None:
    assert oxygen_compressibility_ratio(gauge_bar + 1.01325) == pytest.approx(printed, abs=6e-4)


def test_constants_are_the_figures() -> None:
    kept = [figure(f"cylinders.oxygen.compressibility_{power}_number").value for power in range(5)]
    assert kept == [getattr(oxygen_gas, f"COMPRESSIBILITY_{power}_NUMBER") for power in range(5)]


# --- contents -------------------------------------------------------------------------------------------


# G8: per litre of water capacity, 15 °C and 1 atm, from CoolProp 8.0.0; and over p × V
@pytest.mark.parametrize(
    ("gauge_bar", "expected", "over_ideal"),
    [(137.0, 145.24, 1.0742), (200.0, 211.85, 1.0733), (300.0, 303.83, 1.0262)],
)
def test_content_of_a_litre(gauge_bar: float, expected: float, over_ideal: float) -> None:
    content = cylinder_content_l(1.0, gauge_bar, 15.0, 760.0)
    assert content == pytest.approx(expected, rel=2e-4)
    assert content / (gauge_bar / 1.01325) == pytest.approx(over_ideal, rel=2e-4)


@pytest.mark.parametrize("gauge_bar", [50, 100, 137, 150, 200, 230, 250, 300])
def test_contents_kept_as_figures(gauge_bar: int) -> None:
    kept = figure(f"cylinders.oxygen.content_{gauge_bar}bar_l_l").value
    assert cylinder_content_l(1.0, float(gauge_bar), 15.0, 760.0) == pytest.approx(kept, abs=0.06)


# G8: printed contents 340 and 1360 L at 13 700 kPa (Emerg Med J note, abstract); water volumes from memory
@pytest.mark.parametrize("size", ["d", "f"])
def test_printed_contents_are_those_of_a_real_gas(size: str) -> None:
    kept = {
        name: figure(f"cylinders.uk_{size}.{name}").value for name in ("water_l", "fill_bar", "content_l")
    }
    content = cylinder_content_l(kept["water_l"], kept["fill_bar"], 15.0, 760.0)
    assert content == pytest.approx(kept["content_l"], rel=0.01)
    # an ideal gas would miss by more than 6 %
    assert kept["water_l"] * kept["fill_bar"] / 1.01325 < 0.94 * kept["content_l"]


@pytest.mark.parametrize("size", ["c", "d", "cd", "e", "f", "g", "j", "hx", "zx"])
def test_real_contents_kept_as_figures(size: str) -> None:
    kept = {name: figure(f"cylinders.uk_{size}.{name}").value for name in ("water_l", "fill_bar")}
    content = cylinder_content_l(kept["water_l"], kept["fill_bar"], 15.0, 760.0)
    assert content == pytest.approx(figure(f"cylinders.uk_{size}.content_real_gas_l").value, abs=0.9)


def test_liquid_oxygen() -> None:
    # G8: 842.6 L from a litre at its boiling point (CoolProp 8.0.0); a text has 840 (second-hand)
    assert gas_from_liquid_oxygen_l(1.0) == pytest.approx(842.6, abs=0.2)
    boiling = float(PropsSI("D", "P", 101325.0, "Q", 0.0, "Oxygen"))
    assert gas_from_liquid_oxygen_l(1.0) == pytest.approx(
        boiling / published_density(1.01325, 15.0), rel=2e-4
    )
    assert gas_from_liquid_oxygen_l(1.0) == pytest.approx(
        figure("cylinders.liquid.gas_15c_l_l").value, abs=0.6
    )


# --- temperature ----------------------------------------------------------------------------------------


# computed once apart from this code (CoolProp 8.0.0): a cylinder filled at 15 °C reads
@pytest.mark.parametrize(
    ("gauge_15c_bar", "temperature_c", "expected"),
    [
        (200.0, 0.0, 183.5),
        (200.0, 20.0, 205.5),
        (200.0, 30.0, 216.4),
        (137.0, 0.0, 126.9),
        (137.0, 20.0, 140.4),
        (137.0, 30.0, 147.1),
    ],
)
def test_gauge_at_another_temperature(gauge_15c_bar: float, temperature_c: float, expected: float) -> None:
    assert gauge_at_temperature_bar(gauge_15c_bar, temperature_c) == pytest.approx(expected, abs=0.06)
    assert gauge_at_15c_bar(expected, temperature_c) == pytest.approx(gauge_15c_bar, abs=0.06)


@pytest.mark.parametrize("temperature_c", [0.0, 30.0])
def test_content_does_not_change_with_the_weather(temperature_c: float) -> None:
    # what is left at ambient pressure does, by 5 % of one part in 200
    warm = cylinder_content_l(50.0, gauge_at_temperature_bar(200.0, temperature_c), temperature_c, 760.0)
    assert warm == pytest.approx(cylinder_content_l(50.0, 200.0, 15.0, 760.0), rel=5e-4)


# Content in proportion to the gauge: true fraction left at half and at quarter gauge (CoolProp 8.0.0)
@pytest.mark.parametrize(
    ("full_bar", "at_half", "at_quarter"),
    [(137.0, 0.487, 0.239), (200.0, 0.495, 0.241), (300.0, 0.524, 0.256)],
)
def test_how_far_proportion_errs(full_bar: float, at_half: float, at_quarter: float) -> None:
    full = cylinder_content_l(1.0, full_bar, 15.0, 760.0)
    for share, true_share in ((0.5, at_half), (0.25, at_quarter)):
        true_content = cylinder_content_l(1.0, share * full_bar, 15.0, 760.0)
        assert true_content / full == pytest.approx(true_share, abs=6e-4)
        assert content_by_proportion_l(share * full_bar, full_bar, full) == pytest.approx(
            true_content, rel=0.05
        )


# --- endurance ------------------------------------------------------------------------------------------


# E1, E3, E5, E6 and G7 b to f: worked examples on public pages, and arithmetic
@pytest.mark.parametrize(
    ("gauge_psi", "residual_psi", "factor_l_psi", "use_l_min", "expected_min"),
    [
        (2200.0, 0.0, 0.28, 2.0, 308.0),  # E1, G7 b: size E
        (1100.0, 0.0, 3.0, 5.0, 660.0),  # E2, G7 c: size H by the rounded factor
        (1200.0, 200.0, 0.28, 4.0, 70.0),  # E3, G7 d: 280 L
        (500.0, 0.0, 1.56, 6.0, 130.0),  # G7 e: size M
        (2000.0, 200.0, 0.16, 0.5, 576.0),  # E5, G7 f: size D, 288 L
    ],
)
def test_endurance_by_factor(
    gauge_psi: float, residual_psi: float, factor_l_psi: float, use_l_min: float, expected_min: float
) -> None:
    content = content_by_factor_l(gauge_psi, residual_psi, factor_l_psi)
    assert endurance_whole_min(content, 0.0, use_l_min) == expected_min


def test_rounded_factor_of_the_large_cylinder() -> None:
    # E2: 3.14 in place of 3 gives 690.8 min (same page)
    factor = figure("cylinders.us_h.factor_l_psi").value
    assert endurance_min(content_by_factor_l(1100.0, 0.0, factor), 0.0, 5.0) == pytest.approx(690.8, abs=0.05)


def test_contents_in_between() -> None:
    # E3: 280 L; E5: 288 L (same pages)
    assert content_by_factor_l(1200.0, 200.0, 0.28) == pytest.approx(280.0, rel=1e-12)
    assert content_by_factor_l(2000.0, 200.0, 0.16) == pytest.approx(288.0, rel=1e-12)


def test_endurance_by_proportion_is_rounded_down() -> None:
    # E4, G7 a: 660 L at 1900 psi; 500 psi, 6 L/min: 28.95, printed 28 min (Nagelhout, second-hand)
    psi_per_bar = 14.503773773
    content = content_by_proportion_l(500.0 / psi_per_bar, 1900.0 / psi_per_bar, 660.0)
    assert endurance_min(content, 0.0, 6.0) == pytest.approx(28.95, abs=0.05)
    assert endurance_whole_min(content, 0.0, 6.0) == 28.0


def test_endurance_of_a_large_cylinder_for_a_horse() -> None:
    # E6: 6900 L (capacity seen), a tenth kept, 8 L/min -> 776 min (arithmetic)
    content = figure("cylinders.us_h.content_l").value
    assert endurance_min(content, 0.1 * content, 8.0) == pytest.approx(776.0, abs=1.0)
    assert endurance_whole_min(content, 0.1 * content, 8.0) == 776.0
