"""The table a practitioner reads."""

import math

import pytest

from lungeline.case import Animal, Breath, Case, Change, DeepBreath, FaultEvent, Recruitment, Settings
from lungeline.cli import table

HORSE = Animal(species="horse", weight_kg=500)


def breaths(*starts_min: float) -> list[Breath]:
    return [
        Breath(time_s=start * 60, respiratory_rate_per_min=8, peak_pressure_cmh2o=20 + start)
        for start in starts_min
    ]


def rows(lines: list[str]) -> list[list[str]]:
    return [line.split() for line in lines[2:]]


def test_a_row_shows_the_last_breath_that_ended_before_its_mark() -> None:
    # breaths of half a minute: at 1 min the one begun at 0.5, at 2 min the one begun at 1.5
    shown = rows(table.breath_lines(breaths(0, 0.5, 1, 1.5, 2), Case(animal=HORSE), 1, 2.2))
    assert [row[:2] for row in shown] == [["0", "20"], ["1", "20"], ["2", "22"], ["2.2", "22"]]
    assert shown[1][6] == "8.0"


def test_a_stretch_without_a_breath_is_shown_as_such() -> None:
    shown = rows(table.breath_lines(breaths(0, 0.5, 3), Case(animal=HORSE), 1, 4))
    assert [row[1] for row in shown] == ["20", "20", "–", "20", "23"]


def test_without_any_breath_there_are_still_marks() -> None:
    shown = rows(table.breath_lines([], Case(animal=HORSE), 5, 10))
    assert [row[:2] for row in shown] == [["5", "–"], ["10", "–"]]


def test_marks_do_not_suffer_from_rounding() -> None:
    # in floating point 0.3 / 0.1 is a little below 3, and 0.7 / 0.1 a little above 7 or below
    assert len(rows(table.breath_lines([], Case(animal=HORSE), 0.1, 0.3))) == 3
    assert len(rows(table.breath_lines([], Case(animal=HORSE), 0.1, 0.7))) == 7


def test_the_columns_stand_under_their_headings_and_name_their_units() -> None:
    lines = table.breath_lines(breaths(0, 1), Case(animal=HORSE), 1, 2)
    assert len({len(line) for line in lines}) == 1
    assert lines[0].split()[:4] == ["min", "Ppeak", "Pplat", "PEEP"]
    assert lines[1].split()[:3] == ["cmH2O", "cmH2O", "cmH2O"]


@pytest.mark.parametrize(
    ("key", "value", "text"),
    [
        ("fio2_fraction", 0.954, "95"),  # arithmetic: in per cent
        ("end_tidal_agent_fraction", 0.0131, "1.31"),
        ("end_expiratory_pressure_cmh2o", -0.01, "0.0"),
        ("paco2_mmhg", None, "–"),
        ("paco2_mmhg", math.nan, "–"),
    ],
)
def test_values_are_shown_in_the_unit_of_their_column(key: str, value: float | None, text: str) -> None:
    column = next(column for column in table.COLUMNS if column.key == key)
    assert column.text(value) == text


def test_what_is_done_stands_between_the_rows() -> None:
    case = Case(
        animal=HORSE,
        changes=(
            Change(at_min=1, settings={"peep_cmh2o": 8, "slowed_expiration": True}),
            Change(at_min=1.5, manoeuvre=DeepBreath(volume_l=9)),
            Change(at_min=1.6, manoeuvre=Recruitment(pressures_cmh2o=(40, 50))),
            Change(at_min=9, settings={"peep_cmh2o": 5}),
        ),
        faults=(FaultEvent(code="circuit_leak", at_min=0.5, severity_fraction=0.3, until_min=1.7),),
    )
    lines = [line.strip() for line in table.breath_lines(breaths(0, 1), case, 1, 2) if ">" in line]
    assert lines == [
        "0.5  > fault circuit_leak, severity 0.3",
        "1  > PEEP 8 cmH2O, slowed expiration yes",
        "1.5  > deep breath: volume 9 L, inspiratory time 3 s",
        "1.6  > recruitment: pressures 40, 50 cmH2O, hold 12 s",
        "1.7  > fault circuit_leak ends",
    ]


def test_settings_say_which_nobody_chose_and_why() -> None:
    case = Case(animal=HORSE, settings=Settings(peep_cmh2o=7, dobutamine_ug_kg_min=0.5))
    rules = case.rules_of_thumb()
    lines = table.settings_lines(case.settings, {name: rules[name] for name in case.assumed_settings})
    told = {line.split("  ")[1]: line for line in lines}
    assert "*" not in told["PEEP"]
    assert "7 cmH2O" in told["PEEP"]
    assert "* 10 mL/kg" in told["tidal volume"]
    assert "[common-practice]" in told["tidal volume"]
    assert "dobutamine" in told
    assert not {"phenylephrine", "trigger flow", "inspiratory pressure above PEEP"} & told.keys()


def test_only_what_matters_in_a_mode_is_shown() -> None:
    shown = "\n".join(
        table.settings_lines(Case(animal=HORSE, settings=Settings(mode="spontaneous")).settings, {})
    )
    assert "respiratory rate" not in shown
    assert "PEEP" in shown
    shown = "\n".join(
        table.settings_lines(Case(animal=HORSE, settings=Settings(mode="pressure")).settings, {})
    )
    assert "inspiratory pressure above PEEP" in shown


def test_the_balance_tells_the_worst_gas() -> None:
    line = table.balance_line({"oxygen": 1e-9, "nitrogen": -4e-7, "agent": 0.0})
    assert line == "Gas balance: every gas accounted for within 4e-07 L (worst: nitrogen)."
    assert "not kept" in table.balance_line({})


def test_the_herd_is_told_as_a_band() -> None:
    lines = table.herd_lines([("pao2_mmhg", 99.6, 240.0, None)])
    assert lines[1].split() == ["PaO2", "mmHg", "100", "240", "–"]
