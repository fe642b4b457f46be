"""Laws of doses and infusions: proportion, one unit or another, no slip of the point ever drawn up."""

from contextlib import suppress
from typing import get_args

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from lungeline.case import Animal, Profile, SignedDose
from lungeline.case.animal import WEIGHT_RANGE_KG, Species
from lungeline.errors import InputError
from lungeline.plan.animal.patient import Patient, patient
from lungeline.plan.drugs.dose_text import DOSE_UNITS, dose_text, read_dose, read_strength
from lungeline.plan.drugs.doses import dose_for
from lungeline.plan.drugs.drug_sheet import drug_sheet
from lungeline.plan.drugs.emergency import emergency_card
from lungeline.plan.drugs.infusion_order import InfusionOrder
from lungeline.plan.drugs.infusions import infusion
from lungeline.reference.formulary import PublishedDose, drugs
from lungeline.units import UNITS

WEIGHTS = st.floats(200.0, 1200.0)
SINGLE_UNITS = ("mg_kg", "ug_kg", "ml_kg")
PUBLISHED = [dose for drug in drugs().values() for dose in drug.doses if dose.species in get_args(Species)]
SINGLE = [dose for dose in PUBLISHED if dose.figure.unit in SINGLE_UNITS]


def whom(species: str, weight_kg: float, *doses: SignedDose) -> Patient:
    animal = Animal(species=species, weight_kg=weight_kg)  # type: ignore[arg-type]  # names of species as text
    return patient(animal, Profile(doses=doses, signed_by="A. Vet", signed_on="2026-01-01"))


def signed(dose: PublishedDose, amount_number: float) -> SignedDose:
    written = dose_text(amount_number, dose.figure.unit)
    return SignedDose(drug=dose.drug, use=dose.use, dose=written, species=dose.species)


def middle_kg(species: str) -> float:
    return sum(WEIGHT_RANGE_KG[species]) / 2.0


@given(st.floats(1e-4, 1e4), st.sampled_from(DOSE_UNITS))
def test_what_is_written_is_read_again(amount_number: float, unit: str) -> None:
    read = read_dose(f"{amount_number:.6f} {UNITS[unit].label}", "dose")
    assert read.unit == unit
    assert read.amount_number == pytest.approx(amount_number, abs=5e-7)


@given(st.text(max_size=30))
def test_no_text_is_met_with_more_than_a_refusal(written: str) -> None:
    for read in (read_dose, read_strength):
        with suppress(InputError):
            read(written, "dose")


@settings(deadline=None, max_examples=40)
@given(st.floats(150.0, 650.0), st.sampled_from([dose for dose in SINGLE if dose.species == "horse"]))
def test_twice_the_weight_is_twice_the_dose(weight_kg: float, dose: PublishedDose) -> None:
    one, two = (dose_for(whom("horse", kg), dose.drug, dose.use) for kg in (weight_kg, 2.0 * weight_kg))
    for small, large in zip(one.numbers[1:], two.numbers[1:], strict=True):
        if small.value is not None and large.value is not None:
            assert large.value == pytest.approx(2.0 * small.value)


@settings(deadline=None, max_examples=60)
@given(st.sampled_from(SINGLE), st.floats(8.0, 12.0), st.sampled_from([1.0, -1.0]))
def test_a_tenfold_slip_is_never_drawn_up_unless_near_one_in_print(
    dose: PublishedDose, times: float, power: float
) -> None:
    amount = dose.figure.value * times**power
    use = (dose.drug, dose.use, dose.species)
    rivals = [each.figure for each in SINGLE if (each.drug, each.use, each.species) == use]
    lowest, highest = min(each.low for each in rivals), max(each.high for each in rivals)
    assume(not lowest / 2.0 <= amount <= highest)  # between or just below published ones: a disagreement
    made = dose_for(whom(dose.species, middle_kg(dose.species), signed(dose, amount)), dose.drug, dose.use)
    assert made.status == "stopped"
    assert made.total_mg.value is None
    assert made.volume_ml.value is None


@settings(deadline=None, max_examples=60)
@given(st.sampled_from(SINGLE), st.floats(0.0, 1.0))
def test_a_dose_within_one_published_range_is_never_stopped(dose: PublishedDose, part: float) -> None:
    amount = dose.figure.low + part * (dose.figure.high - dose.figure.low)
    made = dose_for(whom(dose.species, middle_kg(dose.species), signed(dose, amount)), dose.drug, dose.use)
    assert made.status == "signed"


@settings(deadline=None, max_examples=40)
@given(WEIGHTS, st.floats(0.4, 4.0), st.floats(0.1, 2.0))
def test_the_pump_gives_back_the_rate(weight_kg: float, rate_ug_kg_min: float, strength_mg_ml: float) -> None:
    choice = SignedDose(
        drug="dobutamine",
        use="hypotension",
        dose=f"{rate_ug_kg_min:.6f} µg/kg/min",
        strength=f"{strength_mg_ml:.6f} mg/mL",
    )
    order = InfusionOrder(drug="dobutamine", use="hypotension")
    pump = infusion(whom("horse", weight_kg, choice), order).pump_ml_h.value
    assert pump is not None
    again_ug_kg_min = pump * round(strength_mg_ml, 6) * 1000.0 / 60.0 / weight_kg
    assert again_ug_kg_min == pytest.approx(rate_ug_kg_min, rel=1e-5)


@settings(deadline=None, max_examples=40)
@given(st.sampled_from(get_args(Species)), st.floats(0.05, 0.95))
def test_a_sheet_and_a_card_of_any_animal_hold_no_number_below_nothing(species: str, part: float) -> None:
    low, high = WEIGHT_RANGE_KG[species]
    animal = whom(species, low + part * (high - low))
    doses = [*drug_sheet(animal).doses]
    doses += [each for line in emergency_card(animal).lines for each in line.published]
    assert doses
    for dose in doses:
        assert all(each.value is None or each.value > 0.0 for each in dose.numbers)
        assert dose.chosen.published[0].species == species or dose.chosen.borrowed_from == "horse"


@settings(deadline=None)
@given(st.floats(20.0, 300.0))
def test_no_adult_dose_reaches_a_foal(weight_kg: float) -> None:
    foal = whom("foal", weight_kg)
    for dose in PUBLISHED:
        if dose.use in drugs()[dose.drug].uses_for("foal") or dose.figure.unit not in SINGLE_UNITS:
            continue
        with pytest.raises(InputError):
            dose_for(foal, dose.drug, dose.use)
