"""Doses: what is chosen, what is refused, what is stopped, and how a stopped one is passed."""

import json

import pytest

from lungeline.case import Animal, Profile, SignedDose
from lungeline.errors import InputError, OutOfRangeError, UnitError, UnknownNameError
from lungeline.plan.animal.patient import Patient, patient
from lungeline.plan.drugs.chosen_dose import check_signed_doses
from lungeline.plan.drugs.confirming import confirm, doses_to_recheck
from lungeline.plan.drugs.dose_text import read_dose, read_strength
from lungeline.plan.drugs.doses import AnimalDose, dose_for
from lungeline.plan.drugs.drug_sheet import drug_sheet, usual_doses
from lungeline.plan.drugs.infusion_order import InfusionOrder
from lungeline.plan.drugs.infusions import infusion
from lungeline.plan.drugs.labels import labels
from lungeline.reference.formulary import drug, drugs, label_classes


def horse(*signed: SignedDose, weight_kg: float = 550.0, by: str = "A. Vet") -> Patient:
    profile = Profile(doses=signed, signed_by=by, signed_on="2026-01-01" if by else "")
    return patient(Animal(species="horse", weight_kg=weight_kg), profile)


def of(species: str, weight_kg: float, *signed: SignedDose) -> Patient:
    animal = Animal(species=species, weight_kg=weight_kg)  # type: ignore[arg-type]  # names of species as text
    return patient(animal, Profile(doses=signed, signed_by="A. Vet", signed_on="2026-01-01"))


def signed(dose: str, drug_name: str = "xylazine", use: str = "premedication", **more: str) -> SignedDose:
    return SignedDose(drug=drug_name, use=use, dose=dose, **more)


def codes(dose: AnimalDose) -> set[str]:
    return {finding.code for finding in dose.findings}


# --- as written ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "number", "unit"),
    [
        ("0.6 mg/kg", 0.6, "mg_kg"),
        ("0,6 mg/kg", 0.6, "mg_kg"),
        ("0,005 mg/kg", 0.005, "mg_kg"),
        ("80 µg/kg", 80.0, "ug_kg"),
        ("80 \N{GREEK SMALL LETTER MU}g/kg", 80.0, "ug_kg"),
        ("80 microgram / kg", 80.0, "ug_kg"),
        ("80mcg/kg", 80.0, "ug_kg"),
        ("50 ug/kg/min", 50.0, "ug_kg_min"),
        ("3 mg/kg/h", 3.0, "mg_kg_h"),
        ("2 mL/kg", 2.0, "ml_kg"),
        ("10 ml/kg/h", 10.0, "ml_kg_h"),
    ],
)
def test_a_dose_is_read(written: str, number: float, unit: str) -> None:
    read = read_dose(written, "dose")
    assert (read.amount_number, read.unit) == (number, unit)


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ("1,000 mg/kg", "thousands"),
        (".5 mg/kg", "0.5, not .5"),
        ("5. mg/kg", "0.5, not .5"),
        ("-1 mg/kg", "no sign"),
        ("0 mg/kg", "above 0"),
        ("0.5-1 mg/kg", "mg/kg"),
        ("0.6", "mg/kg"),
        ("mg/kg", "mg/kg"),
        ("", "mg/kg"),
        ("0.6 mg", "mg/kg"),
        ("1 mg/lb", "per kilogram"),
        ("3 drops/kg", "mg/kg"),
    ],
)
def test_what_reads_two_ways_is_refused(written: str, told: str) -> None:
    with pytest.raises(InputError) as caught:
        read_dose(written, "profile.doses[1].dose")
    assert told in str(caught.value)
    assert caught.value.where == "profile.doses[1].dose"
    assert caught.value.given == written


@pytest.mark.parametrize(
    ("written", "strength_mg_ml"), [("100 mg/mL", 100.0), ("2 %", 20.0), ("2%", 20.0), ("500 µg/mL", 0.5)]
)
def test_a_strength_is_read(written: str, strength_mg_ml: float) -> None:
    assert read_strength(written, "strength").strength_mg_ml == pytest.approx(strength_mg_ml)


@pytest.mark.parametrize("written", ["1:1000", "100 mg", "100", "strong"])
def test_a_strength_without_its_unit_is_refused(written: str) -> None:
    with pytest.raises(InputError, match="mg/mL"):
        read_strength(written, "strength")


# --- which dose ---------------------------------------------------------------------------------------


def test_the_signed_dose_goes_before_the_published_one() -> None:
    dose = dose_for(horse(signed("0.8 mg/kg", strength="100 mg/mL")), "xylazine", "premedication")
    assert dose.status == "signed"
    assert dose.dose.value == 0.8
    assert dose.dose.sources == ("profile",)
    assert dose.total_mg.value == pytest.approx(440.0)
    assert dose.volume_ml.value == pytest.approx(4.4)
    assert dose.chosen.signed_by == "A. Vet"
    assert "dose_confirm_before_use" not in codes(dose)


def test_a_signed_dose_in_another_unit_of_the_kind_is_the_same_dose() -> None:
    # 0.08 mg/kg is 80 µg/kg
    dose = dose_for(horse(signed("0.08 mg/kg", "romifidine")), "romifidine", "premedication")
    assert dose.dose.name == "drugs.romifidine.premedication.dose_ug_kg"
    assert dose.dose.value == pytest.approx(80.0)
    assert dose.total_mg.value == pytest.approx(44.0)


def test_a_rate_signed_for_a_single_dose_is_refused() -> None:
    with pytest.raises(UnitError, match="rate"):
        dose_for(horse(signed("0.6 mg/kg/h")), "xylazine", "premedication")


def test_a_choice_nobody_signed_is_taken_but_to_be_confirmed() -> None:
    dose = dose_for(horse(signed("0.8 mg/kg"), by=""), "xylazine", "premedication")
    assert dose.dose.value == 0.8
    assert dose.status == "confirm before use"
    assert "dose_confirm_before_use" in codes(dose)


def test_a_dose_signed_for_the_species_goes_before_one_for_all() -> None:
    whom = horse(signed("0.7 mg/kg"), signed("0.9 mg/kg", species="horse"))
    assert dose_for(whom, "xylazine", "premedication").dose.value == 0.9


def test_two_signed_doses_for_one_use_are_refused() -> None:
    with pytest.raises(InputError, match="one signed dose"):
        dose_for(horse(signed("0.7 mg/kg"), signed("0.9 mg/kg")), "xylazine", "premedication")


def test_without_a_signature_the_first_published_dose_is_to_be_confirmed() -> None:
    dose = dose_for(horse(), "xylazine", "premedication")
    assert dose.status == "confirm before use"
    assert dose.dose.value == 0.6
    assert len(dose.chosen.published) == 2


def test_a_dose_from_memory_says_so() -> None:
    dose = dose_for(horse(), "morphine", "analgesia")
    assert {"dose_from_memory", "dose_confirm_before_use"} <= codes(dose)
    assert dose.chosen.from_memory
    clinic = dose_for(horse(signed("0.1 mg/kg", "morphine", "analgesia")), "morphine", "analgesia")
    assert "dose_from_memory" not in codes(clinic)


def test_ranges_that_do_not_touch_are_shown_as_a_disagreement() -> None:
    (told,) = (f for f in dose_for(horse(), "xylazine", "recovery").findings if f.code == "dose_disagreement")
    assert told.figures["published"] == "0.1 to 0.2 mg/kg (woodhouse-recovery); 0.3 mg/kg (valverde2013)"
    assert "dose_disagreement" not in codes(dose_for(horse(), "xylazine", "premedication"))


def test_names_are_found_by_synonym_and_in_german() -> None:
    assert drug("Epinephrine") is drug("Adrenalin") is drug("adrenaline")
    with pytest.raises(UnknownNameError, match='"xylazine"'):
        drug("xylazin-")
    with pytest.raises(UnknownNameError, match='"premedication"'):
        drug_sheet(horse(), [("xylazine", "premedicatoin")])
    with pytest.raises(UnknownNameError, match='"premedication"'):
        dose_for(horse(), "xylazine", "premedicatoin")


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        (signed("0.6 mg/kg", "xylazene"), "xylazine"),
        (signed("0.6 mg/kg", use="premed"), "premedication"),
        (signed("0.6 mg/kg", species="hores"), "horse"),
        (signed("0.6"), "mg/kg"),
        (signed("0.6 mg/kg", strength="100"), "mg/mL"),
    ],
)
def test_a_profile_with_a_wrong_dose_is_refused(wrong: SignedDose, told: str) -> None:
    with pytest.raises(InputError) as caught:
        check_signed_doses(Profile(doses=(wrong,)))
    assert told in str(caught.value)


# --- strength -----------------------------------------------------------------------------------------


def test_of_several_strengths_one_must_be_chosen() -> None:
    dose = dose_for(horse(), "xylazine", "premedication")
    assert dose.total_mg.value == pytest.approx(330.0)
    assert dose.volume_ml.value is None
    (told,) = (finding for finding in dose.findings if finding.code == "strength_to_choose")
    assert told.figures["strengths"] == "20 mg/mL, 100 mg/mL"


def test_the_only_strength_is_taken_and_said_where_the_dose_is_signed() -> None:
    dose = dose_for(horse(signed("20 µg/kg", "detomidine")), "detomidine", "premedication")
    assert dose.volume_ml.value == pytest.approx(1.1)
    assert "strength_from_list" in codes(dose)


def test_a_strength_that_is_not_on_the_list_is_said() -> None:
    dose = dose_for(horse(), "xylazine", "premedication", strength="300 mg/mL")
    assert dose.volume_ml.value == pytest.approx(1.1)
    assert "strength_not_listed" in codes(dose)


def test_a_volume_too_small_to_measure_is_said() -> None:
    # 0.02 mg/kg × 10 kg ÷ 10 mg/mL = 0.02 mL, below 0.04 (Vet Anaesth Analg 2023;50:502-506)
    whom = of("foal", 10.0, signed("0.02 mg/kg", "butorphanol"))
    assert "small_volume" in codes(dose_for(whom, "butorphanol", "premedication"))


# --- species ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("species", "weight_kg", "drug_name", "use"),
    [
        ("foal", 60.0, "xylazine", "premedication"),
        ("foal", 60.0, "lidocaine", "loading"),
        ("donkey", 180.0, "midazolam", "induction"),
        ("cattle", 600.0, "romifidine", "premedication"),
        ("calf", 90.0, "acepromazine", "premedication"),
        ("horse", 550.0, "dantrolene", "malignant_hyperthermia"),
    ],
)
def test_a_dose_made_for_others_is_refused(species: str, weight_kg: float, drug_name: str, use: str) -> None:
    with pytest.raises(InputError) as caught:
        dose_for(of(species, weight_kg, signed("1 mg/kg", drug_name, use)), drug_name, use)
    assert f'species = "{species}"' in caught.value.do


def test_the_clinic_may_sign_a_dose_for_a_species_nothing_is_published_for() -> None:
    whom = of("foal", 60.0, signed("0.5 mg/kg", species="foal", strength="20 mg/mL"))
    dose = dose_for(whom, "xylazine", "premedication")
    assert dose.volume_ml.value == pytest.approx(1.5)
    assert "dose_without_publication" in codes(dose)


def test_a_dose_signed_for_a_foal_is_still_held_to_a_ceiling() -> None:
    dose = dose_for(of("foal", 60.0, signed("6 mg/kg", species="foal")), "xylazine", "premedication")
    assert dose.status == "stopped"


def test_a_pony_borrows_from_the_horse_and_says_so() -> None:
    dose = dose_for(of("pony", 200.0), "ketamine", "induction")
    assert dose.dose.value == 2.2
    assert dose.chosen.borrowed_from == "horse"
    assert "dose_of_other_species" in codes(dose)


def test_cattle_get_a_tenth_and_the_question_of_withdrawal() -> None:
    dose = dose_for(of("cattle", 600.0), "xylazine", "premedication")
    assert dose.dose.value == 0.1
    (told,) = (finding for finding in dose.findings if finding.code == "dose_withdrawal")
    assert told.figures["withdrawal"] == "ask the local authority"


def test_no_withdrawal_period_is_invented() -> None:
    assert {found.withdrawal for found in drugs().values()} == {"ask the local authority"}


def test_a_calf_has_xylazine_into_muscle() -> None:
    assert dose_for(of("calf", 90.0), "xylazine", "premedication").chosen.route == "IM"


# --- limits -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "code", "status"),
    [
        ("0.5 mg/kg", None, "signed"),  # lowest published
        ("1.1 mg/kg", None, "signed"),  # highest published
        ("0.4 mg/kg", "dose_below_published", "signed"),
        ("1.5 mg/kg", "dose_above_published", "signed"),
        ("2.2 mg/kg", "dose_above_published", "signed"),  # twice the highest published: the ceiling
        ("2.3 mg/kg", "dose_beyond_limit", "stopped"),
        ("6 mg/kg", "dose_tenfold", "stopped"),  # ten times 0.6
        ("11 mg/kg", "dose_tenfold", "stopped"),  # ten times 1.1
        ("0.06 mg/kg", "dose_tenfold", "stopped"),  # a tenth of 0.6
        ("600 mg/kg", "dose_milligram_for_microgram", "stopped"),
        ("0.6 µg/kg", "dose_milligram_for_microgram", "stopped"),
        ("100 mg/kg", "dose_beyond_limit", "stopped"),
        ("0.01 mg/kg", "dose_far_below", "stopped"),
    ],
)
def test_a_dose_is_held_to_what_is_published(written: str, code: str | None, status: str) -> None:
    # xylazine before anaesthesia: 0.6 (Dupont et al. 2024) and 0.5 to 1.1 mg/kg (Vet Med Int 2011)
    dose = dose_for(horse(signed(written, strength="100 mg/mL")), "xylazine", "premedication")
    told = {finding.code for finding in dose.findings if finding.code != "dose_double_check"}
    assert told == ({code} if code else set())
    assert dose.status == status
    assert (dose.total_mg.value is None) == (status == "stopped")
    assert (dose.volume_ml.value is None) == (status == "stopped")


def test_a_published_ceiling_goes_before_twice_the_dose() -> None:
    # donkeys: above 100 µg/kg romifidine marked ataxia (SAEVA 2014); twice the 70 published would be 140
    donkey = of("donkey", 180.0, signed("110 µg/kg", "romifidine"))
    dose = dose_for(donkey, "romifidine", "premedication")
    (told,) = (finding for finding in dose.findings if finding.severity == "stop")
    assert told.figures["ceiling_source"] == "saeva2014"


def test_a_little_below_one_text_is_no_slip_of_another() -> None:
    # dobutamine: 0.37 to 0.73 (Ruiz-López et al. 2024), 3.5 (Monteiro et al. 2011)
    # 0.35 is a tenth of the latter
    whom = horse(signed("0.35 µg/kg/min", "dobutamine", "hypotension", strength="0.5 mg/mL"))
    running = infusion(whom, InfusionOrder(drug="dobutamine", use="hypotension"))
    assert running.status == "signed"
    assert "dose_below_published" in {finding.code for finding in running.findings}


def test_a_signed_unit_that_does_not_fit_is_never_taken_for_a_missing_drug() -> None:
    with pytest.raises(UnitError):
        drug_sheet(horse(signed("0.6 mg/kg/h")), [("xylazine", "premedication")])


# --- the second step ----------------------------------------------------------------------------------


def stopped() -> AnimalDose:
    return dose_for(horse(signed("6 mg/kg", strength="100 mg/mL")), "xylazine", "premedication")


def test_a_stopped_dose_is_passed_by_two_people_with_a_reason() -> None:
    dose = confirm(
        stopped(), first_person="Ann", second_person="Ben", dose_again="6 mg/kg", reason="trial protocol"
    )
    assert dose.status == "confirmed"
    assert dose.total_mg.value == pytest.approx(3300.0)
    assert dose.volume_ml.value == pytest.approx(33.0)
    assert dose.confirmed_by == ("Ann", "Ben")
    assert {"dose_confirmed_beyond"} == codes(dose) - {"dose_double_check"}
    assert all(finding.severity != "stop" for finding in dose.findings)


@pytest.mark.parametrize(
    ("first", "second", "again", "reason", "told"),
    [
        ("Ann", "ann ", "6 mg/kg", "trial", "two different people"),
        ("Ann", "", "6 mg/kg", "trial", "two different people"),
        ("", "Ben", "6 mg/kg", "trial", "two different people"),
        ("Ann", "Ben", "0.6 mg/kg", "trial", "6 mg/kg"),
        ("Ann", "Ben", "6 mg/kg/h", "trial", "rate"),
        ("Ann", "Ben", "6 mg/kg", "  ", "reason"),
    ],
)
def test_no_step_of_it_can_be_left_out(first: str, second: str, again: str, reason: str, told: str) -> None:
    with pytest.raises(InputError, match=told):
        confirm(stopped(), first_person=first, second_person=second, dose_again=again, reason=reason)


def test_an_unsigned_dose_needs_no_reason_to_be_confirmed() -> None:
    dose = confirm(
        dose_for(horse(), "ketamine", "induction", strength="100 mg/mL"),
        first_person="Ann",
        second_person="Ben",
        dose_again="2200 µg/kg",
    )
    assert dose.status == "confirmed"
    assert "dose_confirm_before_use" not in codes(dose)


# --- weight -------------------------------------------------------------------------------------------


def test_the_band_of_a_taped_weight_is_carried_to_milligram_and_millilitre() -> None:
    # girth 189 cm and length 183 cm: 550 kg; the tape's error widens it on both sides
    whom = patient(Animal(species="horse", weight_kg=550.0, girth_cm=189.0, length_cm=183.0))
    dose = dose_for(whom, "ketamine", "induction", strength="100 mg/mL")
    low_kg, weight_kg, high_kg = whom.weight.band_kg
    assert low_kg < weight_kg < high_kg
    assert dose.total_mg.low == pytest.approx(2.2 * low_kg)
    assert dose.total_mg.high == pytest.approx(2.2 * high_kg)
    assert dose.volume_ml.low == pytest.approx(2.2 * low_kg / 100.0)


def test_a_stated_weight_has_no_band() -> None:
    dose = dose_for(horse(), "ketamine", "induction", strength="100 mg/mL")
    assert (dose.total_mg.low, dose.total_mg.high) == (None, None)


def test_a_changed_weight_flags_every_dose_not_yet_given() -> None:
    doses = [dose_for(horse(), "diazepam", "induction"), dose_for(horse(), "detomidine", "premedication")]
    (told,) = doses_to_recheck(doses, 500.0, {"detomidine.premedication"})
    assert told.code == "dose_to_recheck"
    # 0.05 mg/kg × 550 = 27.5 mg becomes 25 mg; 5.5 mL becomes 5
    assert told.figures["old_total_mg"] == pytest.approx(27.5)
    assert told.figures["new_total_mg"] == pytest.approx(25.0)
    assert told.figures["new_volume_ml"] == pytest.approx(5.0)
    assert doses_to_recheck(doses, 550.0) == ()
    with pytest.raises(OutOfRangeError):
        doses_to_recheck(doses, 0.0)


# --- sheet and labels ---------------------------------------------------------------------------------


def test_volumes_that_look_alike_are_told() -> None:
    # 20 µg/kg romifidine and detomidine, both of 10 mg/mL: 1.1 mL each at 550 kg
    sheet = drug_sheet(horse(), [("romifidine", "recovery"), ("detomidine", "premedication")])
    (told,) = (finding for finding in sheet.findings if finding.code == "look_alike_volumes")
    assert {told.figures["one"], told.figures["other"]} == {"romifidine.recovery", "detomidine.premedication"}


def test_what_was_wanted_and_refused_is_told_and_the_rest_goes_on() -> None:
    sheet = drug_sheet(of("foal", 60.0), [("xylazine", "premedication"), ("ketamine", "induction")])
    assert [dose.name for dose in sheet.doses] == ["ketamine.induction"]
    (told,) = (finding for finding in sheet.findings if finding.code == "dose_refused")
    assert told.figures["allowed"] == "foals are not given alpha-2 agonists by this sheet"


@pytest.mark.parametrize(
    ("species", "weight_kg"),
    [("horse", 550), ("pony", 200), ("donkey", 180), ("foal", 60), ("cattle", 600), ("calf", 90)],
)
def test_every_species_has_a_sheet_of_its_own(species: str, weight_kg: float) -> None:
    whom = of(species, weight_kg)
    sheet = drug_sheet(whom)
    assert len(sheet.doses) == len(usual_doses(whom)) > 0
    assert "dose_refused" not in {finding.code for finding in sheet.findings}
    json.dumps(sheet.as_json(), allow_nan=False)
    species_of = {dose.chosen.borrowed_from or species for dose in sheet.doses}
    assert {each.species for dose in sheet.doses for each in dose.chosen.published} == species_of


def test_a_dose_of_a_sheet_names_its_numbers_by_unit() -> None:
    written = dose_for(horse(), "xylazine", "premedication", strength="100 mg/mL").as_json()
    assert written["dose_mg_kg"]["value"] == 0.6
    assert written["total_mg"]["value"] == pytest.approx(330.0)
    assert written["volume_ml"]["value"] == pytest.approx(3.3)
    assert [entry["source"] for entry in written["published"]] == ["dupont2024", "vet-med-int2011"]


def test_a_label_tells_class_and_colour_in_words_and_spells_microgram() -> None:
    whom = horse()
    made = labels([dose_for(whom, "ketamine", "induction"), dose_for(whom, "romifidine", "recovery")])
    # ISO 26825: induction agents yellow
    assert (made[0].class_title, made[0].colour) == ("induction agent", "yellow")
    assert made[0].volume_ml is None
    assert made[1].dose == "20 microgram/kg"
    assert made[1].strength == "10 mg/mL"
    assert made[1].weight_kg == 550.0
    assert labels([dose_for(whom, "ketamine", "induction")], language="de")[0].drug == "Ketamin"


def test_a_stopped_dose_gets_no_label() -> None:
    assert labels([stopped()]) == ()


def test_every_class_has_words_beside_its_colour() -> None:
    for found in label_classes().values():
        assert found.title
        assert found.colour
        assert found.hex_colour.startswith("#")
    # ISO 26825 as summarised: opioids blue 297, vasopressors violet 256, anticholinergics green 367
    assert {key: label_classes()[key].pantone for key in ("opioids", "vasopressors", "anticholinergics")} == {
        "opioids": "297",
        "vasopressors": "256",
        "anticholinergics": "367",
    }
