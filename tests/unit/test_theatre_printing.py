"""The printed record: everything that was entered stands in it, and so does what became of it."""

import contextlib
import io
import sqlite3
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from lungeline.case.fields import FieldDoc, described
from lungeline.case.settings import Settings
from lungeline.record.bodies import Gases, Vitals
from lungeline.record.kinds import KINDS
from lungeline.theatre import Cases, Desk, sign
from lungeline.theatre.demo import make_clinic
from lungeline.theatre.printing import handover_lines, print_handover, print_record

BEGAN = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)
NAME = "Šárka נועה"
ENTERED: list[tuple[float, str, dict[str, Any]]] = [
    (0, "phase", {"phase": "induce"}),
    (1, "drug", {"drug": "ketamine", "amount_mg": 1100.0, "route": "IV"}),
    (2, "check", {"item": "leak test", "passed": True, "leak_ml_min": 180.0}),
    (4, "phase", {"phase": "maintain"}),
    (5, "setting", {"tidal_volume_l": 6.5, "peep_cmh2o": 5.0}),
    (6, "reading", {"map_mmhg": 64.0, "etco2_mmhg": 44.0, "peak_pressure_cmh2o": 21.0}),
    (8, "infusion", {"drug": "dobutamine", "action": "start", "dose_ug_kg_min": 0.5}),
    (9, "controlled", {"drug": "ketamine", "drawn_mg": 1200.0, "witness": "B. Nurse"}),
    (9.5, "controlled", {"drug": "ketamine", "wasted_mg": 100.0, "witness": "B. Nurse"}),
    (11, "reading", {"map_mmhg": 172.0, "etco2_mmhg": 42.0, "estimated": True}),
    (12, "fluid", {"what": "Hartmann", "direction": "in", "volume_l": 5.0}),
    (14, "gases", {"sample": "arterial", "paco2_mmhg": 47.0, "pao2_mmhg": 310.0}),
    (15, "event", {"what": "surgery begins"}),
    (
        16,
        "note",
        {"text": "a note with a\nsecond line, and a verylongwordthatnobodycouldeverbreakbyhandinaline"},
    ),
    (17, "advice", {"code": "pressure_low_expected", "done": "followed"}),
    (18, "handover", {"to": "C. Night", "detail": "stable"}),
    (60, "infusion", {"drug": "dobutamine", "action": "stop", "amount_mg": 14.0}),
    (62, "phase", {"phase": "recover"}),
    (100, "recovery", {"standing_min": 38.0, "attempts_number": 2.0, "score": "2 of 5"}),
    (110, "phase", {"phase": "closed"}),
]


class _Clock:
    def __init__(self) -> None:
        """Begin at the beginning."""
        self.at = BEGAN

    def __call__(self) -> datetime:
        """Tell the time."""
        return self.at


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    cases = Cases(tmp_path / "data", key_file=tmp_path / "key" / "record.key")
    return Desk(cases=cases, author="A. Vet", device="tablet", clock=_Clock())


def _kept(desk: Desk, purpose: str = "real") -> str:
    opening = {
        "purpose": purpose, "name": NAME, "species": "horse", "weight_kg": 540.0, "weighed_by": "tape",
        "procedure": "laparotomy",
    }  # fmt: skip
    case = desk.open_case(opening).case
    for at_min, kind, body in ENTERED:
        desk.enter(case, kind, body, event_time=BEGAN + timedelta(minutes=at_min))
    return case


def _pages(content: bytes) -> list[str]:
    return [
        " ".join(page.extract_text().replace("\u200b", "").split())
        for page in PdfReader(io.BytesIO(content)).pages
    ]


def test_every_entry_stands_in_it_with_animal_weight_and_page_on_every_sheet(desk: Desk) -> None:
    case = _kept(desk)
    pages = _pages(print_record(desk, case))
    whole = " ".join(pages)
    for _, kind, _body in ENTERED:
        assert KINDS[kind].label.split()[0] in whole, kind  # a narrow column breaks the rest
    for told in (
        "1100 mg",
        "180 mL/min",
        "B. Nurse",
        "C. Night",
        "2 of 5",
        "pressure_low_expected",
        "second line",
    ):
        assert told in whole, told
    for number, page in enumerate(pages, start=1):
        assert "540 kg by tape" in page
        assert f"{number} / {len(pages)}" in page


def test_a_correction_and_a_strike_out_show_the_old_the_new_who_and_why(desk: Desk) -> None:
    case = _kept(desk)
    reading = next(e for e in desk.cases.read(case).entries if e.body.get("map_mmhg") == 172.0)
    note = next(e for e in desk.cases.read(case).entries if e.kind == "note")
    desk.correct(case, reading.seq, "slip of a digit", {"map_mmhg": 72.0})
    desk.strike(case, note.seq, "wrong animal")
    whole = " ".join(_pages(print_record(desk, case)))
    assert "mean arterial pressure 172 mmHg" in whole
    assert "slip of a digit" in whole
    assert "mean arterial pressure 72 mmHg" in whole
    assert "wrong animal" in whole
    assert "struck out" in whole
    assert "corrected, late" in whole
    assert "see its row" not in whole  # told of rows in columns alone, and none of them was struck out


def test_the_signature_stands_with_its_head_and_what_came_later_is_told(desk: Desk) -> None:
    case = _kept(desk)
    signature = sign(desk, case, role="anaesthetist", because="the rest is on paper")
    desk.enter(case, "addendum", {"text": "walked home"}, event_time=BEGAN + timedelta(days=1))
    whole = " ".join(_pages(print_record(desk, case)))
    assert str(signature.body["head_hash"]) in whole.replace(" ", "")
    assert "A. Vet, anaesthetist" in whole
    assert "proven by a head" in whole
    added = whole[whole.index("Added after signing") : whole.index("Drugs given")]
    assert "walked home" in added
    assert "2026-05-05" in added  # what was on another day says so


def test_what_is_simulated_says_so_on_every_sheet_and_is_never_signed(desk: Desk) -> None:
    case = _kept(desk, "demo")
    pages = _pages(print_record(desk, case)) + _pages(print_handover(desk, case))
    assert all("SIMULATED" in page for page in pages)
    assert "A simulated case is never signed." in pages[0]
    real = _pages(print_record(desk, _kept(desk)))
    assert not any("SIMULATED" in page for page in real)


def test_one_record_gives_one_file(desk: Desk) -> None:
    case = _kept(desk)
    assert print_record(desk, case) == print_record(desk, case)


def test_the_card_fits_a_page_and_tells_what_runs(desk: Desk) -> None:
    case = desk.open_case({"purpose": "real", "name": NAME, "species": "horse", "weight_kg": 540.0}).case
    for at_min, kind, body in ENTERED[:16]:
        desk.enter(case, kind, body, event_time=BEGAN + timedelta(minutes=at_min))
    pages = _pages(print_handover(desk, case))
    assert len(pages) == 1
    told = "\n".join(handover_lines(desk, case))
    for words in ("dobutamine", "ketamine", "47 mmHg", "surgery begins", "540 kg"):
        assert words in told
        assert words in pages[0]


def test_the_card_of_a_case_in_which_everything_was_told_fits_a_page(desk: Desk) -> None:
    case = desk.open_case({"purpose": "real", "name": NAME, "species": "horse", "weight_kg": 540.0}).case
    desk.enter(case, "note", {"text": "allergic to penicillin"}, event_time=BEGAN)
    desk.enter(case, "phase", {"phase": "maintain"}, event_time=BEGAN)
    for kind, record in (("reading", Vitals), ("gases", Gases), ("setting", Settings)):
        whole = {key: _middle(doc) for key, doc in described(record).items() if doc.kind == "number"}
        body = whole | ({"sample": "arterial"} if kind == "gases" else {})
        desk.enter(case, kind, body, event_time=BEGAN)
    for place in range(12):
        desk.enter(case, "event", {"what": f"event {place}"}, event_time=BEGAN)
        desk.enter(case, "drug", {"drug": f"drug {place}", "amount_mg": 10.0}, event_time=BEGAN)
    for paper in ("a4", "us-letter"):
        (page,) = _pages(print_handover(desk, case, paper=paper))
        for told in (
            "allergic to penicillin",
            "drug 11",
            "event 11",
            "lactate",
            "vaporiser dial",
            "spare volume",
        ):
            assert told in page, (paper, told)


def _middle(doc: FieldDoc) -> float:
    assert doc.low is not None
    assert doc.high is not None
    return (doc.low + doc.high) / 2.0


def test_the_card_tells_what_is_due_who_is_there_and_how_old_a_value_is(desk: Desk) -> None:
    case = desk.open_case({"purpose": "real", "name": NAME, "species": "horse", "weight_kg": 540.0}).case
    desk.enter(case, "team", {"person": "S. Geon", "function": "surgeon"}, event_time=BEGAN)
    for at_min, kind, body in ENTERED[:10]:
        desk.enter(case, kind, body, event_time=BEGAN + timedelta(minutes=at_min))
    later = replace(desk, clock=lambda: BEGAN + timedelta(minutes=40))
    told = "\n".join(handover_lines(later, case))
    assert "S. Geon (surgeon)" in told
    assert "34 min old" in told  # arithmetic: measured at 6 min, read at 40 min; at 11 min nothing yet
    assert "next row of readings, OVERDUE" in told
    assert "dobutamine  dose rate 0.5" in told


def test_drugs_and_fluids_stand_with_their_sums_so_far(desk: Desk) -> None:
    case = desk.open_case({"purpose": "real", "name": NAME, "species": "horse", "weight_kg": 500.0}).case
    for at_min, amount_mg in ((1, 1000.0), (30, 250.0)):
        desk.enter(
            case,
            "drug",
            {"drug": "ketamine", "amount_mg": amount_mg},
            event_time=BEGAN + timedelta(minutes=at_min),
        )
    whole = " ".join(_pages(print_record(desk, case)))
    # arithmetic: 1000 mg / 500 kg, 1000 + 250 mg
    assert "ketamine 1000 mg (2 mg/kg) 1000 mg" in whole
    assert "ketamine 250 mg (0.5 mg/kg) 1250 mg" in whole


def test_an_incident_stands_by_itself_and_a_microgram_is_spelled(desk: Desk) -> None:
    case = _kept(desk)
    desk.enter(case, "event", {"what": "hose came off", "incident": True}, event_time=BEGAN)
    whole = " ".join(_pages(print_record(desk, case)))
    assert "Incidents and near misses 09:00 hose came off" in whole
    assert "INCIDENT: hose came off" in whole
    assert "0.5 microgram/kg/min" in whole
    assert "\N{MICRO SIGN}" not in whole


def test_a_record_that_was_changed_says_so_on_its_first_page(desk: Desk) -> None:
    case = _kept(desk)
    sign(desk, case, role="anaesthetist", because="the rest is on paper")
    database = desk.cases.store("real").folder.database
    with contextlib.closing(sqlite3.connect(database, isolation_level=None)) as raw:
        raw.execute("DROP TRIGGER record_entry_no_update")
        statement = "UPDATE record_entry SET line = replace(line, '\"A. Vet\"', '\"B. Vet\"') WHERE seq = 5"
        changed = raw.execute(statement).rowcount
    assert changed == 1
    anew = replace(desk, cases=Cases(desk.cases.path, key_file=desk.cases.path.parent / "key" / "record.key"))
    assert "CHANGED: entry 5 does not fit" in _pages(print_record(anew, case))[0]


def test_a_case_with_nothing_in_it_prints(desk: Desk) -> None:
    case = desk.open_case({"purpose": "real", "name": "🐴", "species": "horse"}).case
    first = _pages(print_record(desk, case))[0]
    assert "weight unknown" in first
    assert "[horse face]" in first


def test_the_demonstration_prints(tmp_path: Path) -> None:
    key = tmp_path / "key" / "record.key"
    make_clinic(tmp_path / "data", BEGAN, key_file=key)
    desk = Desk(
        cases=Cases(tmp_path / "data", key_file=key), author="A. Vet", device="t", clock=lambda: BEGAN
    )
    for case in desk.cases.ids():
        assert len(_pages(print_record(desk, case))) >= 2
