"""On the bench: the animal is kept on what was typed, and what no machine does is refused in words."""

from typing import Any

import pytest

from lungeline.case import Animal, Case
from lungeline.errors import InputError, LungelineError, MissingError
from lungeline.rehearse import scenario_named
from lungeline.rehearse.bench_readings import NEEDED, WHERE
from lungeline.rehearse.free_practice import free_practice
from lungeline.rehearse.practice import Practice

pytestmark = pytest.mark.slow
GOOD: dict[str, Any] = {
    "respiratory_rate_per_min": 6.0, "tidal_volume_l": 6.0, "peak_pressure_cmh2o": 18.0, "peep_cmh2o": 0.0,
    "inspiratory_time_s": 2.0, "fresh_gas_oxygen_fraction": 0.95,
}  # fmt: skip


@pytest.fixture
def bench() -> Practice:
    return Practice(scenario_named("disconnection"), beside_machine=True)


def _shown(bench: Practice, key: str, source: str) -> Any:  # noqa: ANN401  a number or None
    return [it.value for it in bench.readings(0.0) if (it.key, it.source) == (key, source)][-1]


def test_the_animal_is_kept_on_what_was_typed(bench: Practice) -> None:
    bench.type_in(GOOD)
    bench.advance(50.0)
    assert _shown(bench, "respiratory_rate_per_min", "airway pressure") == pytest.approx(6.0, abs=0.5)
    assert _shown(bench, "tidal_volume_inspired_l", "ventilator") == pytest.approx(6.0, abs=0.3)
    bench.type_in({"tidal_volume_l": 4.0, "respiratory_rate_per_min": 10.0})
    bench.run.live.fault("disconnection", 0.0)
    bench.advance(9.0)
    settings = bench.run.live.settings
    assert (settings.tidal_volume_l, settings.respiratory_rate_per_min) == (4.0, 10.0)
    assert settings.fresh_gas_oxygen_fraction == 0.95  # not typed anew, and stays


def test_a_machine_that_holds_the_pressure_gives_the_animal_that_pressure() -> None:
    bench = Practice(
        free_practice(Case(animal=Animal(species="horse", weight_kg=550.0))), beside_machine=True
    )
    bench.type_in({**GOOD, "drives": "pressure", "peep_cmh2o": 5.0, "peak_pressure_cmh2o": 22.0})
    bench.advance(60.0)
    settings = bench.run.live.settings
    assert (settings.mode, settings.inspiratory_pressure_cmh2o, settings.peep_cmh2o) == (
        "pressure",
        17.0,
        5.0,
    )
    assert _shown(bench, "peak_pressure_cmh2o", "airway pressure") == pytest.approx(22.0, abs=1.5)
    # the volume is the animal's own doing, not what the rubber lung took
    taken = _shown(bench, "tidal_volume_inspired_l", "spirometer")
    assert taken != pytest.approx(GOOD["tidal_volume_l"], abs=0.3)


def test_a_machine_that_does_not_run_lets_the_animal_be(bench: Practice) -> None:
    bench.type_in({"ventilator_on": False})
    bench.advance(40.0)
    assert not bench.run.live.settings.ventilator_on


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"tidal_volume_l": 600.0}, "mL"),
        ({"tidal_volume_l": 30.0}, "mL/kg"),
        ({"tidal_volume_l": 0.05, "peak_pressure_cmh2o": 60.0}, "rubber lung"),
        ({"peak_pressure_cmh2o": 0.5}, "1 to 120 cmH2O"),
        ({"peep_cmh2o": 20.0}, "a peak above PEEP"),
        ({"inspiratory_time_s": 12.0}, "whole breath of 10 s"),
        ({"fresh_gas_oxygen_fraction": 95.0}, "%"),
        ({"respiratory_rate_per_min": float("nan")}, "rate"),
        ({"respiratory_rate_per_min": "six"}, "rate"),
        ({"peep": 5.0}, "peep_cmh2o"),
        ({"drives": "time"}, "pressure, volume"),
    ],
)
def test_nonsense_is_refused_in_words_and_changes_nothing(
    bench: Practice, wrong: dict[str, Any], told: str
) -> None:
    bench.type_in(GOOD)
    before = (bench.run.live.settings, bench.bench)
    with pytest.raises(InputError) as refused:
        bench.type_in(wrong)
    assert told in str(refused.value)
    assert (bench.run.live.settings, bench.bench) == before


@pytest.mark.parametrize("key", NEEDED)
def test_what_is_needed_and_not_typed_is_named_with_where_to_read_it(bench: Practice, key: str) -> None:
    with pytest.raises(MissingError) as refused:
        bench.type_in({name: value for name, value in GOOD.items() if name != key})
    assert WHERE[key] in str(refused.value)


def test_nothing_is_played_before_something_was_typed(bench: Practice) -> None:
    with pytest.raises(MissingError, match="no readings"):
        bench.advance(1.0)


def test_only_what_the_learner_turned_counts_as_done(bench: Practice) -> None:
    bench.type_in(GOOD)
    bench.type_in({"tidal_volume_l": 5.8})
    assert not bench.run.acts
    bench.type_in({"tidal_volume_l": 5.0}, turned=True)
    assert [(act.deed, dict(act.given)) for act in bench.run.acts] == [("set", {"tidal_volume_l": 5.0})]
    bench.type_in({"tidal_volume_l": 5.0}, turned=True)  # nothing changed
    assert len(bench.run.acts) == 1


def test_what_somebody_in_the_story_turns_must_be_set_on_the_machine() -> None:
    bench = Practice(scenario_named("disconnection"), beside_machine=True)
    bench.type_in(GOOD)
    assert bench.to_set == {}
    bench.run.live.set(peep_cmh2o=8.0)  # as a happening of a scenario does
    assert bench.to_set == {"peep_cmh2o": 8.0}
    bench.type_in({"peep_cmh2o": 8.0, "peak_pressure_cmh2o": 26.0})
    assert bench.to_set == {}


def test_the_story_goes_on_and_what_is_done_by_hand_has_its_effect(bench: Practice) -> None:
    bench.type_in(GOOD)
    bench.advance(75.0)
    assert [it.says for it in bench.run.told if it.says] == [bench.run.scenario.happenings[0].say]
    assert bench.act("check hoses").shown == "The Y is off the tube."
    bench.act("reconnect")
    bench.advance(10.0)
    assert "disconnection" not in bench.run.live.active_faults
    bench.advance(1000.0)
    assert bench.run.over
    assert bench.outcome.passed


def test_what_cannot_be_set_together_is_refused_and_changes_nothing(bench: Practice) -> None:
    bench.type_in(GOOD)
    before = bench.run.live.settings
    with pytest.raises(LungelineError):
        bench.type_in({"peep_cmh2o": 45.0, "peak_pressure_cmh2o": 60.0})  # above the limit the story sets
    assert bench.run.live.settings == before
