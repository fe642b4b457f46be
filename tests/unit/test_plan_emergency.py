"""The emergency card: one signed dose for each drug, everything unsigned said at planning time."""

import json

import pytest

from lungeline.case import Animal, Profile, SignedDose
from lungeline.errors import InputError
from lungeline.plan.animal.patient import Patient, patient
from lungeline.plan.drugs.emergency import EmergencyCard, EmergencyLine, emergency_card

ALL = (
    SignedDose(drug="epinephrine", use="arrest", dose="0.003 mg/kg", strength="1 mg/mL"),
    SignedDose(drug="atropine", use="bradycardia", dose="0.01 mg/kg", strength="0.6 mg/mL"),
    SignedDose(drug="glycopyrrolate", use="bradycardia", dose="5 µg/kg", strength="0.2 mg/mL"),
    SignedDose(drug="lidocaine", use="ventricular fibrillation", dose="0.5 mg/kg", strength="20 mg/mL"),
    SignedDose(drug="ketamine", use="rescue", dose="0.2 mg/kg", strength="100 mg/mL"),
)


def card(
    *doses: SignedDose, species: str = "horse", weight_kg: float = 550.0, by: str = "A. Vet"
) -> EmergencyCard:
    return emergency_card(
        _whom(species, weight_kg, Profile(doses=doses, signed_by=by, signed_on="2026-01-01" if by else ""))
    )


def _whom(species: str, weight_kg: float, profile: Profile) -> Patient:
    animal = Animal(species=species, weight_kg=weight_kg)  # type: ignore[arg-type]  # names of species as text
    return patient(animal, profile)


def line_of(found: EmergencyCard, drug: str) -> EmergencyLine:
    (line,) = (line for line in found.lines if line.drug == drug)
    return line


def codes(found: EmergencyCard) -> set[str]:
    return {finding.code for finding in found.findings}


def test_a_signed_card_has_exactly_one_dose_for_each_drug() -> None:
    found = card(*ALL)
    assert {line.drug for line in found.lines} == {
        "adrenaline",
        "atropine",
        "glycopyrrolate",
        "lidocaine",
        "ketamine",
    }
    assert all(line.chosen is not None for line in found.lines)
    assert "emergency_dose_unsigned" not in codes(found)
    adrenaline = line_of(found, "adrenaline").chosen
    assert adrenaline is not None
    # 0.003 mg/kg × 550 kg (Taylor & Clarke): 1.65 mg, 1.65 mL of 1 mg/mL
    assert adrenaline.total_mg.value == pytest.approx(1.65)
    assert adrenaline.volume_ml.value == pytest.approx(1.65)
    assert adrenaline.total_mg.name == "emergency.adrenaline.arrest.total_mg"


def test_an_unsigned_card_says_so_and_shows_all_published_doses() -> None:
    found = card()
    assert all(line.chosen is None for line in found.lines)
    unsigned = [finding for finding in found.findings if finding.code == "emergency_dose_unsigned"]
    assert len(unsigned) == len(found.lines)
    assert [dose.chosen.published[0].figure.source for dose in line_of(found, "adrenaline").published] == [
        "taylor-clarke",
        "rosc-case",
        "small-animal-cpr",
        "memory",
    ]


def test_a_dose_without_signature_does_not_become_the_one_dose() -> None:
    found = card(*ALL, by="")
    assert line_of(found, "adrenaline").chosen is None
    told = [finding for finding in found.findings if finding.code == "emergency_dose_unsigned"]
    assert told[-1].figures["unsigned"] != "none"


def test_a_tenfold_spread_in_print_is_told_even_where_signed() -> None:
    (told,) = (finding for finding in card(*ALL).findings if finding.code == "dose_disagreement")
    assert told.figures["drug"] == "adrenaline"
    assert "0.002 mg/kg (rosc-case)" in str(told.figures["published"])


def test_a_signed_slip_of_the_point_is_not_on_the_card() -> None:
    slip = SignedDose(drug="atropine", use="bradycardia", dose="0.1 mg/kg", strength="0.6 mg/mL")
    found = card(slip)
    assert line_of(found, "atropine").chosen is None
    assert "dose_tenfold" in codes(found)


def test_a_card_without_strength_says_so_and_gives_the_volume_of_each() -> None:
    found = card(SignedDose(drug="adrenaline", use="arrest", dose="0.01 mg/kg"))
    assert "strength_to_choose" in codes(found)
    volumes = found.as_json()["lines"][[line.drug for line in found.lines].index("adrenaline")]["published"][
        2
    ]
    # 0.01 mg/kg × 550 kg = 5.5 mg: 55 mL of 0.1 mg/mL, 5.5 mL of 1 mg/mL
    assert [each["volume_ml"] for each in volumes["volumes"]] == pytest.approx([55.0, 5.5])


def test_two_signed_doses_of_one_drug_are_refused() -> None:
    with pytest.raises(InputError, match="one signed dose"):
        emergency_card(
            _whom("horse", 550.0, Profile(doses=(ALL[0], ALL[0]), signed_by="A", signed_on="2026-01-01"))
        )


@pytest.mark.parametrize(
    ("species", "weight_kg"), [("donkey", 180), ("foal", 60), ("cattle", 600), ("calf", 90)]
)
def test_what_is_not_published_for_a_species_is_missing_and_said(species: str, weight_kg: float) -> None:
    found = card(species=species, weight_kg=weight_kg)
    assert [line.drug for line in found.lines] == ["adrenaline"]
    missing = {f.figures["drug"] for f in found.findings if f.code == "emergency_dose_missing"}
    assert missing == {"atropine", "glycopyrrolate", "lidocaine", "ketamine"}
    assert "dose_from_memory" in codes(found)


def test_an_adults_signed_dose_does_not_reach_a_foal() -> None:
    # signed for every species: still no dose of it is published for foals
    found = card(*ALL, species="foal", weight_kg=60.0)
    assert {line.drug for line in found.lines} == {"adrenaline"}


def test_a_foals_card_has_its_own_facts() -> None:
    names = {fact.name for fact in card(species="foal", weight_kg=60.0).facts}
    assert names
    assert all(name.startswith("emergency.resuscitation.foal.") for name in names)


def test_compressions_of_the_horse_are_shown_as_they_disagree() -> None:
    # 20 to 30 (Taylor & Clarke), 40 to 53 (case), up to 80 (from memory)
    facts = [fact for fact in card().facts if fact.name.endswith("compressions_per_min")]
    assert [(fact.low, fact.high) for fact in facts] == [(20.0, 30.0), (40.0, 53.0), (80.0, 80.0)]


def test_the_card_goes_to_json() -> None:
    written = card(*ALL).as_json()
    json.dumps(written, allow_nan=False)
    assert written["lines"][0]["chosen"]["total_mg"]["value"] is not None
    assert all(fact["source"] for fact in written["facts"].values())
