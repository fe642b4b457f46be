"""A hand on a slider: each number answered, and only the newest question to its end."""

import threading
from dataclasses import replace

import pytest

from lungeline.case import Animal, Case, Change, Profile
from lungeline.plan import Preview
from lungeline.plan.breath_curves import RATE_HZ
from lungeline.plan.model import Model
from lungeline.plan.preview import preview_of

pytestmark = pytest.mark.slow  # runs the compiled kernel
CASE = Case(animal=Animal(species="horse", weight_kg=500))


def test_the_breath_is_that_of_the_model() -> None:
    changed = {"tidal_volume_l": 6.0}
    assert Preview(CASE).breath(changed) == Model(CASE).steady(replace(CASE.settings, **changed))  # type: ignore[arg-type]  # a number


def test_what_is_asked_for_stays_and_the_rest_is_solved_around_it() -> None:
    answer = Preview(CASE).answer({"tidal_volume_l": 6.4})
    assert answer is not None
    assert answer.settings.tidal_volume_l == 6.4
    assert 45.0 <= (answer.breath.paco2_mmhg or 0.0) <= 60.0
    assert len(answer.course.minutes) == 120


def test_the_newest_question_wins() -> None:
    preview = Preview(CASE)
    asked = [5.0 + 0.1 * n for n in range(8)]
    answers: dict[float, object] = {}
    begin = threading.Barrier(len(asked))

    def ask(volume_l: float) -> None:
        begin.wait()
        answers[volume_l] = preview.answer({"tidal_volume_l": volume_l})

    threads = [threading.Thread(target=ask, args=(volume_l,)) for volume_l in asked]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    answered = [volume_l for volume_l, answer in answers.items() if answer is not None]
    assert len(answered) == 1  # all but the last to ask were superseded
    assert preview.answer({"tidal_volume_l": 5.0}) is not None


def test_a_hand_is_answered_with_the_same_settings_as_a_whole_answer() -> None:
    preview = Preview(CASE)
    changed = {"respiratory_rate_per_min": 6.0}
    shape, answer = preview.shape(changed), preview.answer(changed)
    assert shape is not None
    assert answer is not None
    assert shape.settings == answer.settings
    course = preview.course(changed)
    assert course is not None
    assert [each.as_json() for each in course.minutes] == [each.as_json() for each in answer.course.minutes]


def test_the_curves_hold_the_breath_of_the_numbers() -> None:
    shape = Preview(CASE).shape({"tidal_volume_l": 6.0})
    assert shape is not None
    curves, breath = shape.curves, shape.breath
    inspired_l = (
        sum(flow for flow in curves.flow_l_s if flow > 0.0) / RATE_HZ
    )  # a sum of samples is an integral
    assert inspired_l == pytest.approx(breath.tidal_volume_inspired_l, rel=0.02)
    assert max(curves.pressure_cmh2o) == pytest.approx(breath.peak_pressure_cmh2o, rel=0.02)
    assert max(curves.co2_mmhg) == pytest.approx(breath.etco2_mmhg, rel=0.02)
    length_s = curves.time_s[-1] - curves.time_s[0]
    # before the inspiration and one cycle, to a sample either way
    assert length_s == pytest.approx(0.4 + 60.0 / shape.settings.respiratory_rate_per_min, abs=0.05)


def test_spare_gas_makes_room_for_a_larger_breath() -> None:
    case = replace(CASE, settings=replace(CASE.settings, spare_volume_l=13.0), assumed_settings=())
    shape = preview_of(case, case.settings, (), Profile()).shape({"tidal_volume_l": 9.0})
    assert shape is not None
    # arithmetic: a reservoir of 20 L less a breath of 9 L
    assert shape.settings.spare_volume_l == pytest.approx(11.0)


def test_what_somebody_asks_for_is_not_changed_later() -> None:
    flow = "fresh_gas_flow_l_min"
    preview = Preview(CASE, changes=(Change(at_min=15.0, settings={flow: 2.0, "vaporiser_percent": 2.0}),))
    asked, left = preview.course({flow: 12.0}), preview.course({"peep_cmh2o": 6.0})
    assert asked is not None
    assert left is not None
    assert asked.minutes[40].fresh_gas_l == pytest.approx(asked.minutes[9].fresh_gas_l, rel=0.02)
    # arithmetic: the flow goes from the rule's to 2 L/min
    share = 2.0 / CASE.settings.fresh_gas_flow_l_min
    assert left.minutes[40].fresh_gas_l == pytest.approx(share * left.minutes[9].fresh_gas_l, rel=0.02)


def test_of_a_species_nobody_checked_nothing_is_moved() -> None:
    foal = Case(animal=Animal(species="foal", weight_kg=60))
    shape = Preview(foal).shape({"respiratory_rate_per_min": 8.0})
    assert shape is not None
    assert shape.settings.tidal_volume_l == foal.settings.tidal_volume_l
