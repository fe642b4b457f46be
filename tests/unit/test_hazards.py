"""Controls against harm that no other test holds; and every test named on the page of hazards is there."""

import json
import re
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from lungeline.case import (
    Animal,
    Case,
    Change,
    DeepBreath,
    FaultEvent,
    Procedure,
    Settings,
    Start,
    case_to_json,
    case_to_toml,
    load_profile,
)
from lungeline.cli.main import main
from lungeline.cli.table import settings_lines
from lungeline.errors import UnitError, UnknownNameError
from lungeline.plan import Plan, make_plan
from lungeline.reference import species_status
from lungeline.simulate.faults import fault
from lungeline.simulate.run import Run, simulate
from lungeline.units import UNITS, convert

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "docs" / "hazards.md").read_text(encoding="utf-8")
HORSE = Animal(species="horse", weight_kg=500)
NOT_CHECKED = [
    animal
    for animal in (
        Animal(species="pony", weight_kg=200),
        Animal(species="donkey", weight_kg=180),
        Animal(species="foal", weight_kg=50),
        Animal(species="cattle", weight_kg=600),
        Animal(species="calf", weight_kg=80),
    )
    if not species_status(animal.species).validated
]


# --- the page -----------------------------------------------------------------------------------------


def names_in(file: str) -> set[str]:
    text = (ROOT / file).read_text(encoding="utf-8")
    return set(re.findall(r"^def (test_\w+)\(", text, flags=re.MULTILINE))


def test_every_test_named_on_the_page_is_there() -> None:
    named = re.findall(r"`(tests/[\w/]+\.py)(?:::(\w+))?`", PAGE)
    assert len(named) > 100
    assert [file for file, _ in named if not (ROOT / file).is_file()] == []
    assert [f"{file}::{test}" for file, test in named if test and test not in names_in(file)] == []


def test_nothing_else_on_the_page_looks_like_a_test() -> None:
    """A name written in another way would escape the test above."""
    written = len(re.findall(r"tests/|\btest_", PAGE))
    understood = re.findall(r"`tests/[\w/]+/(test_\w+)\.py(?:::(test_\w+))?`", PAGE)
    assert written == sum(2 + bool(test) for _, test in understood)


# --- units --------------------------------------------------------------------------------------------


def test_a_number_is_never_turned_into_another_quantity() -> None:
    # 1 mmHg is 133.322 Pa (BIPM, The International System of Units, 8th edition 2006): 1000 / 133.322
    assert convert(1.0, "kpa", "mmhg") == pytest.approx(7.50064, abs=1e-5)
    assert convert(5000.0, "ml", "l") == pytest.approx(5.0)  # arithmetic
    for from_suffix, to_suffix in (("mmhg", "l"), ("l", "l_min"), ("mg", "ml"), ("c", "cmh2o")):
        with pytest.raises(UnitError, match="one quantity only"):
            convert(1.0, from_suffix, to_suffix)


def test_no_two_units_read_alike() -> None:
    """A person sees the label alone: two units behind one label could not be told apart."""
    sizes = {(unit.label, unit.factor, unit.offset) for unit in UNITS.values()}
    seen = Counter(label for label, _, _ in sizes)
    assert [label for label, count in seen.items() if count > 1] == []


# --- names that are nearly right ----------------------------------------------------------------------


def test_an_unknown_fault_code_names_the_nearest() -> None:
    with pytest.raises(UnknownNameError, match='"expiratory_obstruction"'):
        fault("expiratory_obstrution")


# --- what lends depth ---------------------------------------------------------------------------------


def test_an_injected_share_is_told_with_the_settings() -> None:
    """The MAC that is shown is the agent's alone: what else lends depth must stand somewhere."""
    case = Case(animal=HORSE, settings=Settings(injectable_mac_multiple=0.4))
    (told,) = (line for line in settings_lines(case.settings, {}) if "by needle" in line)
    assert "0.4" in told
    assert case_to_json(case)["settings"]["injectable_mac_multiple"] == 0.4


# --- what is simulated ----------------------------------------------------------------------------------


@pytest.fixture
def written(tmp_path: Path) -> Callable[[Case], str]:
    """Return what writes a case and gives its file."""

    def write(case: Case) -> str:
        target = tmp_path / f"{case.animal.species}.toml"
        target.write_text(case_to_toml(case), encoding="utf-8")
        return str(target)

    return write


@pytest.mark.slow
def test_what_is_simulated_says_so_first_and_to_programs(
    written: Callable[[Case], str], capsys: pytest.CaptureFixture[str]
) -> None:
    file = written(Case(animal=HORSE, title="A horse"))
    assert main(["simulate", file, "--minutes", "1"]) == 0
    assert capsys.readouterr().out.splitlines()[0].startswith("SIMULATED")
    assert main(["simulate", file, "--minutes", "1", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["simulated"] is True


@pytest.mark.slow
@pytest.mark.parametrize("animal", NOT_CHECKED, ids=lambda animal: f"{animal.species}")
def test_a_species_that_was_not_checked_is_told_on_a_simulation(
    animal: Animal, written: Callable[[Case], str], capsys: pytest.CaptureFixture[str]
) -> None:
    file = written(Case(animal=animal))
    assert main(["simulate", file, "--minutes", "1"]) == 0
    assert capsys.readouterr().out.splitlines()[1].startswith(f"NOT VALIDATED for species {animal.species}: ")
    assert main(["simulate", file, "--minutes", "1", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["validated"] is False
    assert told["validation"] == species_status(animal.species).reason


@pytest.mark.slow
@pytest.mark.parametrize("animal", NOT_CHECKED, ids=lambda animal: f"{animal.species}")
def test_a_species_that_was_not_checked_is_told_on_a_plan(
    animal: Animal, written: Callable[[Case], str], capsys: pytest.CaptureFixture[str]
) -> None:
    file = written(Case(animal=animal))
    assert main(["plan", file, "--animals", "1"]) == 0
    text = capsys.readouterr().out
    assert "DO NOT BEGIN" in text.partition("\n\n")[0]
    assert f"STOP     The simulated {animal.species} has not been set against published" in text
    assert species_status(animal.species).reason in text
    assert main(["plan", file, "--animals", "1", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["validated"] is False
    assert told["green"] is False


# --- the reservoir ----------------------------------------------------------------------------------------


def deep_breath(reservoir_content_l: float) -> Run:
    """A deep breath of 12 L in the first minute, with hardly any fresh gas."""
    return simulate(
        Case(
            animal=HORSE,
            start=Start(reservoir_content_l=reservoir_content_l),
            settings=Settings(fresh_gas_flow_l_min=0.5, pressure_limit_cmh2o=60.0, spare_volume_l=13.0),
            changes=(Change(at_min=0.5, manoeuvre=DeepBreath(volume_l=12.0)),),
        ),
        1.0,
    )


@pytest.mark.slow
def test_a_deep_breath_from_an_empty_reservoir_reports_room_air() -> None:
    empty, full = deep_breath(3.0), deep_breath(18.0)
    assert (full.at_end.room_air_entrained_l or 0.0) == 0.0
    # 12 L out of less than 3 L: what is lacking is room air, or a breath as much smaller (arithmetic)
    deepest_l = max(breath.tidal_volume_inspired_l or 0.0 for breath in empty.breaths)
    assert (empty.at_end.room_air_entrained_l or 0.0) + (12.0 - deepest_l) > 6.0
    assert (empty.at_end.room_air_entrained_l or 0.0) > 0.5
    assert min(breath.spare_volume_l or 0.0 for breath in empty.breaths) == 0.0
    assert "room air" in empty.ended


# --- the plan -------------------------------------------------------------------------------------------


# it accepts a low PaO2, so that a forecast alone would allow longer than the limit off the circle
CLINIC = """\
name = "A clinic"
signed_by = "A. Vet"
signed_on = "2026-01-02"
off_circuit_limit_min = 2
least_pao2_mmhg = 50
"""


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> tuple[Plan, Path]:
    """A plan for a horse by a clinic's profile, ten minutes off the circle; and the file of that profile."""
    file = tmp_path_factory.mktemp("clinic") / "clinic.toml"
    file.write_text(f"{CLINIC}pressure_limit_cap_cmh2o = 30\n", encoding="utf-8")
    case = Case(animal=HORSE, procedure=Procedure(expected_min=30.0, off_circuit_min=10.0))
    return make_plan(case, load_profile(file), animals=2), file


@pytest.mark.slow
def test_a_profile_changed_after_the_plan_changes_no_plan(planned: tuple[Plan, Path]) -> None:
    plan, file = planned
    before = json.dumps(plan.as_json())
    file.write_text(f"{CLINIC}pressure_limit_cap_cmh2o = 20\n", encoding="utf-8")
    assert load_profile(file).pressure_limit_cap_cmh2o == 20.0
    assert json.dumps(plan.as_json()) == before
    told = plan.as_json()["profile"]
    assert told["pressure_limit_cap_cmh2o"] == 30.0  # by which choices, whoever asks later
    assert (told["name"], told["signed_by"], told["signed_on"]) == ("A clinic", "A. Vet", "2026-01-02")


@pytest.mark.slow
def test_no_forecast_extends_the_limit_off_the_circle(planned: tuple[Plan, Path]) -> None:
    plan, _ = planned
    limit = plan.weaning.numbers["off_circuit_limit_minutes"].value
    assert limit == 2.0
    # the forecast alone would have allowed longer, and nobody is told so
    later = [row.pao2_mmhg or 0.0 for row in plan.weaning.off_circuit if row.at_min > limit]
    assert later[0] > plan.profile.least_pao2_mmhg
    (told,) = (each for each in plan.findings if each.code == "off_circuit_beyond_limit")
    assert told.severity == "caution"
    assert told.figures == {"planned_min": 10.0, "limit_min": 2.0}


@pytest.mark.slow
def test_a_plan_for_another_weight_says_for_which_it_is(planned: tuple[Plan, Path]) -> None:
    plan, _ = planned
    heavier = replace(plan.case, animal=replace(plan.case.animal, weight_kg=600.0))
    again = make_plan(heavier, plan.profile, animals=2)
    for each, weight_kg in ((plan, 500.0), (again, 600.0)):
        told = each.as_json()
        assert told["case"]["animal"]["weight_kg"] == weight_kg
        assert told["weight"]["weight_kg"]["value"] == weight_kg
        # every dose of it is for that weight (arithmetic)
        for dose in each.drugs.doses:
            assert dose.whom.weight_kg == weight_kg


@pytest.mark.slow
def test_practice_and_model_stand_side_by_side(
    written: Callable[[Case], str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["plan", written(Case(animal=HORSE)), "--animals", "1"]) == 0
    text = capsys.readouterr().out
    told = next(line for line in text.splitlines() if line.startswith("  tidal volume"))
    assert re.search(r"\d L +rule \d", told)
    assert "rule of thumb (no source)" in text


@pytest.mark.slow
def test_a_fault_later_than_the_end_is_told_as_not_seen(
    written: Callable[[Case], str], capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing to be seen of a fault must not reassure when it never began."""
    late = Case(animal=HORSE, faults=(FaultEvent(code="circuit_leak", at_min=30.0),))
    assert main(["simulate", written(late), "--minutes", "1"]) == 0
    assert "1 of the changes and faults lie after the end" in capsys.readouterr().out
