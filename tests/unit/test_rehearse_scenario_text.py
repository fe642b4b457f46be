"""A scenario written as a file and read back is the same scenario; its own animal is checked."""

from pathlib import Path

import pytest

from lungeline.errors import InputError, UnknownNameError
from lungeline.rehearse import Scenario, load_scenario, scenarios
from lungeline.rehearse.free_practice import free_practice
from lungeline.rehearse.scenario_text import scenario_to_toml


@pytest.mark.parametrize("scenario", scenarios(), ids=lambda it: it.name)
def test_what_is_written_is_read_back_the_same(scenario: Scenario, tmp_path: Path) -> None:
    path = tmp_path / "another_name.toml"
    path.write_text(scenario_to_toml(scenario), encoding="utf-8")
    assert load_scenario(path) == scenario


def test_signs_that_toml_has_a_use_for_stay_as_they_are(tmp_path: Path) -> None:
    bare = free_practice(scenarios()[0].case)
    odd = bare.model_copy(update={"story": 'a "quoted" \\ # line\n[[wrong]]\t\x7f é'})
    path = tmp_path / "odd.toml"
    path.write_text(scenario_to_toml(odd), encoding="utf-8")
    assert load_scenario(path).story == odd.story


def test_a_number_of_the_animal_that_is_none_is_refused_with_the_nearest(tmp_path: Path) -> None:
    bare = free_practice(scenarios()[0].case)
    path = tmp_path / "odd.toml"
    path.write_text(
        scenario_to_toml(bare.model_copy(update={"own_animal": {"haemoglobin": 1.1}})), encoding="utf-8"
    )
    with pytest.raises(UnknownNameError, match="haemoglobin_g_dl"):
        load_scenario(path)
    path.write_text(
        scenario_to_toml(bare.model_copy(update={"own_animal": {"haemoglobin_g_dl": 1e6}})), encoding="utf-8"
    )
    with pytest.raises(InputError):
        load_scenario(path)
