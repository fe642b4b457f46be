"""CSV files of a case: exact both ways, safe to open, every column explained."""

import csv
import io
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lungeline.errors import InputError, MissingError
from lungeline.export.csv_files import csv_files, entries_from_csv, read_csv, write_csv
from lungeline.record import CaseInMemory, Draft, Entry, Key

NOW = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)
texts = st.text(min_size=1, max_size=40).filter(lambda text: text.isprintable() and bool(text.strip()))


def case_of(steps: list[tuple[str, dict[str, Any], str | None]], author: str = "A. Vet") -> list[Entry]:
    kept = CaseInMemory(Key(secret=bytes(32)))
    for place, (kind, body, corrects) in enumerate(steps):
        at = NOW + timedelta(minutes=place)
        draft = Draft(
            uid=f"u{place}",
            case="c1",
            kind=kind,
            event_time=at,
            author=author,
            device="tablet",
            body=body,
            corrects=corrects,
        )
        kept.append(draft, at)
    return list(kept.entries)


def opening(name: str = "Star", purpose: str = "real") -> tuple[str, dict[str, Any], None]:
    return "opening", {"purpose": purpose, "name": name, "species": "horse", "weight_kg": 520.5}, None


def usual() -> list[Entry]:
    return case_of(
        [
            opening(),
            ("reading", {"map_mmhg": 170.0}, None),
            ("reading", {"map_mmhg": 72.0, "estimated": True}, None),
            ("correction", {"reason": "slip", "kind": "reading", "body": {"map_mmhg": 70.0}}, "u1"),
            ("strike", {"reason": "wrong horse"}, "u2"),
            ("note", {"text": 'two\nlines, "quoted"'}, None),
            ("gases", {"sample": "arterial", "base_excess_mmol_l": -5.5}, None),
            ("setting", {"peep_cmh2o": 10.0, "slowed_expiration": True, "reason": "PaO2 low"}, None),
        ]
    )


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_reading_the_files_back_gives_the_same_entries(tmp_path: Path) -> None:
    entries = usual()
    paths = write_csv(entries, tmp_path / "case")
    assert {path.name for path in paths} == {path.name for path in (tmp_path / "case").iterdir()}
    again = read_csv(tmp_path / "case")
    assert [entry.line() for entry in again] == [entry.line() for entry in entries]


@given(name=texts, author=texts, note=st.text(min_size=1, max_size=60), value=st.floats(0, 300))
def test_the_round_trip_is_exact_whatever_is_written(name: str, author: str, note: str, value: float) -> None:
    steps: list[tuple[str, dict[str, Any], str | None]] = [opening(name)]
    steps.append(("reading", {"map_mmhg": value}, None))
    usable = all(mark >= " " or mark in "\n\t" for mark in note)
    if usable:
        steps.append(("note", {"text": note}, None))
    entries = case_of(steps, author)
    assert [it.line() for it in entries_from_csv(csv_files(entries))] == [it.line() for it in entries]


def test_each_kind_has_its_file_as_it_now_stands() -> None:
    files = csv_files(usual())
    assert {"opening.csv", "reading.csv", "note.csv", "gases.csv", "setting.csv"} < files.keys()
    assert "drug.csv" not in files
    # by time, and the correction says that it happened later than first written
    second, first = rows(files["reading.csv"])
    assert (first["map_mmhg"], first["standing"], first["seq"]) == ("70", "corrected", "2")
    assert (second["map_mmhg"], second["standing"], second["estimated"]) == ("72", "struck out", "true")
    assert (first["animal"], first["weight_kg"], first["mark"]) == ("Star", "520.5", "")
    assert rows(files["gases.csv"])[0]["base_excess_mmol_l"] == "-5.5"
    assert rows(files["setting.csv"])[0]["reason"] == "PaO2 low"
    assert rows(files["note.csv"])[0]["text"] == 'two\nlines, "quoted"'


def test_every_column_of_every_file_is_in_the_dictionary_with_its_unit() -> None:
    files = csv_files(usual())
    told = {(row["file"], row["column"]): row for row in rows(files["dictionary.csv"])}
    for name, text in files.items():
        columns = next(csv.reader(io.StringIO(text, newline="")))
        wanted = {(name, column) for column in columns if (name, column) != ("audit.csv", "mark")}
        assert name == "dictionary.csv" or wanted <= told.keys()
    pressure = told["reading.csv", "map_mmhg"]
    assert (pressure["unit"], pressure["ucum"]) == ("mmHg", "mm[Hg]")


def test_what_is_simulated_says_so_in_every_row() -> None:
    files = csv_files(case_of([opening(purpose="rehearsal"), ("reading", {"map_mmhg": 70.0}, None)]))
    for name in ("audit.csv", "opening.csv", "reading.csv"):
        assert {row["mark"] for row in rows(files[name])} == {"SIMULATED"}


@pytest.mark.parametrize("name", ["=1+1", "+1", "-1", "@x", "'=1", "'"])
def test_a_text_that_a_spreadsheet_would_run_is_kept_as_text(name: str) -> None:
    entries = case_of([opening(name)], author=name)
    files = csv_files(entries)
    assert rows(files["opening.csv"])[0]["animal"] == f"'{name}"
    assert entries_from_csv(files) == entries


def test_a_file_that_a_spreadsheet_changed_is_refused(tmp_path: Path) -> None:
    files = csv_files(usual())
    for old, new in (("2026-03-01T12:00", "01/03/2026 12:00"), ('{""map_mmhg"":170}', '{""map_mmhg"": 170}')):
        assert old in files["audit.csv"]
        with pytest.raises(InputError, match="spreadsheet"):
            entries_from_csv({"audit.csv": files["audit.csv"].replace(old, new)})
    with pytest.raises(MissingError, match="every column"):
        entries_from_csv({"audit.csv": files["audit.csv"].replace("device_seq", "count", 1)})
    with pytest.raises(MissingError):
        entries_from_csv({"reading.csv": files["reading.csv"]})
    with pytest.raises(MissingError):
        read_csv(tmp_path)
