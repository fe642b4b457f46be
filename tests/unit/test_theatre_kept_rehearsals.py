"""Rehearsals kept as what was done, and played again from that."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from lungeline.errors import InputError, RecordError, UnknownNameError
from lungeline.rehearse import scenario_named
from lungeline.rehearse.practice import Practice
from lungeline.theatre.kept_rehearsals import KeptRehearsals, known_scenario, known_scenarios, new_id

NOW = datetime(2026, 5, 31, 9, 0, tzinfo=UTC)


def _played() -> Practice:
    practice = Practice(scenario_named("disconnection"), seed=7)
    practice.advance(50.0)
    practice.hand("fault", {"code": "low_cardiac_output", "severity": 0.4})
    practice.advance(23.4)
    practice.act("look at capnogram")
    practice.advance(12.0)
    practice.act("reconnect")
    practice.advance(90.0)
    return practice


def test_a_rehearsal_is_played_again_from_what_was_done(tmp_path: Path) -> None:
    kept, practice = KeptRehearsals(tmp_path), _played()
    name = new_id(NOW)
    kept.keep(name, practice, author="Jo Tern", began=NOW)
    again = KeptRehearsals(tmp_path).replayed(name)
    assert again.outcome == practice.outcome
    assert again.hands == practice.hands
    assert [breath.pao2_mmhg for breath in again.run.breaths] == [
        breath.pao2_mmhg for breath in practice.run.breaths
    ]


def test_results_belong_to_the_learner(tmp_path: Path) -> None:
    kept, practice = KeptRehearsals(tmp_path), _played()
    mine, yours = new_id(NOW), new_id(NOW)
    kept.keep(mine, practice, author="Jo Tern", began=NOW)
    kept.keep(yours, practice, author="Ash Moor", began=NOW)
    assert [each.id for each in kept.of("Jo Tern")] == [mine]
    with pytest.raises(RecordError, match="belong to the learner"):
        kept.forget(yours, "Jo Tern")
    kept.forget(mine, "Jo Tern")
    assert kept.of("Jo Tern") == ()
    assert [each.id for each in kept.of("Ash Moor")] == [yours]


@pytest.mark.parametrize("name", ["../../etc/passwd", "", "20260531-090000-00000"])
def test_only_the_id_of_a_rehearsal_is_looked_for(tmp_path: Path, name: str) -> None:
    with pytest.raises(UnknownNameError):
        KeptRehearsals(tmp_path).read(name)


def test_scenarios_of_the_clinic_are_beside_those_of_the_program(tmp_path: Path) -> None:
    folder = tmp_path / "scenarios"
    folder.mkdir()
    text = Path("src/lungeline/rehearse/scenarios/disconnection.toml").read_text(encoding="utf-8")
    (folder / "our_own.toml").write_text(text, encoding="utf-8")
    (folder / "broken.toml").write_text("number = 1", encoding="utf-8")
    names = [each.name for each in known_scenarios(tmp_path)]
    assert "our_own" in names
    assert "broken" not in names
    assert known_scenario(tmp_path, "our_own").title == scenario_named("disconnection").title
    with pytest.raises(InputError):
        known_scenario(tmp_path, "broken")
    with pytest.raises(UnknownNameError):
        known_scenario(tmp_path, "no_such")
