"""The whole plan: its form, its reasons, its schedule, and when it gives a green light."""

import json
import math
from typing import Any

import pytest

from lungeline.case import (
    Animal,
    Case,
    Cylinder,
    Procedure,
    Profile,
    Settings,
    Supply,
    case_from_toml,
    case_to_toml,
)
from lungeline.errors import UnknownNameError
from lungeline.plan import Plan, make_plan
from lungeline.reference import sources
from lungeline.simulate.run import simulate
from lungeline.words import say

pytestmark = pytest.mark.slow  # runs the compiled kernel
SECTIONS = (
    "settings", "rule_of_thumb", "expected", "spare", "priming", "supplies", "tubes", "drugs", "infusions",
    "emergency", "weaning", "findings", "profile", "sources",
)  # fmt: skip


@pytest.fixture(scope="module")
def plan() -> Plan:
    case = Case(
        animal=Animal(species="horse", weight_kg=550, condition="colic"),
        procedure=Procedure(kind="colic surgery", expected_min=60.0),
        supply=Supply(oxygen="cylinders"),
        cylinders=(Cylinder(size="us_h", gauge_bar=120.0),),
        title="A colic at night",
    )
    return make_plan(case, animals=12)


@pytest.fixture(scope="module")
def told(plan: Plan) -> dict[str, Any]:
    content: dict[str, Any] = json.loads(json.dumps(plan.as_json(), allow_nan=False))
    return content


def test_every_section_is_there(told: dict[str, Any]) -> None:
    for section in SECTIONS:
        assert section in told
        assert told[section] or section == "infusions"


def test_what_is_simulated_says_so(told: dict[str, Any]) -> None:
    assert {"expected", "course", "weaning"} <= set(told["simulated"])


def test_numbers_stand_plain_and_expected_ones_with_their_range(told: dict[str, Any]) -> None:
    assert isinstance(told["supplies"]["oxygen_minutes"], float)
    assert isinstance(told["spare"]["needed_l"], float)
    assert isinstance(told["spare"]["ceiling_l"], float)
    assert isinstance(told["priming"]["minutes"], float)
    peak = told["expected"]["peak_pressure_cmh2o"]
    assert peak["low"] <= peak["value"] <= peak["high"]


def test_every_number_can_be_asked_why(plan: Plan) -> None:
    known = sources()
    for name, number in plan.numbers().items():
        why = plan.why(name)
        assert why["formula"], name
        assert all(key in known or key in {"case", "profile"} for key in number.sources), (
            name,
            number.sources,
        )


def test_a_number_that_is_none_of_the_plan_is_refused_with_the_nearest(plan: Plan) -> None:
    with pytest.raises(UnknownNameError, match=r"expected\.peak_pressure_cmh2o"):
        plan.why("expected.peak_presure_cmh2o")


def test_every_finding_can_be_said(plan: Plan) -> None:
    for finding in plan.findings:
        said = say(finding)
        assert "…" not in said.says, finding
        assert said.do


def test_the_schedule_runs_unchanged_as_a_case(plan: Plan) -> None:
    again = case_from_toml(case_to_toml(plan.planned))
    assert again.settings == plan.settings
    assert [change.at_min for change in again.changes] == [change.at_min for change in plan.changes]
    run = simulate(again, 20.0)
    assert run.at_end.set_tidal_volume_l == pytest.approx(plan.settings.tidal_volume_l)


def test_the_limit_is_the_upper_peak_and_the_margin(plan: Plan) -> None:
    upper = plan.expected.numbers["peak_pressure_cmh2o"].high or 0.0
    wanted = min(upper + plan.profile.pressure_limit_margin_cmh2o, plan.profile.pressure_limit_cap_cmh2o)
    assert plan.settings.pressure_limit_cmh2o == pytest.approx(wanted, abs=0.5)  # set in whole cmH2O


def test_a_cap_that_clips_is_told() -> None:
    low_cap = Profile(pressure_limit_cap_cmh2o=16.0, accepted_peak_cmh2o=30.0)
    clipped = make_plan(Case(animal=Animal(species="horse", weight_kg=550)), low_cap, animals=12)
    assert clipped.settings.pressure_limit_cmh2o == 16.0
    assert any(finding.code == "pressure_limit_clips" for finding in clipped.findings)


def test_no_species_that_was_not_checked_gets_a_green_light() -> None:
    plan = make_plan(Case(animal=Animal(species="donkey", weight_kg=180)), animals=4)
    assert not plan.green
    assert plan.as_json()["validated"] is False


def test_a_limit_asked_for_stays() -> None:
    asked = Case(animal=Animal(species="horse", weight_kg=500), settings=Settings(pressure_limit_cmh2o=44.0))
    assert make_plan(asked, animals=4).settings.pressure_limit_cmh2o == 44.0


def test_the_same_seed_gives_the_same_plan() -> None:
    case = Case(animal=Animal(species="horse", weight_kg=500))
    first, second = (make_plan(case, animals=4, seed=3).as_json() for _ in range(2))
    assert first == second


def test_the_course_reaches_the_depth_wanted(plan: Plan) -> None:
    reached = plan.course.first_reached_min(1.0)
    assert reached is not None
    assert reached < 30.0
    assert all(math.isfinite(minute.lowest_reservoir_l) for minute in plan.course.minutes)
    assert sum(minute.room_air_l for minute in plan.course.minutes) < 0.01


def test_the_later_dial_leads_to_the_depth_the_clinic_wants(plan: Plan) -> None:
    depth = plan.course.minutes[-1].breath.mac_multiple or 0.0
    assert depth == pytest.approx(plan.profile.mac_multiple, rel=0.12)  # moved once, in tenths of a per cent


def test_the_range_of_a_taped_weight_goes_into_what_is_set_by_it() -> None:
    taped = case_from_toml('[animal]\nspecies = "horse"\ngirth_cm = 189\nlength_cm = 183\n')
    reasons = make_plan(taped, animals=2).reasons
    volume = reasons["tidal_volume_l"]
    assert volume.low is not None
    assert volume.high is not None
    assert volume.low < (volume.value or 0.0) < volume.high
