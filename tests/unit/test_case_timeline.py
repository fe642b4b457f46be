"""Settings from change to change: complete, in order, and possible."""

import pytest

from lungeline.case import Animal, Case, Change, DeepBreath, FaultEvent, Settings
from lungeline.errors import InputError, UnitError

HORSE = Animal(species="horse", weight_kg=500)


def changed(*changes: Change, **given: float) -> Case:
    return Case(animal=HORSE, settings=Settings(**given), changes=changes)  # type: ignore[arg-type]  # numbers only


def test_changes_and_faults_are_kept_in_order_of_time() -> None:
    case = Case(
        animal=HORSE,
        changes=(
            Change(at_min=30, settings={"peep_cmh2o": 10}),
            Change(at_min=10, settings={"peep_cmh2o": 8}),
        ),
        faults=(FaultEvent(code="b", at_min=9), FaultEvent(code="a", at_min=3)),
    )
    assert [change.at_min for change in case.changes] == [10, 30]
    assert [fault.code for fault in case.faults] == ["a", "b"]
    assert [part.settings.peep_cmh2o for part in case.timeline()] == [5, 8, 10]
    assert [case.settings_at(minute).peep_cmh2o for minute in (0, 9.9, 10, 29, 1000)] == [5, 5, 8, 8, 10]


def test_of_two_changes_at_one_time_the_later_in_the_file_holds() -> None:
    two = (Change(at_min=0, settings={"peep_cmh2o": 8}), Change(at_min=0, settings={"peep_cmh2o": 9}))
    assert changed(*two).settings_at(0).peep_cmh2o == 9


def test_a_manoeuvre_leaves_the_settings() -> None:
    case = changed(Change(at_min=5, manoeuvre=DeepBreath(volume_l=10)))
    assert len(case.timeline()) == 1


def test_what_nobody_chose_follows_the_setting_it_hangs_on() -> None:
    case = changed(Change(at_min=5, settings={"tidal_volume_l": 7, "respiratory_rate_per_min": 20}))
    after = case.settings_at(5)
    assert after.spare_volume_l == pytest.approx(6.3)  # arithmetic: 0.9 × 7
    assert after.inspiratory_time_s == pytest.approx(1)  # arithmetic: a third of 60 / 20


def test_what_was_chosen_does_not_follow() -> None:
    case = changed(Change(at_min=5, settings={"tidal_volume_l": 7}), spare_volume_l=5)
    assert case.settings_at(5).spare_volume_l == 5
    later = changed(
        Change(at_min=5, settings={"spare_volume_l": 6}), Change(at_min=9, settings={"tidal_volume_l": 7})
    )
    assert later.settings_at(9).spare_volume_l == 6


@pytest.mark.parametrize(
    "settings",
    [
        {"respiratory_rate_per_min": 40, "inspiratory_time_s": 2},
        {"peep_cmh2o": 45},
        {"tidal_volume_l": 12, "spare_volume_l": 12},
        {"mode": "assisted", "trigger_flow_l_min": 0},
        {"vaporiser_percent": 10},
    ],
)
def test_a_change_to_the_impossible_is_refused_and_says_when(settings: dict[str, object]) -> None:
    with pytest.raises(InputError, match="after the change at 25 min"):
        changed(Change(at_min=25, settings=settings))


def test_two_changes_that_are_only_together_impossible_are_refused() -> None:
    first = Change(at_min=5, settings={"pressure_limit_cmh2o": 20})
    changed(first)
    with pytest.raises(InputError, match="at 9 min"):
        changed(first, Change(at_min=9, settings={"peep_cmh2o": 25}))


def test_another_agent_half_way_is_refused() -> None:
    changed(Change(at_min=5, settings={"agent": "isoflurane", "vaporiser_percent": 1}))
    with pytest.raises(InputError, match="a case knows one agent"):
        changed(Change(at_min=5, settings={"agent": "sevoflurane"}))


def test_a_change_is_one_thing() -> None:
    with pytest.raises(InputError, match="Name a setting"):
        Change(at_min=5)
    with pytest.raises(InputError, match="two changes"):
        Change(at_min=5, settings={"peep_cmh2o": 5}, manoeuvre=DeepBreath(volume_l=8))
    with pytest.raises(UnitError, match="peep_cmh2o"):
        Change(at_min=5, settings={"peep": 5})


def test_a_case_can_be_hashed_and_its_settings_are_numbers() -> None:
    change = Change(at_min=5, settings={"peep_cmh2o": 8})
    assert isinstance(change.settings["peep_cmh2o"], float)
    assert len({changed(change), changed(change)}) == 1
