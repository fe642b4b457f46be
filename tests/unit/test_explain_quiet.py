"""Watching quietly: life threats at once, the rest only where it lasts, belongs together and surprises."""

import pickle
from collections.abc import Mapping
from dataclasses import replace

import pytest

from lungeline.case import Animal, Case, Reading, Settings
from lungeline.explain import Raised, Watcher
from lungeline.explain.quiet_rules import paco2_it_leads_to_mmhg
from lungeline.simulate.setup import species_parameters

SETTINGS = Settings(
    tidal_volume_l=6.0, respiratory_rate_per_min=7.0, peep_cmh2o=5.0, pressure_limit_cmh2o=40.0, mode="volume"
)
CASE = Case(animal=Animal(species="horse", weight_kg=500.0), settings=SETTINGS)
WELL = {
    "peak_pressure_cmh2o": 22.0, "end_expiratory_pressure_cmh2o": 5.0, "tidal_volume_expired_l": 6.0,
    "etco2_mmhg": 38.0, "map_mmhg": 72.0, "spo2_fraction": 0.96, "fio2_fraction": 0.9, "spare_volume_l": 8.0,
    "respiratory_rate_per_min": 7.0,
}  # fmt: skip


def feed(it: Watcher, minutes: range, changed: Mapping[str, float | None] | None = None) -> list[Raised]:
    """Give a reading of everything once a minute; return what is raised."""
    raised: list[Raised] = []
    for minute in minutes:
        values = {**WELL, **(changed or {})}
        raised += it.take(
            Reading(
                time_s=60.0 * minute, key=key, value=value, source="monitor",
                quality="missing" if value is None else "good",
            )
            for key, value in values.items()
        )  # fmt: skip
    return raised


def codes(raised: list[Raised]) -> list[str]:
    return [it.finding.code for it in raised]


def test_a_quiet_hour_raises_nothing() -> None:
    assert feed(Watcher(CASE), range(60)) == []


@pytest.mark.parametrize("key", sorted(WELL))
def test_a_missing_number_is_never_an_alarm(key: str) -> None:
    it = Watcher(CASE)
    feed(it, range(20))
    assert feed(it, range(20, 60), {key: None}) == []
    assert feed(it, range(60, 80), dict.fromkeys(WELL, None)) == []


def test_a_life_threat_is_told_at_once_and_no_window_mutes_it() -> None:
    it = Watcher(CASE)
    feed(it, range(20))
    it.expect(20 * 60.0, 30.0)
    raised = feed(it, range(20, 21), {"etco2_mmhg": 2.0})
    assert codes(raised) == ["threat_no_carbon_dioxide"]
    assert raised[0].priority == "high"


def test_readings_that_move_together_are_one_finding_told_once_after_they_have_lasted() -> None:
    it = Watcher(CASE)
    feed(it, range(20))
    moved = {"peak_pressure_cmh2o": 29.0, "etco2_mmhg": 46.0}
    assert feed(it, range(20, 21), moved) == []
    raised = feed(it, range(21, 40), moved)
    assert codes(raised) == ["watch_moved_together"]
    assert raised[0].priority == "medium"
    assert codes(list(it.standing())) == ["watch_moved_together"]


def test_one_reading_that_moves_a_little_is_low_and_one_far_off_is_medium() -> None:
    little, far = Watcher(CASE), Watcher(CASE)
    feed(little, range(20))
    feed(far, range(20))
    assert {each.priority for each in feed(little, range(20, 30), {"peak_pressure_cmh2o": 26.5})} == {"low"}
    assert "medium" in {each.priority for each in feed(far, range(20, 30), {"peak_pressure_cmh2o": 32.0})}


def test_one_odd_reading_is_nothing() -> None:
    it = Watcher(CASE)
    feed(it, range(20))
    assert feed(it, range(20, 21), {"peak_pressure_cmh2o": 31.0}) == []
    assert feed(it, range(21, 40)) == []


def test_a_finding_stays_until_it_is_clearly_gone_and_is_not_told_again_meanwhile() -> None:
    it = Watcher(CASE)
    feed(it, range(20))
    high, back = {"peak_pressure_cmh2o": 30.0, "etco2_mmhg": 47.0}, {"peak_pressure_cmh2o": 27.0}
    assert codes(feed(it, range(20, 30), high)) == ["watch_moved_together"]
    assert "watch_moved_together" not in codes(feed(it, range(30, 34), back))
    assert codes(feed(it, range(34, 40), high)) == []
    feed(it, range(40, 70))
    assert it.standing() == ()


def test_what_a_change_moves_is_expected_and_becomes_usual() -> None:
    it = Watcher(CASE)
    feed(it, range(20))
    it.changed(replace(SETTINGS, respiratory_rate_per_min=9.0), 20 * 60.0)
    assert feed(it, range(20, 90), {"etco2_mmhg": 29.0, "respiratory_rate_per_min": 9.0}) == []


def test_a_gauge_that_shows_too_much_is_not_taken_for_pressure_that_climbs_when_peep_is_changed() -> None:
    it = Watcher(CASE)
    for minute in range(200):  # drifts by 4 cmH2O
        shown = {"end_expiratory_pressure_cmh2o": 5.0 + 4.0 * minute / 200.0}
        assert feed(it, range(minute, minute + 1), shown) == []
    it.changed(replace(SETTINGS, peep_cmh2o=8.0), 200 * 60.0)
    assert feed(it, range(200, 205), {"end_expiratory_pressure_cmh2o": 13.0}) == []
    assert codes(feed(it, range(205, 206), {"end_expiratory_pressure_cmh2o": 19.0})) == [
        "threat_pressure_climbs"
    ]


def test_an_animal_near_a_line_is_told_of_once() -> None:
    it = Watcher(CASE)
    feed(it, range(20))
    it.expect(20 * 60.0)
    raised = [
        each
        for minute in range(20, 90)
        for each in feed(it, range(minute, minute + 1), {"map_mmhg": 39.0 if minute % 20 == 0 else 44.0})
    ]
    assert codes(raised).count("threat_no_flow") == 1
    feed(it, range(90, 130))
    assert "threat_no_flow" not in codes(list(it.standing()))


def test_slow_drift_is_followed() -> None:
    it = Watcher(CASE)
    feed(it, range(20))
    raised = [
        each
        for minute in range(20, 260)
        for each in feed(it, range(minute, minute + 1), {"etco2_mmhg": 38.0 + 3.0 * (minute - 20) / 60.0})
    ]
    assert raised == []


def test_a_deep_breath_left_set_is_told_and_an_ordinary_change_is_not() -> None:
    deep, ordinary = Watcher(CASE), Watcher(CASE)
    for it, volume_l in ((deep, 9.0), (ordinary, 6.6)):
        feed(it, range(20))
        it.changed(replace(SETTINGS, tidal_volume_l=volume_l), 20 * 60.0)
    assert codes(feed(deep, range(20, 23), {"tidal_volume_expired_l": 9.0})) == []
    assert codes(feed(deep, range(23, 40), {"tidal_volume_expired_l": 9.0})) == ["watch_deep_breath_left"]
    assert codes(feed(ordinary, range(20, 40), {"tidal_volume_expired_l": 6.6})) == []


def test_a_raised_limit_left_set_is_told_quietly() -> None:
    it = Watcher(CASE)
    feed(it, range(20))
    it.changed(replace(SETTINGS, pressure_limit_cmh2o=60.0), 20 * 60.0)
    raised = feed(it, range(20, 40))
    assert [(each.finding.code, each.priority) for each in raised] == [("watch_limit_left", "low")]


def test_cpap_left_set_is_told() -> None:
    it = Watcher(replace(CASE, settings=replace(SETTINGS, mode="spontaneous", peep_cmh2o=8.0)))
    held = {"end_expiratory_pressure_cmh2o": 8.0, "peak_pressure_cmh2o": 10.0}
    assert codes(feed(it, range(30), held)) == ["watch_cpap_left"]


def test_gas_made_up_more_often_than_before_is_evidence_of_a_leak() -> None:
    it = Watcher(CASE)
    for minute in (5, 14, 23):
        it.made_up(60.0 * minute)
    assert feed(it, range(30)) == []
    for minute in (31, 34, 37, 39):
        it.made_up(60.0 * minute)
    assert codes(feed(it, range(30, 44))) == ["watch_make_up_often"]


def test_an_animal_that_pushes_against_something_narrow_is_told() -> None:
    it = Watcher(replace(CASE, settings=replace(SETTINGS, mode="spontaneous", peep_cmh2o=0.0)))
    pushes = {"end_expiratory_pressure_cmh2o": 0.0, "peak_pressure_cmh2o": 8.0}
    assert codes(feed(it, range(20), pushes)) == ["watch_resistance_felt"]


def test_half_the_usual_volume_at_an_ordinary_rate_is_told_with_the_co2_it_leads_to() -> None:
    alone = replace(CASE, settings=replace(SETTINGS, mode="spontaneous", peep_cmh2o=0.0))
    small = {"tidal_volume_expired_l": 2.6, "end_expiratory_pressure_cmh2o": 0.0, "peak_pressure_cmh2o": 1.0}
    raised = feed(Watcher(alone), range(20), small)
    assert codes(raised) == ["watch_hypoventilates"]
    # arithmetic: 863 × CO2 output / (rate × (volume - dead space)), the alveolar ventilation equation
    p = {name: it.at_weight(500.0) for name, it in species_parameters("horse").items()}
    airway_l = p["airway_dead_space_ml_kg"] * 0.5
    alveolar_l = (2.6 - airway_l) * (1.0 - p["alveolar_dead_space_fraction"])
    expected = 863.0 * p["carbon_dioxide_output_l_min"] / (7.0 * alveolar_l)
    assert raised[0].finding.figures["paco2_mmhg"] == pytest.approx(expected, rel=0.01)
    assert paco2_it_leads_to_mmhg(alone, 2.6, 7.0) == pytest.approx(expected, rel=0.01)


@pytest.mark.parametrize("animal", [
    Animal(species="foal", weight_kg=60.0), Animal(species="pony", weight_kg=200.0),
    Animal(species="cattle", weight_kg=500.0),
])  # fmt: skip
def test_the_rule_of_adult_horses_is_for_adult_horses(animal: Animal) -> None:
    settings = Settings(mode="spontaneous", tidal_volume_l=0.01 * animal.weight_kg)
    it = Watcher(Case(animal=animal, settings=settings))
    small = {
        "tidal_volume_expired_l": 0.002 * animal.weight_kg,
        "end_expiratory_pressure_cmh2o": 0.0,
        "peak_pressure_cmh2o": 1.0,
    }
    assert "watch_hypoventilates" not in codes(feed(it, range(20), small))


def test_the_hit_rate_of_each_rule_is_kept() -> None:
    it = Watcher(CASE)
    feed(it, range(20))
    feed(it, range(20, 30), {"peak_pressure_cmh2o": 30.0, "etco2_mmhg": 47.0})
    assert it.hits["watch_moved_together"].raised == 1
    assert it.hits["watch_moved_together"].rate_fraction is None
    it.judge("watch_moved_together", right=True)
    it.judge("watch_moved_together", right=False)
    assert it.hits["watch_moved_together"].rate_fraction == 0.5


def test_a_clock_that_jumps_and_rows_that_come_twice_break_nothing() -> None:
    it = Watcher(CASE)
    feed(it, range(20))
    assert feed(it, range(10, 20)) == []
    assert feed(it, range(100_000, 100_003)) == []
    assert feed(it, range(20, 40)) == []


def test_nothing_grows_with_the_length_of_a_case() -> None:
    it, sizes = Watcher(CASE), []
    for until in (240, 480):
        for minute in range(until - 240, until):
            it.made_up(60.0 * minute)
            feed(it, range(minute, minute + 1))
        sizes.append(len(pickle.dumps(it)))
    assert sizes[1] <= 1.02 * sizes[0]  # a number more or less in a pickle's own table
