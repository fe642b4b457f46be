"""On paper: the debrief in its order whatever was done, the learner's page apart, the guide to the bench."""

import io
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from pypdf import PdfReader

from lungeline.case import Case, FaultEvent, Profile
from lungeline.case.fields import described
from lungeline.check.register import Item
from lungeline.export.pdf.rehearsal_sheets import Marked
from lungeline.export.pdf.timeline_drawing import by_sign
from lungeline.rehearse import Rehearsal, Scenario, deeds, judge, play, scenario_named, scenarios
from lungeline.rehearse.bench_readings import WHERE, BenchReadings
from lungeline.rehearse.quantities import HARM
from lungeline.rehearse.scenario import Step
from lungeline.rehearse.timeline import timeline
from lungeline.rehearse.what_if import what_if
from lungeline.simulate.faults import FAULTS
from lungeline.theatre.printed_bench import print_bench_guide
from lungeline.theatre.printed_debrief import print_debrief
from lungeline.theatre.printed_handout import print_handout

pytestmark = pytest.mark.slow
PARTS = ("1 Reactions", "2 Description", "HIDDEN", "3 Analysis", "4 Summary")


def _step(at_s: float, deed: str, **given: object) -> Step:
    return Step.model_validate({"at_s": at_s, "deed": deed, "with": given})


def _pages(content: bytes) -> list[str]:
    read = PdfReader(io.BytesIO(content)).pages
    return [" ".join(page.extract_text().replace("\u200b", "").split()) for page in read]


def _debrief(scenario: Scenario, script: Sequence[Step]) -> list[str]:
    outcome, run = play(scenario, script)
    return _pages(print_debrief(scenario, outcome, timeline(run)))


def _check_order(pages: Sequence[str]) -> None:
    whole = " ".join(pages)
    places = [whole.index(part) for part in PARTS]
    assert places == sorted(places)
    # what was hidden stands on no page that is asked about before
    assert "HIDDEN" not in pages[0]
    assert "3 Analysis" not in pages[0]


def test_it_asks_in_order_and_tells_what_was_met_when_and_what_it_did() -> None:
    scenario = scenario_named("disconnection")
    script = (_step(75.0, "look at capnogram"), _step(90.0, "reconnect"), _step(100.0, "clear sample line"))
    pages = _debrief(scenario, script)
    whole = " ".join(pages)
    _check_order(pages)
    for each in scenario.critical:
        assert each.says in whole
    assert "3 of 3 met" in whole
    assert "1:30" in whole  # reconnected, met
    for says, _ in HARM.values():
        assert says in whole
    assert "A flat line." in whole
    for point in scenario.teaching:
        assert " ".join(point.says.split()) in whole
        assert point.source in whole
    assert all(line in whole for line in scenario.simplified)
    assert "Change the sample line" in whole  # was not called for
    assert FAULTS["disconnection"].title in whole


def test_every_page_says_simulated_and_none_gives_a_score() -> None:
    pages = _debrief(scenario_named("disconnection"), ())
    for number, page in enumerate(pages, start=1):
        assert page.startswith("SIMULATED")
        assert f"{number} / {len(pages)}" in page
    whole = " ".join(pages).lower()
    assert "score" not in whole
    assert "rank" not in whole
    assert "place 1" not in whole


def test_it_prints_for_who_did_nothing_and_for_who_has_not_begun() -> None:
    scenario = scenario_named("torsion_hypoxaemia")
    pages = _debrief(scenario, ())
    _check_order(pages)
    assert "NOT MET" in " ".join(pages)
    begun = Rehearsal(scenario)
    only_begun = _pages(print_debrief(scenario, judge(begun), timeline(begun)))
    assert "no breath was taken" in " ".join(only_begun)


def test_it_prints_for_an_animal_that_died_in_the_first_minute() -> None:
    scenario = scenario_named("disconnection")
    dead = scenario.model_copy(
        update={
            "case": _with_fault(
                scenario, FaultEvent(code="cardiac_arrest", at_min=0.0, severity_fraction=1.0)
            )
        }
    )
    outcome, run = play(dead, ())
    first = next(breath for breath in run.breaths if breath.time_s >= run.begun_s + 50.0)
    assert first.map_mmhg is not None
    assert first.map_mmhg < 20.0  # nothing that keeps an animal alive
    pages = _pages(print_debrief(dead, outcome, timeline(run)))
    _check_order(pages)
    assert FAULTS["cardiac_arrest"].title in " ".join(pages)


def _with_fault(scenario: Scenario, fault: FaultEvent) -> Case:
    return replace(scenario.case, faults=(fault,))


def test_it_prints_all_of_whatever_was_done() -> None:
    scenario = scenario_named("torsion_hypoxaemia")
    codes = [code for code, deed in deeds().items() if deed.sort in {"look", "mend", "give"}]
    script = [_step(5.0 + 10.0 * place, code) for place, code in enumerate((*codes, *codes))]
    script.append(_step(1700.0, "tell the surgeon", text="<svg> & #panic() \\ " + "x" * 300))
    pages = _debrief(scenario, script)
    _check_order(pages)
    whole = " ".join(pages)
    for code in codes:
        assert " ".join(deeds()[code].label.split()[:3]) in whole, code


def test_the_other_way_stands_beside_it() -> None:
    scenario = scenario_named("disconnection")
    done = (_step(75.0, "look at bellows"),)
    outcome, run = play(scenario, done)
    other = what_if(scenario, done, [_step(90.0, "reconnect")], from_s=80.0)
    whole = " ".join(_pages(print_debrief(scenario, outcome, timeline(run), other_way=other)))
    assert "What if, from 1:20 on" in whole
    assert "1:30 Put the circle back on the tube" in whole
    assert "it would have been" in whole


def test_the_same_debrief_gives_the_same_bytes() -> None:
    scenario = scenario_named("disconnection")
    outcome, run = play(scenario, scenario.model_answer)
    at = datetime(2026, 1, 2, 3, 4, tzinfo=UTC)
    first, again = (print_debrief(scenario, outcome, timeline(run), printed_at=at) for _ in range(2))
    assert first == again


def test_what_happened_bears_a_letter_and_what_was_done_a_number() -> None:
    marks = [Marked(at_s=float(at), text="", sort="happened") for at in range(28)]
    marks.append(Marked(at_s=0.5, text="", sort="done"))
    signs = [sign for sign, _ in by_sign(marks)]
    assert signs[:3] == ["A", "1", "B"]
    assert signs[-2:] == ["A1", "B1"]  # after Z
    assert len(set(signs)) == len(signs)


# -- the handout -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("scenario", scenarios(), ids=lambda it: it.name)
def test_the_learners_page_gives_nothing_of_the_trainers_away(scenario: Scenario) -> None:
    learner, *trainer = _pages(print_handout(scenario))
    assert "FOR THE LEARNER" in learner
    assert " ".join(scenario.story.split()) in learner
    assert scenario.objective in learner
    hers = " ".join(trainer)
    assert all("FOR THE TRAINER ONLY" in page for page in trainer)
    assert "FOR THE LEARNER" not in hers
    told = [each.says for each in scenario.critical]
    told += [it.why for it in scenario.wrong] + [it.say for it in scenario.happenings if it.say]
    told += [it.says for it in scenario.teaching] + [it.source for it in scenario.teaching]
    for each in told:
        words = " ".join(each.split())
        assert words in hers, words
        assert words not in learner, words
    for step in scenario.model_answer:
        assert deeds()[step.deed].label in hers
    for it in scenario.happenings:
        if it.fault:
            assert FAULTS[it.fault].title in hers
            assert FAULTS[it.fault].title not in learner
    assert all(page.startswith("SIMULATED") for page in (learner, *trainer))


# -- the bench ---------------------------------------------------------------------------------------------


def test_the_bench_guide_tells_what_to_set_up_read_and_type() -> None:
    scenario = scenario_named("disconnection")
    whole = " ".join(_pages(print_bench_guide(scenario)))
    docs = described(BenchReadings)
    for key, where in WHERE.items():
        assert docs[key].label in whole
        assert where in whole
    assert scenario.happenings[0].say in whole
    assert "No animal is ever connected" in whole
    assert "leak test included" in whole


def test_the_bench_guide_calls_parts_as_the_clinic_does_and_names_no_maker() -> None:
    parts = (
        Item(sort="ventilator", name="Theatre 1, big bellows", made_by="Somebody Ltd", serial="S-1"),
        Item(sort="circle", name="Big circle"),
    )
    profile = Profile(
        name="Kestrel Moor, made up",
        signed_by="A. N. Example",
        signed_on="2026-11-01",
        pressure_limit_cap_cmh2o=45.0,
    )
    whole = " ".join(
        _pages(print_bench_guide(scenario_named("disconnection"), profile=profile, machines=parts))
    )
    assert "Take Theatre 1, big bellows only while" in whole
    assert "Big circle" in whole
    assert "Kestrel Moor, made up" in whole
    assert "at most 45 cmH2O" in whole
    assert "Somebody Ltd" not in whole
