"""What is expected beside a case: asked again, asked anew, told late, struck out, without a plan."""

import threading
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from lungeline.case import Animal, Case, Change, case_to_json
from lungeline.record import CaseState
from lungeline.theatre import Cases, Desk
from lungeline.theatre import expected as module
from lungeline.theatre.animals_beside import AnimalBeside
from lungeline.theatre.expected import Beside, Expectations, beside

BEGAN = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)
Told = tuple[float, str, dict[str, Any]]
PLAN: Told = (-5.0, "plan", {"case": case_to_json(Case(animal=Animal(species="horse", weight_kg=520.0)))})
UNDER: Told = (0.0, "phase", {"phase": "maintain"})
SET: Told = (1.0, "setting", {"mode": "volume", "tidal_volume_l": 6.0, "respiratory_rate_per_min": 7.0})
LESS: Told = (6.0, "setting", {"tidal_volume_l": 3.5})


def _at(minutes: float) -> datetime:
    return BEGAN + timedelta(minutes=minutes)


def _desk(tmp_path: Path) -> tuple[Cases, Desk, str]:
    cases = Cases(tmp_path / "data", key_file=tmp_path / "key" / "record.key")
    desk = Desk(cases=cases, author="A. Vet", device="tablet", clock=lambda: _at(700.0))
    opened = desk.open_case({"purpose": "real", "name": "Stella", "species": "horse", "weight_kg": 520.0})
    return cases, desk, opened.case


def _state(tmp_path: Path, *told: Told) -> CaseState:
    cases, desk, case = _desk(tmp_path)
    for at_min, kind, body in told:
        desk.enter(case, kind, body, event_time=_at(at_min))
    return cases.read(case).state


def _asked(tmp_path: Path, *told: Told, now_min: float = 5.0, assume: bool = False) -> Beside:
    asked = beside(_state(tmp_path, *told), _at(now_min), assume=assume)
    assert asked is not None
    return asked


# --- what is asked --------------------------------------------------------------------------------------


def test_the_case_beside_has_each_change_at_its_minute(tmp_path: Path) -> None:
    asked = _asked(tmp_path, PLAN, UNDER, SET, LESS)
    assert asked.began == _at(1.0)
    assert asked.case.settings.tidal_volume_l == 6.0
    assert [(change.at_min, dict(change.settings)) for change in asked.case.changes] == [
        (5.0, {"tidal_volume_l": 3.5})
    ]


def test_two_changes_of_one_moment_are_one(tmp_path: Path) -> None:
    both = (LESS, (6.0, "setting", {"respiratory_rate_per_min": 9.0}))
    (change,) = _asked(tmp_path, PLAN, UNDER, SET, *both).case.changes
    assert dict(change.settings) == {"tidal_volume_l": 3.5, "respiratory_rate_per_min": 9.0}


def test_a_change_told_late_stands_where_it_happened(tmp_path: Path) -> None:
    later: Told = (8.0, "setting", {"respiratory_rate_per_min": 9.0})
    in_order, late = (
        _asked(tmp_path / name, PLAN, UNDER, SET, *changes)
        for name, changes in (("a", (LESS, later)), ("b", (later, LESS)))
    )
    assert in_order.case.changes == late.case.changes


def test_a_setting_struck_out_is_not_expected_any_more(tmp_path: Path) -> None:
    cases, desk, case = _desk(tmp_path)
    for at_min, kind, body in (PLAN, UNDER, SET):
        desk.enter(case, kind, body, event_time=_at(at_min))
    before = beside(cases.read(case).state, _at(5.0))
    wrong = desk.enter(case, LESS[1], LESS[2], event_time=_at(LESS[0]))
    assert beside(cases.read(case).state, _at(5.0)) != before
    desk.strike(case, wrong.seq, "undone")
    assert beside(cases.read(case).state, _at(5.0)) == before


def test_it_looks_ahead_and_asks_anew_every_ten_minutes(tmp_path: Path) -> None:
    state = _state(tmp_path, PLAN, UNDER, SET)
    spans = {now_min: beside(state, _at(now_min)) for now_min in (2.0, 10.9, 11.1)}
    minutes = {now_min: each.minutes for now_min, each in spans.items() if each}
    # arithmetic: ten minutes ahead of minute 1, 9.9, 10.1 of the case, up to the next ten
    assert minutes == {2.0: 20.0, 10.9: 20.0, 11.1: 30.0}


def test_a_case_nobody_closed_is_not_run_for_ever(tmp_path: Path) -> None:
    state = _state(tmp_path, PLAN, UNDER, SET)
    day, week = (beside(state, _at(60.0 * hours)) for hours in (24.0, 168.0))
    assert day is not None
    assert day == week
    assert day.minutes < 24.0 * 60.0


def test_without_a_plan_the_usual_is_taken_only_where_somebody_agreed(tmp_path: Path) -> None:
    state = _state(tmp_path, UNDER, SET)
    assert beside(state, _at(5.0)) is None
    agreed = beside(state, _at(5.0), assume=True)
    assert agreed is not None
    assert (agreed.case.animal.species, agreed.case.animal.weight_kg) == ("horse", 520.0)
    assert agreed.case.settings.tidal_volume_l == 6.0


# --- what is answered -----------------------------------------------------------------------------------


def _counted(monkeypatch: pytest.MonkeyPatch, meanwhile: Callable[[], None] = lambda: None) -> list[int]:
    """Count the animals' runs; `meanwhile` happens before each."""
    runs: list[int] = []
    true_run = AnimalBeside.run

    def run(self: AnimalBeside, changes: Sequence[Change], minutes: int, wanted: Callable[[], bool]) -> bool:
        runs.append(minutes)
        meanwhile()
        return true_run(self, changes, minutes, wanted)

    monkeypatch.setattr(AnimalBeside, "run", run)
    return runs


@pytest.fixture
def few(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three animals are enough where no band is looked at."""
    monkeypatch.setattr(module, "ANIMALS", 3)


@pytest.mark.usefixtures("few")
def test_the_same_question_is_answered_from_what_is_known(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    runs = _counted(monkeypatch)
    asked, known = _asked(tmp_path, PLAN, UNDER, SET), Expectations()
    first = known.get(asked)
    assert len(runs) == 3
    assert known.get(asked) is first
    assert len(runs) == 3


@pytest.mark.usefixtures("few")
def test_who_asks_anew_wins_and_the_older_question_is_given_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    older, newer = _asked(tmp_path / "a", PLAN, UNDER, SET), _asked(tmp_path / "b", PLAN, UNDER, SET, LESS)
    assert older.herd_key == newer.herd_key
    known, answers = Expectations(), dict[str, Any]()
    begun, asked_anew = threading.Event(), threading.Event()

    def meanwhile() -> None:
        begun.set()
        asked_anew.wait(20.0)

    _counted(monkeypatch, meanwhile)
    first = threading.Thread(target=lambda: answers.update(older=known.get(older)))
    second = threading.Thread(target=lambda: answers.update(newer=known.get(newer)))
    first.start()
    assert begun.wait(20.0)
    second.start()
    herd = known._herds[newer.herd_key]  # noqa: SLF001  the only sign that the newer question has come
    while herd.newest != newer.key:
        second.join(0.01)
    asked_anew.set()
    for each in (first, second):
        each.join(60.0)
    assert answers["older"] is None
    assert answers["newer"] == Expectations().get(newer)


@pytest.mark.usefixtures("few")
@pytest.mark.slow
def test_animals_that_went_back_are_as_if_they_had_never_gone_on(tmp_path: Path) -> None:
    # told at minute 14 of what was set at minute 12, after a mark that is kept at 10, and between two minutes
    late: Told = (13.4, "setting", {"tidal_volume_l": 3.5})
    plain = _asked(tmp_path / "a", PLAN, UNDER, SET, now_min=15.0)
    told = _asked(tmp_path / "b", PLAN, UNDER, SET, late, now_min=15.0)
    known = Expectations()
    before, after = known.get(plain), known.get(told)
    fresh = Expectations().get(told)
    assert after == fresh
    assert after != before
    assert known.get(plain) == before  # struck out again


def test_an_animal_the_model_cannot_hold_is_left_out_and_counted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "ANIMALS", 4)
    true_run, failed = AnimalBeside.run, list[AnimalBeside]()

    def run(self: AnimalBeside, changes: Sequence[Change], minutes: int, wanted: Callable[[], bool]) -> bool:
        if not failed:
            failed.append(self)
            self.failed = True
            return False
        return true_run(self, changes, minutes, wanted)

    monkeypatch.setattr(AnimalBeside, "run", run)
    found = Expectations().get(_asked(tmp_path, PLAN, UNDER, SET))
    assert found is not None
    assert found.animals == 3
    assert found.as_json()["animals"] == 3
    assert all(value is not None for value in found.values["etco2_mmhg"]["middle"][2:])


def test_bands_of_a_question_are_in_order_and_cover_every_minute(tmp_path: Path) -> None:
    asked = _asked(tmp_path, PLAN, UNDER, SET)
    found = Expectations().get(replace(asked, minutes=10.0))
    assert found is not None
    assert list(found.at_min) == [float(minute) for minute in range(1, 11)]
    for key, band in found.values.items():
        assert {len(line) for line in band.values()} == {10}, key
        for low, middle, high in zip(band["low"], band["middle"], band["high"], strict=True):
            present = [value for value in (low, middle, high) if value is not None]
            assert present == sorted(present), key
            assert len(present) in {0, 3}, key


def test_a_change_before_the_beginning_or_past_the_end_is_not_run(tmp_path: Path) -> None:
    asked = _asked(tmp_path, PLAN, UNDER, SET, (300.0, "setting", {"tidal_volume_l": 5.0}), now_min=20.0)
    assert asked.case.changes == ()
    longer = _asked(
        tmp_path / "b", PLAN, UNDER, SET, (300.0, "setting", {"tidal_volume_l": 5.0}), now_min=310.0
    )
    assert longer.case.changes == (Change(at_min=299.0, settings={"tidal_volume_l": 5.0}),)


def test_while_the_animal_is_off_the_circle_it_is_the_same_case_for_a_minute(tmp_path: Path) -> None:
    told = (SET, (2.0, "event", {"what": "off the circle"}))
    asked = [
        beside(_state(tmp_path / str(place), *told), _at(now_min), assume=True)
        for place, now_min in enumerate((4.1, 4.8, 5.3))
    ]
    first, same, other = (it.case.changes if it else () for it in asked)
    assert first == same != other
