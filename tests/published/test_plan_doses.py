"""Doses, volumes and pump rates of one 550 kg horse: worked numbers, each with its source beside it."""

import pytest

from lungeline.case import Animal, Profile, SignedDose
from lungeline.plan.animal.patient import patient
from lungeline.plan.drugs.doses import dose_for
from lungeline.plan.drugs.emergency import emergency_card
from lungeline.plan.drugs.infusion_order import InfusionOrder
from lungeline.plan.drugs.infusions import infusion, loading_pump_ml_h
from lungeline.plan.drugs.running_total import fluid_deficit_l, running_total
from lungeline.reference import figure
from lungeline.reference.formulary import drug

HORSE = patient(Animal(species="horse", weight_kg=550.0))

# Published dose × 550 kg, and ÷ the strength: arithmetic on the source named in the last column.
SINGLE = [
    ("acepromazine", "premedication", "10 mg/mL", 16.5, 1.65),  # 0.03 mg/kg, Manual of Equine Field Surgery
    ("xylazine", "recovery", "100 mg/mL", 110.0, 1.1),  # 0.2 mg/kg, Woodhouse et al.
    ("detomidine", "premedication", "10 mg/mL", 11.0, 1.1),  # 20 µg/kg, data sheet
    ("romifidine", "premedication", "10 mg/mL", 44.0, 4.4),  # 80 µg/kg, Manual of Equine Field Surgery
    ("romifidine", "recovery", "10 mg/mL", 11.0, 1.1),  # 20 µg/kg, Woodhouse et al.
    ("butorphanol", "premedication", "10 mg/mL", 11.0, 1.1),  # 0.02 mg/kg, data sheet
    ("morphine", "analgesia", "10 mg/mL", 55.0, 5.5),  # 0.1 mg/kg, from memory
    ("ketamine", "induction", "100 mg/mL", 1210.0, 12.1),  # 2.2 mg/kg, Dupont et al. 2024
    ("diazepam", "induction", "5 mg/mL", 27.5, 5.5),  # 0.05 mg/kg, haemorrhage preprint
    ("midazolam", "induction", "5 mg/mL", 33.0, 6.6),  # 0.06 mg/kg, Dupont et al. 2024
    ("guaifenesin", "induction", "50 mg/mL", 27500.0, 550.0),  # 50 mg/kg, Vet Med Int 2011
    ("guaifenesin", "induction", "100 mg/mL", 27500.0, 275.0),
    ("atracurium", "relaxation", "10 mg/mL", 55.0, 5.5),  # 0.1 mg/kg, haemorrhage preprint
    ("lidocaine", "ventricular_fibrillation", "20 mg/mL", 275.0, 13.75),  # 0.5 mg/kg, Taylor & Clarke
    ("atropine", "bradycardia", "0.6 mg/mL", 5.5, 5.5 / 0.6),  # 0.01 mg/kg, Taylor & Clarke; printed 9.2 mL
    ("glycopyrrolate", "bradycardia", "0.2 mg/mL", 2.75, 13.75),  # 0.005 mg/kg, Taylor & Clarke
    ("ephedrine", "hypotension", "50 mg/mL", 27.5, 0.55),  # 0.05 mg/kg, from memory
]


@pytest.mark.parametrize(("name", "use", "strength", "total_mg", "volume_ml"), SINGLE)
def test_milligram_and_millilitre(
    name: str, use: str, strength: str, total_mg: float, volume_ml: float
) -> None:
    dose = dose_for(HORSE, name, use, strength=strength)
    assert dose.total_mg.value == pytest.approx(total_mg)
    assert dose.volume_ml.value == pytest.approx(volume_ml)


def test_the_field_dose_of_xylazine() -> None:
    # 1.1 mg/kg (Vet Med Int 2011), 605 mg, 6.05 mL of 100 mg/mL: arithmetic
    field = drug("xylazine").doses_for("premedication", "horse")[1].figure
    assert field.value * 550.0 == pytest.approx(605.0)
    assert field.value * 550.0 / 100.0 == pytest.approx(6.05)


@pytest.mark.parametrize(("puff", "puffs"), [("100 µg/puff", 11.0), ("90 µg/puff", 1100.0 / 90.0)])
def test_puffs_of_salbutamol(puff: str, puffs: float) -> None:
    # 2 µg/kg (Dupont et al. 2024): 1.1 mg, 11 puffs of 100 µg, 12 of 90
    dose = dose_for(HORSE, "salbutamol", "bronchodilation", strength=puff)
    assert dose.total_mg.value == pytest.approx(1.1)
    assert dose.puffs_number is not None
    assert dose.puffs_number.value == pytest.approx(puffs)


def test_hypertonic_saline_is_given_by_volume() -> None:
    # 4 mL/kg (from memory): 2.2 L; 72 mg/mL in it
    dose = dose_for(HORSE, "hypertonic saline", "resuscitation")
    assert dose.volume_ml.value == pytest.approx(2200.0)
    assert dose.total_mg.value == pytest.approx(2200.0 * 72.0)


def test_adrenaline_as_four_sources_give_it() -> None:
    # case 0.002, handbook 0.003 (then 0.005), small-animal guideline 0.01, memory 0.02 mg/kg; mL of 1 mg/mL
    (line,) = (line for line in emergency_card(HORSE).lines if line.drug == "adrenaline")
    totals = {dose.chosen.published[0].entry: dose.total_mg.value for dose in line.published}
    assert totals == pytest.approx({"handbook": 1.65, "case": 1.1, "small_animal": 5.5, "memory": 11.0})
    handbook = drug("adrenaline").doses_for("arrest", "horse")[0].figure
    assert handbook.high * 550.0 == pytest.approx(2.75)


def test_lidocaine_loading_dose_and_infusion() -> None:
    # 1.5 mg/kg over 15 min: 825 mg, 41 mL at 165 mL/h; 50 µg/kg/min: 1650 mg/h, 82.5 mL/h of 20 mg/mL
    # (PMID 24986751 for the doses; arithmetic)
    loading = dose_for(HORSE, "lidocaine", "loading", strength="20 mg/mL")
    assert loading.total_mg.value == pytest.approx(825.0)
    assert loading.volume_ml.value == pytest.approx(41.25)
    pump = loading_pump_ml_h(loading)
    assert pump is not None
    assert pump.value == pytest.approx(165.0)
    running = infusion(HORSE, InfusionOrder(drug="lidocaine", use="infusion", strength="20 mg/mL"))
    assert running.mass_mg_h.value == pytest.approx(1650.0)
    assert running.pump_ml_h.value == pytest.approx(82.5)


def test_a_collapse_under_lidocaine_was_at_a_total_of_18_mg_kg() -> None:
    # Milligan et al. 2006: 1.3 mg/kg, then 50 µg/kg/min; one horse collapsed 5.5 h into it: 1.3 + 0.05 × 330
    assert figure("formulary.lidocaine.line.horse.total_mg_kg").value == pytest.approx(1.3 + 0.05 * 330.0)
    running = infusion(HORSE, InfusionOrder(drug="lidocaine", use="infusion", strength="20 mg/mL"))
    assert running_total(running, 330.0).total_mg_kg.value == pytest.approx(0.05 * 330.0)


@pytest.mark.parametrize(("rate", "pump"), [("0.5", 33.0), ("1", 66.0), ("2", 132.0)])
def test_dobutamine_in_a_bag_of_half_a_milligram(rate: str, pump: float) -> None:
    # rate × 550 kg × 60 ÷ 500 µg/mL: arithmetic
    signed = SignedDose(drug="dobutamine", use="hypotension", dose=f"{rate} µg/kg/min", strength="0.5 mg/mL")
    whom = patient(HORSE.animal, Profile(doses=(signed,)))
    running = infusion(whom, InfusionOrder(drug="dobutamine", use="hypotension"))
    assert running.pump_ml_h.value == pytest.approx(pump)


def test_drops_of_dobutamine_without_a_pump() -> None:
    # 66 mL/h at 20 drops/mL is 0.37 drop/s: arithmetic
    signed = SignedDose(drug="dobutamine", use="hypotension", dose="1 µg/kg/min", strength="0.5 mg/mL")
    whom = patient(HORSE.animal, Profile(doses=(signed,)))
    running = infusion(whom, InfusionOrder(drug="dobutamine", use="hypotension"))
    assert running.drip_per_s.value == pytest.approx(0.37, abs=0.005)


def test_triple_drip_and_crystalloid_run_by_volume() -> None:
    # 2.2 to 2.7 mL/kg/h (Lin et al. 1994): 1210 to 1485 mL/h; 3 mL/kg/h (haemorrhage preprint): 1650 mL/h
    drip = drug("triple drip").doses_for("intravenous_anaesthesia", "horse")[0].figure
    assert (drip.low * 550.0, drip.high * 550.0) == pytest.approx((1210.0, 1485.0))
    for name, use, pump in (
        ("triple drip", "intravenous anaesthesia", 2.45 * 550.0),
        ("crystalloid", "maintenance", 1650.0),
    ):
        running = infusion(HORSE, InfusionOrder(drug=name, use=use))
        assert running.pump_ml_h.value == pytest.approx(pump)
        assert running.mass_mg_h.value is None


def test_medetomidine_by_the_hour() -> None:
    # 3 µg/kg/h (Acta Vet Scand 2018): 1.65 mg/h
    running = infusion(HORSE, InfusionOrder(drug="medetomidine", use="balanced anaesthesia"))
    assert running.mass_mg_h.value == pytest.approx(1.65)


def test_a_deficit_of_fluid() -> None:
    # percent of dehydration × weight × 10 mL: 6 % of 550 kg is 33 L
    assert fluid_deficit_l(HORSE, 6.0).value == pytest.approx(33.0)


def test_sources_differ_on_when_to_stop_lidocaine() -> None:
    # about 30 min before the end of surgery (PMID 24986751); 15 min (60 horses)
    order = InfusionOrder(drug="lidocaine", use="infusion", strength="20 mg/mL", end_min=120.0)
    stop = infusion(HORSE, order).stop_min
    assert stop is not None
    assert (stop.low, stop.value, stop.high) == (90.0, 90.0, 105.0)


def test_what_is_known_of_a_foals_arrest() -> None:
    # ventilate below 50 beats/min (AAEP 2015)
    # arrest is near below 40 to 60 (Manual of Equine Neonatal Medicine)
    facts = {
        fact.name: fact for fact in emergency_card(patient(Animal(species="foal", weight_kg=60.0))).facts
    }
    prefix = "emergency.resuscitation.foal"
    assert facts[f"{prefix}.aaep2015.ventilate_below_heart_rate_per_min"].value == 50.0
    near = facts[f"{prefix}.neonatal_manual.arrest_heart_rate_per_min"]
    assert (near.low, near.high) == (40.0, 60.0)
