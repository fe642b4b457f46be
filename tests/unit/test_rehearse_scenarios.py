"""Every scenario is passed by its model answer, and failed by doing nothing and by what tempts."""

from pathlib import Path

import pytest

from lungeline.rehearse import Rehearsal, Scenario, judge, play, scenarios
from lungeline.rehearse.scenario_file import FOLDER, scenario_named

pytestmark = pytest.mark.slow  # the whole time step, for hours of simulated time
NAMES = sorted(path.stem for path in FOLDER.glob("*.toml"))


@pytest.fixture(params=NAMES, scope="module")
def scenario(request: pytest.FixtureRequest) -> Scenario:
    return scenario_named(request.param)


def test_the_model_answer_passes(scenario: Scenario) -> None:
    outcome, _ = play(scenario, scenario.model_answer)
    missed = [(each.code, each.how, each.at_s) for each in outcome.critical_actions if not each.met]
    assert outcome.passed, missed


def test_doing_nothing_fails(scenario: Scenario) -> None:
    outcome, _ = play(scenario, ())
    assert not outcome.passed


def test_what_tempts_fails(scenario: Scenario) -> None:
    for wrong in scenario.wrong:
        outcome, _ = play(scenario, wrong.script)
        assert not outcome.passed, wrong.why


def test_the_same_seed_gives_the_same_rehearsal(scenario: Scenario) -> None:
    first, one = play(scenario, scenario.model_answer, seed=5)
    again, other = play(scenario, scenario.model_answer, seed=5)
    assert first == again
    assert one.readings() == other.readings()
    assert one.readings() != play(scenario, scenario.model_answer, seed=6)[1].readings()


def test_no_two_scenarios_have_a_number_or_name_in_common() -> None:
    known = scenarios()
    assert len({it.number for it in known}) == len({it.name for it in known}) == len(known) == len(NAMES)
    assert all(Path(it.name).stem == it.name for it in known)


def test_going_back_and_doing_the_same_gives_the_same() -> None:
    scenario = scenario_named("disconnection")
    run = Rehearsal(scenario)
    run.advance(30.0)
    kept = run.keep()
    for _ in range(2):
        run.back_to(kept)
        for step in scenario.model_answer:
            run.advance(step.at_s - run.now_s)
            run.act(step.deed, step.with_)
        run.advance(600.0)
        first = judge(run)
        last = run.breaths
    run.back_to(kept)
    assert run.now_s == pytest.approx(30.0)
    assert not run.acts
    straight, other = play(scenario, scenario.model_answer)
    assert first.critical_actions == straight.critical_actions
    # the model splits its time differently on the two ways; the animal is the same
    assert last[-1].pao2_mmhg == pytest.approx(other.breaths[-1].pao2_mmhg, rel=1e-6)
