"""The register of equipment, and the log of a machine as a person reads it."""

from datetime import UTC, datetime, timedelta

import pytest

from lungeline.check import Item, PastLeakTest, due, item_from_json
from lungeline.check.machine_log import LogRow, MachineLog, What, last_of
from lungeline.check.verdict import Verdict
from lungeline.errors import InputError

FIRST = datetime(2026, 5, 1, 7, 40, tzinfo=UTC)
PROOF = {"outcome": "intact", "count": 3, "proven_count": 3, "at_seq": None, "reason": ""}


def test_what_is_overdue_soon_due_and_used_up_is_told() -> None:
    items = [
        Item(sort="ventilator", name="V1", serial="17", service_due_on="2026-05-30"),
        Item(sort="cylinder", name="O2", capacity_l=50, pressure_test_due_on="2026-06-15"),
        Item(sort="vaporiser", name="Iso", service_due_on="2027-01-01"),
        Item(sort="circle", name="Large", absorbent_used_hours=9.0, absorbent_good_for_hours=8.0),
    ]
    found = due(items, "2026-05-31")
    assert [(item.code, item.about) for item in found] == [
        ("equipment_overdue", "V1"), ("absorbent_used_up", "Large"), ("equipment_due_soon", "O2"),
    ]  # fmt: skip
    assert [item_from_json(item.as_json()) for item in items] == items


def test_an_item_nobody_can_read_is_refused() -> None:
    with pytest.raises(InputError, match="a date such as"):
        Item(sort="tube", name="26 mm", bore_mm=26, service_due_on="31.5.2026")
    with pytest.raises(InputError, match="ventilator"):
        item_from_json({"sort": "toaster", "name": "T"})
    with pytest.raises(InputError, match="serviced_on"):
        Item(sort="ventilator", name="V1", serviced_on="in May")


# --- the log --------------------------------------------------------------------------------------------


def weekly(leaks_ml_min: list[float]) -> tuple[PastLeakTest, ...]:
    """Leak tests a week apart, each known to 50 mL/min."""
    return tuple(
        PastLeakTest(
            machine="Circle 1",
            at=(FIRST + timedelta(weeks=week)).isoformat(),
            leak_ml_min=leak,
            leak_low_ml_min=leak - 50,
            leak_high_ml_min=leak + 50,
        )
        for week, leak in enumerate(leaks_ml_min)
    )


def row(seq: int, what: What, days: int, verdict: Verdict | None = "go", struck: str = "") -> LogRow:
    at = (FIRST + timedelta(days=days)).isoformat()
    return LogRow(
        seq=seq, at=at, by="A. Vet", what=what, says="…", uid=f"u{seq}", verdict=verdict, struck=struck
    )


def log(leaks_ml_min: list[float], retired: str = "", rows: tuple[LogRow, ...] = ()) -> MachineLog:
    return MachineLog(
        item=Item(sort="circle", name="Circle 1", service_due_on="2026-05-30"),
        retired=retired,
        rows=rows,
        past=weekly(leaks_ml_min),
        limits_ml_min=(300.0, 1000.0),
        proof=PROOF,
    )


def test_a_log_tells_what_is_due_what_gets_worse_and_how_the_last_test_compares() -> None:
    told = log([150.0, 180.0, 220.0, 250.0, 320.0]).findings("2026-05-31")
    codes = [finding.code for finding in told]
    assert set(codes) == {"equipment_overdue", "machine_getting_worse", "leak_as_before"}
    assert codes[-1] == "leak_as_before"  # gravest first
    assert [finding.code for finding in log([150.0], "cracked").findings("2026-05-31")] == [
        "leak_first_of_machine"
    ]  # nothing is due of what is no longer used


def test_the_last_check_of_a_sort_is_that_by_time_and_never_one_struck_out() -> None:
    rows = (
        row(2, "leak test", 9), row(3, "leak test", 2), row(4, "guided check", 20),
        row(5, "leak test", 12, struck="the Y was open"), row(6, "retired", 30, None),
    )  # fmt: skip
    last = last_of(rows, "leak test")
    assert last is not None
    assert last.seq == 2
    assert last_of(rows, "test lung") is None
    assert [each.seq for each in log([], rows=rows).checks] == [2, 3, 4]


def test_a_log_as_json_has_all_of_it() -> None:
    told = log([150.0, 180.0], rows=(row(2, "leak test", 0),)).as_json("2026-05-31")
    assert told["trend"]["course"] == "too few checks"
    assert told["compliance_trend"]["checks_number"] == 0
    assert [test["leak_ml_min"] for test in told["tests"]] == [150.0, 180.0]
    assert told["rows"][0]["verdict"] == "go"
    assert told["proof"] == PROOF
