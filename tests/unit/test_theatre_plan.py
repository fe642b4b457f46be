"""What a case already tells of the animal to plan for, and whose choices hold."""

from pathlib import Path

import pytest

from lungeline.case import Animal, Case, Equipment, Profile, case_to_json
from lungeline.errors import InputError
from lungeline.theatre import PROFILE_FILE, Cases, Desk, case_to_plan, clinic_profile

OPENING = {
    "purpose": "real",
    "name": "Stella",
    "species": "horse",
    "weight_kg": 520.0,
    "procedure": "arthroscopy",
}


def _desk(folder: Path) -> Desk:
    cases = Cases(folder / "data", key_file=folder / "key" / "record.key")
    return Desk(cases=cases, author="A. Vet", device="test")


def test_the_opening_tells_the_animal(tmp_path: Path) -> None:
    desk = _desk(tmp_path)
    case = desk.open_case(OPENING).case
    told = case_to_plan(desk.cases.read(case).state)
    assert told == {"title": "Stella – arthroscopy", "animal": {"species": "horse", "weight_kg": 520.0}}


def test_a_kept_plan_tells_the_machine_and_the_opening_still_the_animal(tmp_path: Path) -> None:
    desk = _desk(tmp_path)
    case = desk.open_case(OPENING).case
    kept = Case(
        animal=Animal(species="horse", weight_kg=500.0), equipment=Equipment(reservoir_capacity_l=32.0)
    )
    entry = desk.enter(case, "plan", {"case": case_to_json(kept)})
    told = case_to_plan(desk.cases.read(case).state)
    assert told["equipment"]["reservoir_capacity_l"] == 32.0
    assert told["animal"]["weight_kg"] == 520.0
    desk.strike(case, entry.seq, "not this machine")
    assert "equipment" not in case_to_plan(desk.cases.read(case).state)


def test_the_clinics_profile_is_the_file_in_the_folder(tmp_path: Path) -> None:
    assert clinic_profile(tmp_path) == Profile()
    (tmp_path / PROFILE_FILE).write_text('name = "ours"\ntidal_volume_ml_kg = 11\n', encoding="utf-8")
    assert clinic_profile(tmp_path) == Profile(name="ours", tidal_volume_ml_kg=11.0)
    (tmp_path / PROFILE_FILE).write_text("tidal_volume_ml_kg = 1100\n", encoding="utf-8")
    with pytest.raises(InputError):
        clinic_profile(tmp_path)
