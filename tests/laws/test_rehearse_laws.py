"""Whatever a learner does, the rehearsal goes on, the gas balances, and the debrief prints."""

import math
import os
import random
from dataclasses import fields
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from lungeline.case.breath import Breath
from lungeline.case.fields import FieldDoc, described
from lungeline.case.manoeuvre import MANOEUVRES
from lungeline.case.settings import Settings
from lungeline.errors import InputError
from lungeline.rehearse import Outcome, Rehearsal, deeds, judge, play, scenarios
from lungeline.rehearse.debrief import debrief_lines

pytestmark = pytest.mark.slow
LEARNERS, MANY = int(os.environ.get("LUNGELINE_LEARNERS", "6")), 200
MOST_MANOEUVRE_MIN = 3.0


def _given(code: str, chance: random.Random) -> dict[str, Any]:
    """Return something legal, in its own range, to do with a deed; the animal may still refuse it."""
    if code == "set":
        doc = chance.choice(
            [it for it in described(Settings).values() if it.kind in {"number", "choice", "switch"}]
        )
        return {doc.name: _value(doc, chance)}
    if code in MANOEUVRES:
        docs = described(MANOEUVRES[code]).values()
        return {doc.name: _value(doc, chance, short=True) for doc in docs}
    return {}


def _value(doc: FieldDoc, chance: random.Random, *, short: bool = False) -> object:
    if doc.kind == "choice":
        return chance.choice(doc.choices)
    if doc.kind == "switch":
        return chance.random() < 0.5
    low, high = doc.low or 0.0, doc.high or 0.0
    if short and doc.name == "minutes":
        high = MOST_MANOEUVRE_MIN
    if doc.kind == "numbers":
        return [chance.uniform(low, min(high, 60.0)) for _ in range(chance.randint(1, 3))]
    # small values as often as large ones, so that many fit the animal
    floor = max(low, 1e-2)
    return min(high, max(low, math.exp(chance.uniform(math.log(floor), math.log(high)))))


def _wander(number: int, minutes: float = 30.0) -> tuple[Rehearsal, int]:
    chance = random.Random(number)  # noqa: S311  a wanderer, no secret
    scenario = chance.choice(scenarios())
    run = Rehearsal(scenario.model_copy(update={"minutes": minutes}), seed=number)
    codes, done = sorted(deeds()), 0
    while not run.over:
        code = chance.choice(codes)
        try:
            run.act(code, _given(code, chance))
            done += 1
        except InputError:
            pass  # refused in words, and nothing has changed
        run.advance(chance.uniform(1.0, 60.0))
    return run, done


def _check(number: int) -> None:
    run, done = _wander(number)
    assert done > 10
    for breath in run.breaths:
        values = [getattr(breath, field.name) for field in fields(Breath)]
        assert all(value is None or math.isfinite(value) for value in values), (number, breath)
    came_l = sum(run.live.ledger_l().values())
    residual = run.live.balance()
    assert max(abs(value) for value in residual.values()) <= max(1e-6, 1e-6 * came_l), (number, residual)
    outcome = judge(run)
    assert any("To take home" in line for line in debrief_lines(run.scenario, outcome))
    assert 0.0 <= outcome.parts["whole"] <= 1.0
    assert outcome.as_json()["simulated"] is True


@pytest.mark.parametrize("number", range(LEARNERS))
def test_no_learner_breaks_it(number: int) -> None:
    _check(number)


@pytest.mark.long
def test_two_hundred_learners_do_not_break_it() -> None:
    for number in range(1000, 1000 + MANY):
        _check(number)


@pytest.mark.parametrize("name", ["disconnection", "torsion_hypoxaemia", "low_flow_and_sighs"])
def test_harm_is_what_the_raw_rows_say(name: str) -> None:
    scenario = next(it for it in scenarios() if it.name == name)
    for script in ((), scenario.model_answer):
        outcome, run = play(scenario, script)
        _agrees(outcome, run)


def _agrees(outcome: Outcome, run: Rehearsal) -> None:
    """Reckon the sums anew, with arrays, from the rows of breaths alone."""
    rows = run.breaths
    times_min = np.array([row.time_s for row in rows] + [run.live.time_s]) / 60.0
    spans = np.diff(times_min)

    def column(name: str) -> NDArray[np.float64]:
        return np.array([np.nan if getattr(row, name) is None else getattr(row, name) for row in rows])

    oxygen, pressure = column("pao2_mmhg"), column("map_mmhg")
    air, peak = column("room_air_entrained_l"), column("peak_pressure_cmh2o")
    harm = outcome.harm
    assert harm.hypoxaemia_minutes == pytest.approx(spans[oxygen < 60.0].sum())
    assert harm.hypoxaemia_mmhg_min == pytest.approx(np.nansum(spans * np.clip(60.0 - oxygen, 0.0, None)))
    assert harm.hypotension_minutes == pytest.approx(spans[pressure < 70.0].sum())
    assert harm.room_air_l == pytest.approx(np.nanmax(air) - air[~np.isnan(air)][0])
    assert harm.pressure_cmh2o_min == pytest.approx(np.nansum(spans * np.clip(peak - 40.0, 0.0, None)))
