"""A led rehearsal beside a real machine: typed, gone back in, kept and played again; what was hidden when."""

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from lungeline.errors import InputError, MissingError
from lungeline.rehearse import scenario_named
from lungeline.rehearse.practice import Practice
from lungeline.rehearse.timeline import timeline
from lungeline.rehearse.what_if import what_if, with_trainer
from lungeline.theatre.kept_rehearsals import KeptRehearsals, new_id

if TYPE_CHECKING:
    from lungeline.rehearse.scenario import Scenario

NOW = datetime(2026, 5, 31, 9, 0, tzinfo=UTC)
GOOD: dict[str, Any] = {
    "respiratory_rate_per_min": 6.0, "tidal_volume_l": 6.0, "peak_pressure_cmh2o": 18.0, "peep_cmh2o": 0.0,
    "inspiratory_time_s": 2.0, "fresh_gas_oxygen_fraction": 0.95,
}  # fmt: skip


@pytest.fixture
def practice() -> Practice:
    return Practice(scenario_named("auto_peep"), beside_machine=True)


def test_time_stands_until_the_machine_was_read_off(practice: Practice) -> None:
    assert practice.waits
    with pytest.raises(MissingError, match="Type in first"):
        practice.advance(1.0)
    practice.type_in(GOOD)
    assert not practice.waits
    practice.advance(1.0)


def test_how_the_machine_stands_at_first_is_nobodys_deed_and_what_is_turned_later_is(
    practice: Practice,
) -> None:
    practice.type_in({**GOOD, "respiratory_rate_per_min": 12.0, "inspiratory_time_s": 3.0}, turned=True)
    assert not practice.run.acts
    practice.advance(30.0)
    practice.type_in({"peak_pressure_cmh2o": 19.0})  # the rubber lung, not a setting
    assert not practice.run.acts
    practice.type_in({"respiratory_rate_per_min": 6.0}, turned=True)
    acts = [(act.deed, dict(act.given)) for act in practice.run.acts]
    assert acts == [("set", {"respiratory_rate_per_min": 6.0})]
    assert practice.known.respiratory_rate_per_min == 6.0


def test_the_programs_own_knobs_do_nothing_beside_a_machine_and_the_other_way_round(
    practice: Practice,
) -> None:
    practice.type_in(GOOD)
    with pytest.raises(InputError, match="the real machine"):
        practice.act("set", {"peep_cmh2o": 3.0})
    with pytest.raises(InputError, match="beside a real machine"):
        Practice(scenario_named("auto_peep")).type_in(GOOD)


def test_going_back_beside_a_machine_gives_what_was_typed_then(practice: Practice) -> None:
    practice.type_in(GOOD)
    practice.advance(70.0)
    practice.type_in({"tidal_volume_l": 5.0}, turned=True)
    practice.advance(40.0)
    first = [breath.paco2_mmhg for breath in practice.run.breaths]
    practice.type_in({"tidal_volume_l": 4.0}, turned=True)
    practice.advance(20.0)
    practice.back_to(65.0)
    assert practice.bench is not None
    assert practice.bench.tidal_volume_l == 6.0
    assert practice.run.live.settings.tidal_volume_l == 6.0
    practice.advance(5.0)
    practice.type_in({"tidal_volume_l": 5.0}, turned=True)
    practice.advance(40.0)
    # a state that is taken up again within a breath goes on to a millionth of a mmHg: measured 4e-7
    assert [breath.paco2_mmhg for breath in practice.run.breaths] == pytest.approx(first, abs=2e-6)
    practice.back_to(0.0)
    assert not practice.waits  # it was typed at the very beginning


def test_it_is_kept_and_played_again_and_parted_from(practice: Practice, tmp_path: Path) -> None:
    practice.type_in(GOOD)
    practice.advance(33.0)
    practice.type_in({"respiratory_rate_per_min": 8.0}, turned=True)
    practice.act("check settings")
    practice.advance(57.0)
    practice.type_in({"ventilator_on": False})
    practice.advance(20.0)
    kept, name = KeptRehearsals(tmp_path), new_id(NOW)
    assert kept.keep(name, practice, author="Jo Tern", began=NOW).bench
    again = kept.replayed(name)
    assert again.outcome == practice.outcome
    assert again.row == practice.row
    assert [it.pao2_mmhg for it in again.run.breaths] == [it.pao2_mmhg for it in practice.run.breaths]
    scenario = with_trainer(again.run.scenario, again.typed)
    found = what_if(scenario, again.run.acts, [], from_s=100.0, seed=again.seed)
    # the machine as it was first read, and its stop, are in both ways
    assert found.was.at_end is not None
    ours = {it.time_s: it.paco2_mmhg for it in again.run.breaths}
    line = found.was_line.of("paco2_mmhg", hidden=True)
    assert line is not None
    told = {time_s: value for time_s, value in zip(line.times_s, line.values, strict=True) if time_s < 80.0}
    begun_s = again.run.begun_s
    assert told == {time_s - begun_s: value for time_s, value in ours.items() if time_s - begun_s < 80.0}


def test_what_another_hand_turned_must_be_set_on_the_real_machine() -> None:
    scenario: Scenario = scenario_named("auto_peep")
    practice = Practice(scenario, beside_machine=True)
    practice.type_in(GOOD)
    practice.advance(5.0)
    assert practice.to_set == {}
    practice.hand("set", {"peep_cmh2o": 8.0})
    assert practice.to_set == {"peep_cmh2o": 8.0}
    practice.type_in({"peep_cmh2o": 8.0, "peak_pressure_cmh2o": 26.0})
    assert practice.to_set == {}


def test_a_debrief_shows_what_was_shown_and_no_more() -> None:
    practice = Practice(scenario_named("disconnection"))
    practice.advance(30.0)
    practice.hand("hide", {"key": "etco2_mmhg"})
    practice.hand("freeze", {"key": "map_mmhg"})
    stands = practice.masked["map_mmhg"]
    practice.advance(60.0)
    practice.hand("show", {"key": "etco2_mmhg"})
    practice.hand("show", {"key": "map_mmhg"})
    practice.advance(30.0)
    line = timeline(practice.run, practice.readings(0.0))
    etco2, pressure = line.of("etco2_mmhg"), line.of("map_mmhg")
    assert etco2 is not None
    assert pressure is not None
    assert any(time_s <= 30.0 for time_s in etco2.times_s)
    assert not any(30.0 < time_s <= 90.0 for time_s in etco2.times_s)
    frozen = [
        value
        for time_s, value in zip(pressure.times_s, pressure.values, strict=True)
        if 30.0 < time_s <= 90.0
    ]
    assert len(frozen) > 3
    assert set(frozen) == {stands}
    assert any(time_s > 90.0 for time_s in pressure.times_s)
    truly = timeline(practice.run).of("etco2_mmhg")
    assert truly is not None
    assert any(30.0 < time_s <= 60.0 for time_s in truly.times_s)
