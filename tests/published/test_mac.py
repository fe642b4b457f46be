"""MAC against published reductions and laws."""

import pytest

from lungeline.physiology.mac import (
    agent_pressure_mmhg,
    combined_reduction_fraction,
    mac_at_pressure_percent,
    mac_at_temperature_percent,
    mac_multiple,
    mac_reduced_percent,
    nitrous_oxide_reduction_fraction,
)


def test_nitrous_oxide_is_additive_in_horses() -> None:
    # Steffey & Howland 1978 (abstract): halothane 0.93 %; 25 % N2O spares 12 % (0.82), 50 % spares 25 %
    # (0.70). Its own MAC follows from the second pair; the first pair then tests that the law is straight.
    nitrous_mac_fraction = 0.50 / 0.25
    at_25 = nitrous_oxide_reduction_fraction(0.25, nitrous_mac_fraction)
    assert at_25 == pytest.approx(0.12, abs=0.01)
    assert mac_reduced_percent(0.93, at_25) == pytest.approx(0.82, abs=0.01)
    at_50 = nitrous_oxide_reduction_fraction(0.50, nitrous_mac_fraction)
    assert mac_reduced_percent(0.93, at_50) == pytest.approx(0.70, abs=0.005)


def test_nitrous_oxide_in_calves() -> None:
    # Am J Vet Res 1979;40:372 (abstract): 0.76 to 0.59 % with 50 % N2O; the horse's law gives 25 % for 22 %
    reduced = mac_reduced_percent(0.76, nitrous_oxide_reduction_fraction(0.50, 2.0))
    assert reduced == pytest.approx(0.59, abs=0.03)  # printed SEM 0.03


def test_lidocaine_with_sevoflurane() -> None:
    # Rezende et al. 2011 (abstract): 2.42 to 1.78 %, mean of individuals -26.7 %
    assert mac_reduced_percent(2.42, 0.267) == pytest.approx(1.78, abs=0.01)


def test_drugs_together_spare_no_more_than_sixty_percent() -> None:
    # rule of this project (assumption); xylazine 34.2 %, lidocaine 26.7 %, ketamine 37 % (Steffey 2000 and
    # Rezende 2011 abstracts, Muir & Sams 1992 memory): 1 - .658 × .733 × .63 = .6961
    spared = combined_reduction_fraction(combined_reduction_fraction(0.342, 0.267), 0.37)
    assert spared == pytest.approx(0.6961, abs=0.0001)
    assert mac_reduced_percent(1.30, spared) == pytest.approx(1.30 * 0.40, rel=1e-12)


@pytest.mark.parametrize(("temperature_c", "printed_percent"), [(37.0, 1.69), (34.0, 1.47), (31.0, 1.22)])
def test_isoflurane_in_cooled_children(temperature_c: float, printed_percent: float) -> None:
    # Anesthesiology 2001;94:429 (abstract): 1.69, 1.47, 1.22 %, stated 5.1 % a degree. A straight line with
    # the stated slope misses the printed means by up to 4 %
    mac = mac_at_temperature_percent(1.69, 37.0, temperature_c, 0.051)
    assert mac == pytest.approx(printed_percent, rel=0.045)


def test_halothane_in_cooled_ferrets() -> None:
    # abstract: 1.01 % at 37 °C, 0.85 % at 29.9 °C, so 16 % over 7.1 °C; the slope of that, down to 30 °C
    mac = mac_at_temperature_percent(1.01, 37.0, 30.0, 0.16 / 7.1)
    assert mac == pytest.approx(0.85, abs=0.01)


# Factor for a percentage at altitude, standard atmosphere, computed once apart from this code
@pytest.mark.parametrize(
    ("pb_mmhg", "factor"), [(760.0, 1.00), (674.1, 1.13), (596.3, 1.28), (525.9, 1.45), (405.2, 1.88)]
)
def test_percentage_for_one_mac_at_altitude(pb_mmhg: float, factor: float) -> None:
    assert mac_at_pressure_percent(1.0, pb_mmhg) == pytest.approx(factor, abs=0.006)


def test_sevoflurane_at_five_thousand_metres() -> None:
    # second-hand: 2.0 % at 50.5 kPa is a partial pressure of 1 kPa (7.5 mmHg), as 1 % at sea level
    pressure = agent_pressure_mmhg(0.020, 50.5 / 0.133322)
    assert pressure == pytest.approx(7.5, rel=0.02)
    assert mac_multiple(pressure, 1.0) == pytest.approx(1.0, rel=0.01)


# Manohar et al. 1987 (abstract): ponies at 1.45, 1.96, 2.39 %, called 1.1, 1.5, 1.8 MAC of 1.32 %
@pytest.mark.parametrize(("end_tidal_percent", "multiple"), [(1.45, 1.1), (1.96, 1.5), (2.39, 1.8)])
def test_multiples_of_a_pony_study(end_tidal_percent: float, multiple: float) -> None:
    pressure = agent_pressure_mmhg(end_tidal_percent / 100.0, 760.0)
    assert mac_multiple(pressure, 1.32) == pytest.approx(multiple, abs=0.05)  # printed to one decimal
