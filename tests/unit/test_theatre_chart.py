"""The lanes of a whole case for a screen: what was set and measured, and where rows are missing."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from lungeline.case import Animal, Case
from lungeline.case.json_form import case_to_json
from lungeline.theatre import Cases, Desk
from lungeline.theatre.case_json import record_json
from lungeline.theatre.chart_json import chart_json
from lungeline.theatre.completeness import WIDEST_GAP_MIN, missing, reading_gaps

BEGAN = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)
OPENING = {"purpose": "real", "name": "Star", "species": "horse", "weight_kg": 540.0}
ENTERED: list[tuple[float, str, dict[str, Any]]] = [
    (0, "phase", {"phase": "induce"}),
    (4, "phase", {"phase": "maintain"}),
    (5, "setting", {"tidal_volume_l": 6.5, "fresh_gas_flow_l_min": 8.0, "vaporiser_percent": 3.0}),
    (6, "reading", {"map_mmhg": 64.0, "heart_rate_per_min": 36.0, "etco2_mmhg": 44.0}),
    (8, "infusion", {"drug": "dobutamine", "action": "start", "dose_ug_kg_min": 0.5}),
    (11, "reading", {"map_mmhg": 172.0, "tidal_volume_expired_l": 6.1, "estimated": True}),
    (25, "reading", {"map_mmhg": 70.0, "diastolic_pressure_mmhg": 55.0, "systolic_pressure_mmhg": 98.0}),
    (26, "drug", {"drug": "ketamine", "amount_mg": 100.0}),
    (30, "infusion", {"drug": "dobutamine", "action": "stop", "amount_mg": 6.0}),
    (31, "phase", {"phase": "recover"}),
]


class _Clock:
    at = BEGAN

    def __call__(self) -> datetime:
        """Tell the time."""
        return self.at


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    cases = Cases(tmp_path / "data", key_file=tmp_path / "key" / "record.key")
    return Desk(cases=cases, author="A. Vet", device="tablet", clock=_Clock())


@pytest.fixture
def case(desk: Desk) -> str:
    opened = desk.open_case(OPENING).case
    for at_min, kind, body in ENTERED:
        desk.enter(opened, kind, body, event_time=BEGAN + timedelta(minutes=at_min))
    return opened


def _at(minutes: float) -> datetime:
    return BEGAN + timedelta(minutes=minutes)


def test_a_lane_holds_one_unit_and_every_value_as_it_was_stored(desk: Desk, case: str) -> None:
    chart = chart_json(desk.cases.read(case).state, _at(32))
    measured = {one["key"]: one["points"] for lane in chart["lanes"] for one in lane["series"]}
    # by the store's own clock everything was entered long after it was: late
    assert measured["map_mmhg"] == [(6.0, 64.0, "l"), (11.0, 172.0, "el"), (25.0, 70.0, "l")]
    assert measured["heart_rate_per_min"] == [(6.0, 36.0, "l")]
    set_ = {one["key"]: one["points"] for lane in chart["lanes"] for one in lane["steps"]}
    assert set_["fresh_gas_flow_l_min"] == [(5.0, 8.0, "")]
    assert set_["tidal_volume_l"] == [(5.0, 6.5, "")]
    units = [
        {one["key"].rpartition("_")[2] for one in (*lane["series"], *lane["steps"])}
        for lane in chart["lanes"]
    ]
    assert all(len(each) == 1 for each in units), units
    for lane in chart["lanes"]:
        values = [point[1] for one in (*lane["series"], *lane["steps"]) for point in one["points"]]
        assert lane["low"] <= min(values) <= max(values) <= lane["high"]
    (spans,) = [lane["spans"] for lane in chart["lanes"] if lane["spans"]]
    assert spans == [(25.0, 55.0, 98.0)]


def test_parts_infusions_and_marks_lie_where_they_were(desk: Desk, case: str) -> None:
    chart = chart_json(desk.cases.read(case).state, _at(40))
    assert chart["began"] == BEGAN.isoformat()
    assert chart["minutes"] == 40  # the case goes on: up to now
    assert [(it["phase"], it["from_min"], it["to_min"]) for it in chart["parts"]] == [
        ("induce", 0.0, 4.0),
        ("maintain", 4.0, 31.0),
        ("recover", 31.0, None),
    ]
    assert chart["infusions"] == [{"drug": "dobutamine", "from_min": 8.0, "to_min": 30.0}]
    assert [(it["kind"], it["at_min"]) for it in chart["marks"]] == [("drug", 26.0)]


def test_what_was_struck_out_is_not_drawn_and_opens_a_gap(desk: Desk, case: str) -> None:
    before = chart_json(desk.cases.read(case).state, _at(32))
    # arithmetic: rows at 6, 11, 25; under from 0 to 31; widest allowed is 7: only 11 to 25 is wider
    assert before["gaps"] == [[11.0, 25.0]]
    (row,) = (item for item in desk.cases.read(case).state.items if item.event_time == _at(11))
    desk.strike(case, row.entry.seq, "another horse")
    after = chart_json(desk.cases.read(case).state, _at(32))
    assert after["gaps"] == [[6.0, 25.0]]
    assert [point[0] for one in after["lanes"][0]["series"] for point in one["points"]] == [6.0, 25.0]


def test_gaps_are_those_the_finding_counts_and_are_wider_than_they_may_be(desk: Desk, case: str) -> None:
    now = desk.cases.read(case)
    gaps = reading_gaps(now.state, _at(60))
    (found,) = [it for it in missing(now.state, _at(60)) if it.code == "record_readings_gap"]
    assert found.figures["gaps_number"] == len(gaps)
    assert all((end - begin) > timedelta(minutes=WIDEST_GAP_MIN) for begin, end in gaps)
    assert all(one[1] <= other[0] for one, other in pairwise(gaps))


def test_a_case_that_was_just_opened_has_an_empty_chart(desk: Desk) -> None:
    opened = desk.open_case(OPENING).case
    chart = chart_json(desk.cases.read(opened).state, BEGAN)
    assert chart["lanes"] == []
    assert chart["gaps"] == []
    assert chart["minutes"] > 0


def test_doses_stand_beside_the_plan_in_the_record(desk: Desk) -> None:
    opened = desk.open_case(OPENING).case
    animal = Animal(species="horse", weight_kg=540.0)
    planned = {"case": case_to_json(Case(title="planned", animal=animal))}
    doses = {"doses": [{"drug": "ketamine", "use": "induction", "total_mg": 1188.0}]}
    desk.enter(opened, "plan", planned | doses)
    desk.enter(opened, "drug", {"drug": "ketamine", "amount_mg": 2400.0})
    desk.enter(opened, "drug", {"drug": "morphine", "amount_mg": 54.0})
    told = record_json(desk.cases.read(opened), BEGAN, ())["beside_plan"]
    assert [(it["drug"], it["planned_mg"], it["in_plan"], it["more"]) for it in told] == [
        ("ketamine", 1188.0, True, True),
        ("morphine", None, False, False),
    ]
