"""Twenty classic slips, each caught with a message that names it, before anything is planned or beside it."""

import pytest

from lungeline.case import Profile, case_from_toml
from lungeline.errors import InputError
from lungeline.plan.animal.patient import patient
from lungeline.plan.slips import slips
from lungeline.plan.starting import starting
from lungeline.words import say

HORSE = '[animal]\nspecies = "horse"\nweight_kg = 500\n'
REFUSED = {
    "millilitre for litre": (HORSE + "[settings]\ntidal_volume_l = 5000", "mL"),
    "kilopascal for mmHg": (HORSE + "[place]\nbarometric_pressure_mmhg = 101.3", "kPa"),
    "per cent for fraction": (HORSE + "[settings]\nfresh_gas_oxygen_fraction = 95", "%"),
    "feet for metres": (HORSE + "[place]\naltitude_m = 7000", "ft"),
    "psi for bar": (HORSE + '[[cylinders]]\nsize = "us_h"\ngauge_bar = 2200', "psi"),
    "centimetre for millimetre": (HORSE + "[equipment]\ntube_internal_diameter_mm = 2.6", "2.6 cm"),
    "inches for centimetres": ('[animal]\nspecies = "horse"\ngirth_cm = 75\nlength_cm = 72', "inches"),
    "flow in millilitre": (HORSE + "[settings]\nfresh_gas_flow_l_min = 5000", "mL/min"),
    "flow a minute for a second": (HORSE + "[equipment]\nflow_ceiling_l_s = 600", "L/min"),
    "kilopascal for cmH2O, limit": (HORSE + "[settings]\npressure_limit_cmh2o = 3", "kPa"),
    "Fahrenheit for Celsius": (HORSE + "temperature_c = 99.5", "°F"),
    "minute volume for tidal volume": (HORSE + "[settings]\ntidal_volume_l = 40", "minute volume"),
    "decimal comma": (HORSE + '[settings]\ntidal_volume_l = "5,5"', "5.5"),
    "minutes for seconds": (HORSE + "[settings]\ninspiratory_time_s = 0.033", "0.033 min"),
    "rate a second": (HORSE + "[settings]\nrespiratory_rate_per_min = 0.13", "1/s"),
    "gram for kilogram": (HORSE + "[equipment]\nabsorbent_kg = 5000", "5000 g"),
    "limit below PEEP": (HORSE + "[settings]\npeep_cmh2o = 30\npressure_limit_cmh2o = 10", "above PEEP"),
}
NAMED = {
    "rate and volume swapped": (
        HORSE + "[settings]\ntidal_volume_l = 8\nrespiratory_rate_per_min = 5",
        "swapped",
    ),
    "per kilogram for the whole": (HORSE + "[settings]\ntidal_volume_l = 10", "per kilogram"),
    "I:E turned round": (
        HORSE + "[settings]\ninspiratory_time_s = 5\nrespiratory_rate_per_min = 8",
        "turned round",
    ),
    "fraction for per cent": (HORSE + "[settings]\nvaporiser_percent = 0.02", "fraction"),
    "litre for millilitre": (HORSE + "[equipment]\nleak_at_30_cmh2o_ml_min = 0.3", "litres"),
    "kilopascal for cmH2O, PEEP": (HORSE + "[settings]\npeep_cmh2o = 0.5", "kilopascal"),
    "milligram for microgram": (HORSE + "[settings]\ndobutamine_ug_kg_min = 0.001", "milligram"),
}


@pytest.mark.parametrize("slip", REFUSED)
def test_a_slip_that_cannot_be_is_refused_by_name(slip: str) -> None:
    text, named = REFUSED[slip]
    with pytest.raises(InputError) as caught:
        case_from_toml(text)
    assert named in str(caught.value)


@pytest.mark.parametrize("slip", NAMED)
def test_a_slip_that_could_be_meant_is_named(slip: str) -> None:
    text, named = NAMED[slip]
    case = case_from_toml(text)
    found = slips(case, starting(case, Profile()))
    assert len(found) == 1
    assert named in say(found[0]).says


def test_pounds_for_kilograms_is_named() -> None:
    case = case_from_toml('[animal]\nspecies = "horse"\nweight_kg = 1210')
    found = patient(case.animal, Profile()).weight.findings
    assert any("pounds" in say(each).says for each in found)


@pytest.mark.parametrize("species", ["horse", "pony", "foal", "cattle"])
def test_a_usual_case_holds_no_slip(species: str) -> None:
    weight_kg = {"horse": 500, "pony": 200, "foal": 50, "cattle": 600}[species]
    case = case_from_toml(f'[animal]\nspecies = "{species}"\nweight_kg = {weight_kg}')
    assert not slips(case, starting(case, Profile()))
