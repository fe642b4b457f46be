"""Entries: one text for one value, names and moments, bodies by kind."""

import math
import struct
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest

from lungeline.case import Animal, Case, case_to_json
from lungeline.errors import InputError, MissingError, OutOfRangeError, UnknownNameError
from lungeline.record import KINDS, Draft, Entry, checked_body, entry_from_line
from lungeline.record.canonical import canonical, read

# RFC 8785 (Rundgren, Jordan & Erdtman 2020), appendix B: the bits of a double, and how it is written
RFC_8785_NUMBERS = {
    "0000000000000000": "0",
    "8000000000000000": "0",
    "0000000000000001": "5e-324",
    "8000000000000001": "-5e-324",
    "7fefffffffffffff": "1.7976931348623157e+308",
    "ffefffffffffffff": "-1.7976931348623157e+308",
    "4340000000000000": "9007199254740992",
    "c340000000000000": "-9007199254740992",
    "4430000000000000": "295147905179352830000",
    "44b52d02c7e14af5": "9.999999999999997e+22",
    "44b52d02c7e14af6": "1e+23",
    "44b52d02c7e14af7": "1.0000000000000001e+23",
    "444b1ae4d6e2ef4e": "999999999999999700000",
    "444b1ae4d6e2ef4f": "999999999999999900000",
    "444b1ae4d6e2ef50": "1e+21",
    "3eb0c6f7a0b5ed8c": "9.999999999999997e-7",
    "3eb0c6f7a0b5ed8d": "0.000001",
    "41b3de4355555553": "333333333.3333332",
    "41b3de4355555554": "333333333.33333325",
    "41b3de4355555555": "333333333.3333333",
    "41b3de4355555556": "333333333.3333334",
    "41b3de4355555557": "333333333.33333343",
    "becbf647612f3696": "-0.0000033333333333333333",
    "43143ff3c1cb0959": "1424953923781206.2",
}


@pytest.mark.parametrize(("bits", "text"), RFC_8785_NUMBERS.items())
def test_a_number_is_written_as_the_standard_says(bits: str, text: str) -> None:
    (number,) = struct.unpack(">d", bytes.fromhex(bits))
    assert canonical(number) == text


def test_the_example_of_the_standard_is_written_as_the_standard_says() -> None:
    # RFC 8785, 3.2.2 and 3.2.3
    value = {
        "numbers": [333333333.33333329, 1e30, 4.50, 2e-3, 0.000000000000000000000000001],
        "string": "\u20ac$\u000f\u000aA'\u0042\u0022\u005c\\\"/",
        "literals": [None, True, False],
    }
    assert canonical(value) == (
        '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
        '"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    )


def test_keys_are_in_the_order_of_their_utf_16_units() -> None:
    # RFC 8785, 3.2.3: the order of these keys
    keys = ["\u20ac", "\r", "\ufb33", "1", "\U0001f600", "\u0080", "\u00f6"]
    assert list(read(canonical(dict.fromkeys(keys, 0)))) == [
        "\r",
        "1",
        "\u0080",
        "\u00f6",
        "\u20ac",
        "\U0001f600",
        "\ufb33",
    ]


@pytest.mark.parametrize(
    "value", [math.nan, math.inf, "\ud800", 2**53, {1: 2}, object(), b"x"], ids=lambda it: type(it).__name__
)
def test_what_json_cannot_hold_is_refused(value: object) -> None:
    with pytest.raises(InputError):
        canonical(value)


def test_brackets_without_end_are_refused_and_do_not_crash() -> None:
    deep: list[Any] = []
    for _ in range(100_000):
        deep = [deep]
    with pytest.raises(InputError, match="too deep"):
        canonical(deep)
    with pytest.raises(InputError):
        read("[" * 100_000)


@pytest.mark.parametrize("text", ['{"a": 1}', "1.0", '{"b":1,"a":2}', '{"a":1,"a":1}', '"\\u0041"', "-0"])
def test_the_same_value_in_another_text_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        read(text)


def draft(**changed: Any) -> Draft:  # noqa: ANN401  any field of a draft
    usual: dict[str, Any] = {
        "uid": "u1",
        "case": "c1",
        "kind": "reading",
        "event_time": datetime(2026, 3, 1, 14, 5, tzinfo=timezone(timedelta(hours=1))),
        "author": "A. Vet",
        "device": "tablet-1",
        "device_seq": 1,
        "body": {"heart_rate_per_min": 36.0},
    }
    return Draft(**(usual | changed))


@pytest.mark.parametrize(
    "changed",
    [
        {"uid": ""},
        {"uid": "a b"},
        {"case": "../x"},
        {"author": " "},
        {"author": "two\nlines"},
        {"device_seq": 0},
        {"device_seq": True},
        {"event_time": datetime(2026, 3, 1)},  # noqa: DTZ001  the missing offset is what is refused
        {"body": [1]},
        {"body": {"x": math.nan}},
        {"corrects": ""},
    ],
    ids=str,
)
def test_a_draft_that_could_not_be_told_apart_or_written_is_refused(changed: dict[str, Any]) -> None:
    with pytest.raises(InputError):
        draft(**changed)


def test_a_body_is_a_copy_that_nobody_can_change() -> None:
    body = {"heart_rate_per_min": 36.0}
    kept = draft(body=body)
    body["heart_rate_per_min"] = 63.0
    assert kept.body["heart_rate_per_min"] == 36
    with pytest.raises(TypeError):
        kept.body["heart_rate_per_min"] = 63.0  # type: ignore[index]  # that it cannot be set is what is tested


def entry(**changed: Any) -> Entry:  # noqa: ANN401  any field of an entry
    usual: dict[str, Any] = {
        "uid": "u1",
        "case": "c1",
        "seq": 1,
        "kind": "note",
        "event_time": datetime(2026, 3, 1, 14, 5, 0, 123_999, tzinfo=timezone(timedelta(hours=1))),
        "entry_time": datetime(2026, 3, 1, 13, 5, tzinfo=UTC),
        "author": "שרה 🐴",
        "device": "tablet-1",
        "device_seq": 1,
        "body": {"text": "fine"},
        "corrects": None,
        "prev": "0" * 64,
        "hash": "a" * 64,
    }
    return Entry(**(usual | changed))


def test_a_line_gives_the_entry_back_with_its_offset() -> None:
    line = entry().line()
    again = entry_from_line(line)
    assert again == entry()
    assert again.line() == line
    assert '"event_time":"2026-03-01T14:05:00.123+01:00"' in line
    assert "\n" not in entry(body={"text": "two\nlines"}).line()


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("14:05:00.123+01:00", "14:05:00.123450+01:00"),
        ("13:05:00.000+00:00", "13:05:00.000Z"),
        ('"seq":1', '"seq":0'),
        ('"seq":1', '"seq":1,"sex":1'),
        ("entry/1", "entry/2"),
        ('"corrects":null,', ""),
    ],
)
def test_a_line_that_no_writer_of_ours_wrote_is_refused(old: str, new: str) -> None:
    line = entry().line()
    assert old in line
    with pytest.raises(InputError):
        entry_from_line(line.replace(old, new))


# --- bodies -------------------------------------------------------------------------------------------

OPENING = {"purpose": "real", "name": "Star", "species": "horse", "weight_kg": 520.0}
BODIES: dict[str, dict[str, Any]] = {
    "opening": OPENING,
    "reading": {"heart_rate_per_min": 36.0, "map_mmhg": 72.0, "estimated": True},
    "setting": {"peep_cmh2o": 10.0, "reason": "PaO2 low"},
    "drug": {"drug": "ketamine", "amount_mg": 1100.0, "route": "iv"},
    "infusion": {"drug": "dobutamine", "action": "start", "dose_ug_kg_min": 0.5},
    "controlled": {"drug": "ketamine", "drawn_mg": 2000.0, "wasted_mg": 900.0, "witness": "B. Vet"},
    "fluid": {"what": "crystalloid", "direction": "in", "volume_l": 5.0},
    "event": {"what": "intubated"},
    "gases": {"sample": "arterial", "pao2_mmhg": 210.0, "paco2_mmhg": 52.0},
    "check": {"item": "leak", "passed": True, "leak_ml_min": 200.0, "test_pressure_cmh2o": 30.0},
    "note": {"text": "first line\nsecond line"},
    "addendum": {"text": "seen next morning"},
    "advice": {"code": "spare_low", "done": "followed"},
    "phase": {"phase": "maintain"},
    "machine": {"schema": "lungeline.equipment_item/1", "name": "Circle 1"},
    "machine_check": {"schema": "lungeline.machine_leak/1", "name": "leak"},
    "retired": {"reason": "cracked"},
    "team": {"person": "B. Vet", "function": "surgeon", "presence": "left"},
    "handover": {"to": "B. Vet"},
    "recovery": {"standing_min": 55.0, "attempts_number": 2.0},
    "outcome": {"after": "7 days", "status": "alive"},
    "signature": {
        "meaning": "signed",
        "role": "anaesthetist",
        "head_count_number": 3.0,
        "head_hash": "0" * 64,
    },
    "clock": {"device_time": "x", "store_time": "y", "ahead_s": 9.5},
    "correction": {"reason": "slip", "kind": "reading", "body": {"heart_rate_per_min": 38.0}},
    "strike": {"reason": "wrong horse"},
}


def test_every_kind_takes_its_body_and_keeps_all_of_it() -> None:
    whole = case_to_json(Case(animal=Animal(species="horse", weight_kg=520)))
    doses = [{"drug": "ketamine", "use": "induction", "total_mg": 1144.0}, {"drug": "guaifenesin"}]
    given = BODIES | {"plan": {"case": whole, "doses": doses, "note": "as discussed"}}
    assert given.keys() == KINDS.keys()
    for kind, body in given.items():
        assert checked_body(kind, body) == body


@pytest.mark.parametrize(
    ("kind", "body", "error"),
    [
        ("machine", {"name": "Circle 1"}, MissingError),
        ("machine_check", {"schema": "another/1"}, MissingError),
        ("reading", {}, MissingError),
        ("reading", {"rhythm": "sinus"}, MissingError),
        ("reading", {"heart_rate_per_min": 3600.0}, OutOfRangeError),
        ("reading", {"heart_rate": 36.0}, InputError),
        ("setting", {"reason": "why not"}, MissingError),
        ("setting", {"tidal_volume_l": 6000.0}, OutOfRangeError),
        ("drug", {"amount_mg": 1.0}, MissingError),
        ("infusion", {"drug": "dobutamine", "action": "begin"}, UnknownNameError),
        ("note", {"text": ""}, InputError),
        ("note", {"text": "bell \x07"}, InputError),
        ("note", {"text": "x" * 2_000_001}, InputError),
        ("note", {"text": "x", "more": 1}, InputError),
        ("plan", {"note": "no case"}, MissingError),
        ("controlled", {"drug": "ketamine", "witness": "B. Vet"}, MissingError),
        ("strike", {}, MissingError),
        ("correction", {"reason": "slip", "kind": "reading"}, MissingError),
        ("correction", {"reason": "slip", "kind": "strike", "body": {"reason": "x"}}, InputError),
        ("correction", {"reason": "slip", "kind": "reading", "body": {"map_mmhg": 4000.0}}, OutOfRangeError),
        ("reeding", {"map_mmhg": 70.0}, UnknownNameError),
    ],
)
def test_a_body_its_kind_does_not_allow_is_refused(
    kind: str, body: dict[str, Any], error: type[InputError]
) -> None:
    with pytest.raises(error):
        checked_body(kind, body)


def test_a_missing_number_is_left_out_not_kept_as_nothing() -> None:
    assert checked_body("reading", {"map_mmhg": 70.0, "heart_rate_per_min": None}) == {"map_mmhg": 70.0}


def test_a_note_of_a_megabyte_is_kept_whole() -> None:
    text = "🐴" * 250_000  # four bytes each
    assert entry_from_line(entry(body={"text": text}).line()).body["text"] == text
