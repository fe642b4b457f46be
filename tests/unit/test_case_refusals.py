"""What a person is told when a case file is wrong: the place, what was given, what to write."""

import pytest

from lungeline.case import case_from_tables, case_from_toml
from lungeline.errors import (
    InputError,
    LungelineError,
    MissingError,
    OutOfRangeError,
    UnitError,
    UnknownNameError,
)

HORSE = '[animal]\nspecies = "horse"\nweight_kg = 500\n'
SETTINGS = HORSE + "[settings]\n"


def refusal(text: str) -> LungelineError:
    with pytest.raises(LungelineError) as caught:
        case_from_toml(text)
    return caught.value


# text after [settings], kind of error, what the message must say. Conversions are arithmetic.
WRONG_SETTINGS = [
    ("tidal_volume_ml = 5000", UnitError, "tidal_volume_l = 5: 5000 mL is 5 L"),
    ("tidal_volume_l = 5000", OutOfRangeError, "Did you write mL? 5000 mL is 5 L"),
    ("tidal_volume_ml_kg = 12", UnitError, "tidal_volume_l = 6: 12 mL/kg in 500 kg is 6 L"),
    ("fresh_gas_flow_ml_kg_min = 10", UnitError, "fresh_gas_flow_l_min = 5"),
    ("fresh_gas_flow_l_s = 0.1", UnitError, "fresh_gas_flow_l_min = 6"),
    ("tidal_volume = 5", UnitError, "Write tidal_volume_l: the key names its unit"),
    ("tidal_volume_ml = true", UnitError, "Write tidal_volume_l, not tidal_volume_ml"),
    ("fresh_gas_oxygen_percent = 95", UnitError, "fresh_gas_oxygen_fraction = 0.95: 95 % is 0.95"),
    ("fresh_gas_oxygen_fraction = 95", OutOfRangeError, "Did you write %? 95 % is 0.95"),
    ("pressure_limit_cmh2o = 3.5", OutOfRangeError, "Did you write kPa?"),
    ("peep_cmh2o = -2", OutOfRangeError, "a number from 0 to 50 cmH2O"),
    ("peep_cmh2o = true", InputError, "without quotes"),
    ("peep_cmh2o = nan", OutOfRangeError, "not a number"),
    ("peep_cmh2o = inf", OutOfRangeError, "endless"),
    (f"peep_cmh2o = 1{'0' * 400}", OutOfRangeError, "a number from 0 to 50 cmH2O"),
    ("peep_cmh2o = [5]", InputError, "a number from 0 to 50 cmH2O"),
    ("peep_cmh2o = 1979-05-27", InputError, "a number from 0 to 50 cmH2O"),
    ('tidal_volume_l = "5,5 L"', InputError, "Write tidal_volume_l = 5.5, without quotes"),
    ('tidal_volume_l = "5500 mL"', InputError, "Write tidal_volume_l = 5.5, without quotes"),
    ('tidal_volume_l = "five"', InputError, "a number, without quotes"),
    ('mode = "Volume"', UnknownNameError, 'Write mode = "volume"'),
    ('mode = "volum"', UnknownNameError, 'Did you mean "volume"?'),
    ("mode = 1", InputError, "one of the words, in quotes"),
    ('ventilator_on = "yes"', InputError, "true or false"),
    ("ventilator_on = 1", InputError, "true or false"),
    ("respiratory_rte_per_min = 8", UnknownNameError, 'Did you mean "respiratory_rate_per_min"?'),
    ("fio2 = 1.0", UnknownNameError, "Write fresh_gas_oxygen_fraction"),
    ("VT = 5", UnknownNameError, "Write tidal_volume_l"),
    ("weight_kg = 500", UnknownNameError, "Move weight_kg to [animal]"),
    ("volume_l = 10", UnknownNameError, 'Move volume_l to [[changes]] with manoeuvre = "deep breath"'),
]


@pytest.mark.parametrize(("line", "kind", "said"), WRONG_SETTINGS)
def test_a_wrong_setting_is_refused_with_advice(line: str, kind: type, said: str) -> None:
    error = refusal(SETTINGS + line)
    assert type(error) is kind
    assert error.where.startswith("settings")
    assert said in str(error)


WRONG_FILES = [
    ("", MissingError, "weight_kg = 500 is enough"),
    ("title = @", InputError, "line 1"),
    ("a = " + "[" * 5000, InputError, "TOML"),
    ("weight_kg = 500", UnknownNameError, "Move weight_kg to [animal]"),
    ("[animals]\n", UnknownNameError, 'Did you mean "animal"?'),
    ("animal = 5", InputError, "Write [animal] on a line of its own"),
    ('[animal]\nspecies = "horse"', MissingError, "weight_kg, or girth_cm and length_cm"),
    ("[animal]\nweight_kg = 500", MissingError, "Add species to animal"),
    ('[animal]\nspecies = "hors"\nweight_kg = 500', UnknownNameError, 'Did you mean "horse"?'),
    # 1100 lb × 0.45359237 kg/lb = 498.95 kg
    ('[animal]\nspecies = "horse"\nweight_lb = 1100', UnitError, "weight_kg = 499: 1100 lb is 499 kg"),
    ('[animal]\nspecies = "horse"\nweight_kg = 20', OutOfRangeError, 'species = "foal"'),
    ('[animal]\nspecies = "calf"\nweight_kg = 600', OutOfRangeError, 'species = "cattle"'),
    ('[animal]\nspecies = "foal"\nweight_kg = 90\nage_years = 3', OutOfRangeError, "pony or horse"),
    ('[animal]\nspecies = "foal"\nweight_kg = 90\ncondition = "pregnant"', InputError, "healthy or colic"),
    (HORSE + "[animal.extra]\n", UnknownNameError, "animal"),
    (HORSE + 'breed = "pony"', UnknownNameError, "Write species"),
    ("title = 5\n" + HORSE, InputError, "text, in quotes"),
    ('title = "two\\nlines"\n' + HORSE, InputError, "one line"),
    (f'title = "{"x" * 300}"\n' + HORSE, InputError, "at most 200 characters"),
    # 5000 ft × 0.3048 m/ft = 1524 m
    (HORSE + "[place]\naltitude_ft = 5000", UnitError, "altitude_m = 1524"),
    # (100 + 459.67) × 5/9 - 273.15 = 37.78 °C
    ('[animal]\nspecies = "horse"\nweight_kg = 500\ntemperature_f = 100', UnitError, "temperature_c = 37.78"),
    (HORSE + "temperature_c = 100", OutOfRangeError, "Did you write °F?"),
    (HORSE + "[changes]\nat_min = 5", InputError, "[[changes]] in double brackets"),
    (HORSE + "[[change]]\nat_min = 5", UnknownNameError, 'Did you mean "changes"?'),
    (HORSE + "[[changes]]\nat_min = 5", InputError, "Name a setting or a manoeuvre"),
    (HORSE + "[[changes]]\npeep_cmh2o = 5", MissingError, "changes[1].at_min"),
    (HORSE + "[[changes]]\nat_s = 300\npeep_cmh2o = 5", UnitError, "at_min = 5: 300 s is 5 min"),
    (HORSE + '[[changes]]\nat_min = 5\nmanoeuvre = "deep breth"', UnknownNameError, '"deep breath"'),
    (HORSE + "[[changes]]\nat_min = 5\nmanoeuvre = 3", InputError, "one of the words"),
    (HORSE + '[[changes]]\nat_min = 5\nmanoeuvre = "deep breath"', MissingError, "changes[1].volume_l"),
    (
        HORSE + '[[changes]]\nat_min = 5\nmanoeuvre = "deep breath"\nvolume_l = 9\npeep_cmh2o = 5',
        UnknownNameError,
        "Move peep_cmh2o to a [[changes]] of its own",
    ),
    (
        HORSE + '[[changes]]\nat_min = 5\nmanoeuvre = "recruitment"\npressures_cmh2o = 60',
        InputError,
        "numbers in brackets",
    ),
    (
        HORSE + '[[changes]]\nat_min = 5\nmanoeuvre = "recruitment"\npressures_cmh2o = [60, 300]',
        OutOfRangeError,
        "pressures_cmh2o[2]",
    ),
    (HORSE + "[[changes]]\nat_min = 5\npeep_cmh2o = 500", OutOfRangeError, "changes[1].peep_cmh2o"),
    (HORSE + "[[faults]]\nat_min = 5", MissingError, "faults[1].code"),
    (HORSE + '[[faults]]\ncode = " "\nat_min = 5', InputError, "Name the fault"),
    (HORSE + "[[faults]]\ncode = 3\nat_min = 5", InputError, "text, in quotes"),
    (HORSE + '[[faults]]\ncode = "x"\nat_min = 5\nseverity_percent = 50', UnitError, "severity = 0.5"),
    (HORSE + '[[faults]]\ncode = "x"\nat_min = 5\nuntil_min = 5', OutOfRangeError, "after at_min = 5"),
]


@pytest.mark.parametrize(("text", "kind", "said"), WRONG_FILES)
def test_a_wrong_file_is_refused_with_advice(text: str, kind: type, said: str) -> None:
    error = refusal(text)
    assert type(error) is kind
    assert said in str(error)


# What cannot be together, though each value alone is possible.
CONTRADICTIONS = [
    ("inspiratory_time_s = 4\nrespiratory_rate_per_min = 15", "shorter than one breath of 4 s"),
    ("pause_s = 6", "inspiratory_time_s = 2 (rule of thumb), pause_s = 6"),
    ("peep_cmh2o = 40", "a limit above PEEP"),
    ('mode = "pressure"\ninspiratory_pressure_cmh2o = 40', "Raise the pressure limit to 45 or more"),
    ('mode = "assisted"\ntrigger_flow_l_min = 0', "above 0 L/min in mode assisted"),
    ("tidal_volume_l = 6\nspare_volume_l = 15", "Write spare_volume_l = 14 or less"),
    ("tidal_volume_l = 25", "0.5 to 20 L for an animal of 500 kg"),
    ("vaporiser_percent = 8", "0 to 6 %, the usual dial for isoflurane"),
]


@pytest.mark.parametrize(("lines", "said"), CONTRADICTIONS)
def test_settings_that_contradict_each_other_are_refused(lines: str, said: str) -> None:
    error = refusal(SETTINGS + lines)
    assert error.where.startswith("settings.")
    assert said in str(error)


def test_a_breath_larger_than_the_reservoir_is_refused() -> None:
    error = refusal(HORSE + "[equipment]\nreservoir_capacity_l = 4\n")
    assert error.where == "settings.tidal_volume_l"
    assert "Use a larger reservoir" in str(error)


def test_in_spontaneous_mode_the_breath_of_the_machine_is_nobodys_concern() -> None:
    case_from_toml(SETTINGS + 'mode = "spontaneous"\ninspiratory_time_s = 15')


def test_more_gas_than_the_reservoir_holds_is_refused() -> None:
    assert "reservoir_capacity_l" in str(refusal(HORSE + "[start]\nreservoir_content_l = 25"))


def test_more_than_all_of_the_gas_is_refused() -> None:
    text = HORSE + "[start]\ncircle_oxygen_fraction = 0.98\ncircle_agent_percent = 3"
    assert "together not above 1" in str(refusal(text))


def test_hoses_larger_than_their_circle_are_refused() -> None:
    assert "circle_volume_l above 16" in str(
        refusal(HORSE + "[equipment]\ncircle_volume_l = 12\nhose_volume_l = 8")
    )


def test_text_that_cannot_be_written_is_refused() -> None:
    with pytest.raises(InputError):
        case_from_tables({"title": "\ud800", "animal": {"species": "horse", "weight_kg": 500}})


def test_a_refusal_has_one_json_form() -> None:
    error = refusal(SETTINGS + "tidal_volume_ml = 5000").as_json()["error"]
    assert error["code"] == "unit"
    assert error["where"] == "settings"
    assert error["given"] == "tidal_volume_ml"
