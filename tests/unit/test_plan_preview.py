"""A hand on a slider: each number answered, and only the newest question to its end."""

import threading
from dataclasses import replace

import pytest

from lungeline.case import Animal, Case
from lungeline.plan import Preview
from lungeline.plan.model import Model

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
