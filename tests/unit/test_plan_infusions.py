"""Infusions: pump, bag, time, totals; expected numbers are arithmetic on the line beside them."""

import json

import pytest

from lungeline.case import Animal, Profile, SignedDose
from lungeline.errors import InputError, OutOfRangeError
from lungeline.plan.animal.patient import Patient, patient
from lungeline.plan.drugs.confirming import confirm
from lungeline.plan.drugs.doses import dose_for
from lungeline.plan.drugs.infusion_order import InfusionOrder
from lungeline.plan.drugs.infusions import Infusion, infusion, loading_pump_ml_h
from lungeline.plan.drugs.labels import labels
from lungeline.plan.drugs.running_total import fluid_deficit_l, running_total

HORSE = Animal(species="horse", weight_kg=550.0)


def signed(
    dose: str, drug: str = "dobutamine", use: str = "hypotension", strength: str = "0.5 mg/mL"
) -> Patient:
    choice = SignedDose(drug=drug, use=use, dose=dose, strength=strength)
    return patient(HORSE, Profile(doses=(choice,), signed_by="A. Vet", signed_on="2026-01-01"))


def codes(running: Infusion) -> set[str]:
    return {finding.code for finding in running.findings}


def lidocaine(
    whom: Patient | None = None,
    *,
    container_ml: float | None = None,
    start_min: float = 0.0,
    end_min: float | None = None,
) -> Infusion:
    order = InfusionOrder(
        drug="lidocaine",
        use="infusion",
        strength="20 mg/mL",
        container_ml=container_ml,
        start_min=start_min,
        end_min=end_min,
    )
    return infusion(whom or patient(HORSE), order)


@pytest.mark.parametrize(
    ("rate", "pump_ml_h"),
    [
        ("1 µg/kg/min", 66.0),  # 1 × 550 × 60 ÷ 1000 ÷ 0.5
        ("60 µg/kg/h", 66.0),
        ("0.06 mg/kg/h", 66.0),
    ],
)
def test_one_rate_in_three_units_is_one_pump(rate: str, pump_ml_h: float) -> None:
    running = infusion(signed(rate), InfusionOrder(drug="dobutamine", use="hypotension"))
    assert running.pump_ml_h.value == pytest.approx(pump_ml_h)
    assert running.status == "signed"


def test_a_bag_lasts_as_long_as_its_volume_over_the_pump() -> None:
    order = InfusionOrder(drug="dobutamine", use="hypotension", container_ml=500.0, start_min=10.0)
    running = infusion(signed("1 µg/kg/min"), order)
    assert running.empty_min is not None
    assert running.empty_min.value == pytest.approx(10.0 + 500.0 / 66.0 * 60.0)


def test_a_bag_that_runs_dry_before_the_end_is_told() -> None:
    # 66 mL/h for 2 h is 132 mL
    order = InfusionOrder(drug="dobutamine", use="hypotension", container_ml=100.0, end_min=120.0)
    running = infusion(signed("1 µg/kg/min"), order)
    (told,) = (finding for finding in running.findings if finding.code == "infusion_runs_dry")
    assert told.figures["needed_ml"] == pytest.approx(132.0)
    order = InfusionOrder(drug="dobutamine", use="hypotension", container_ml=250.0, end_min=120.0)
    assert "infusion_runs_dry" not in codes(infusion(signed("1 µg/kg/min"), order))


def test_a_heavier_animal_empties_the_bag_sooner() -> None:
    whom = patient(Animal(species="horse", weight_kg=550.0, girth_cm=189.0, length_cm=183.0))
    empty = lidocaine(whom, container_ml=250.0).empty_min
    assert empty is not None
    low_kg, _, high_kg = whom.weight.band_kg
    # 250 mL × 20 mg/mL ÷ (0.05 mg/kg/min × weight)
    assert empty.low == pytest.approx(5000.0 / (0.05 * high_kg))
    assert empty.high == pytest.approx(5000.0 / (0.05 * low_kg))


def test_without_a_strength_there_is_no_pump_rate() -> None:
    order = InfusionOrder(drug="dobutamine", use="hypotension", container_ml=500.0)
    running = infusion(patient(HORSE), order)
    assert running.mass_mg_h.value is not None
    assert running.pump_ml_h.value is None
    assert running.drip_per_s.value is None
    assert running.empty_min is not None
    assert running.empty_min.value is None
    assert "strength_to_choose" in codes(running)


def test_lidocaine_is_stopped_before_the_end_and_needs_no_more_than_until_then() -> None:
    running = lidocaine(start_min=10.0, end_min=120.0)
    assert running.stop_min is not None
    assert running.needed_ml is not None
    assert running.stop_min.value == 90.0  # 120 less 30
    assert running.needed_ml.value == pytest.approx(82.5 * 80.0 / 60.0)
    assert "infusion_stop_disagreement" in codes(running)


def test_no_time_left_to_infuse_is_told() -> None:
    assert "infusion_too_late" in codes(lidocaine(start_min=100.0, end_min=120.0))
    assert "infusion_too_late" not in codes(lidocaine(start_min=10.0, end_min=120.0))


def test_a_tenfold_rate_has_no_pump_rate_and_no_label() -> None:
    running = infusion(signed("50 µg/kg/min"), InfusionOrder(drug="dobutamine", use="hypotension"))
    assert running.status == "stopped"
    assert running.pump_ml_h.value is None
    assert "dose_beyond_limit" in codes(running) or "dose_tenfold" in codes(running)
    assert labels([], [running]) == ()


def test_the_label_of_a_bag_tells_its_pump_rate() -> None:
    order = InfusionOrder(drug="dobutamine", use="hypotension", container_ml=500.0)
    (made,) = labels([], [infusion(signed("1 µg/kg/min"), order)])
    assert made.pump_ml_h == pytest.approx(66.0)
    assert (made.volume_ml, made.strength, made.dose) == (500.0, "0.5 mg/mL", "1 microgram/kg/min")
    assert made.colour == "violet"


def test_a_single_dose_is_no_infusion_and_a_rate_no_dose() -> None:
    with pytest.raises(InputError, match="a dose rate"):
        infusion(patient(HORSE), InfusionOrder(drug="ketamine", use="induction"))
    with pytest.raises(InputError, match="a single dose"):
        dose_for(patient(HORSE), "dobutamine", "hypotension")


@pytest.mark.parametrize(
    ("container_ml", "start_min", "end_min"), [(0.0, 0.0, None), (None, 0.0, 0.0), (None, 50.0, 40.0)]
)
def test_an_order_nobody_could_mean_is_refused(
    container_ml: float | None, start_min: float, end_min: float | None
) -> None:
    with pytest.raises(OutOfRangeError):
        lidocaine(container_ml=container_ml, start_min=start_min, end_min=end_min)


def test_the_triple_drip_is_halved_after_an_hour() -> None:
    # Lin et al. 1994: ketamine and xylazine are halved after 60 min
    running = infusion(patient(HORSE), InfusionOrder(drug="triple drip", use="intravenous anaesthesia"))
    (told,) = (finding for finding in running.findings if finding.code == "infusion_halve")
    assert told.figures["after_min"] == 60.0


# --- totals -------------------------------------------------------------------------------------------


def test_what_was_given_so_far() -> None:
    loading = dose_for(patient(HORSE), "lidocaine", "loading", strength="20 mg/mL")
    total = running_total(lidocaine(start_min=15.0), 75.0, [loading], blocks_mg=550.0)
    # 1.5 + 550 ÷ 550 + 0.05 × 60
    assert total.bolus_mg_kg.value == pytest.approx(2.5)
    assert total.total_mg_kg.value == pytest.approx(5.5)
    assert total.total_mg.value == pytest.approx(5.5 * 550.0)
    assert total.findings == ()


def test_before_the_start_nothing_was_infused() -> None:
    assert running_total(lidocaine(start_min=15.0), 10.0).total_mg_kg.value == 0.0


def test_the_lines_of_lidocaine() -> None:
    loading = dose_for(patient(HORSE), "lidocaine", "loading", strength="20 mg/mL")
    # 1.5 + 2530 ÷ 550 = 6.1 mg/kg, above 6 (from memory)
    blocks = running_total(lidocaine(), 0.0, [loading], blocks_mg=2530.0)
    assert {finding.code for finding in blocks.findings} == {"bolus_total_high"}
    # 1.5 + 0.05 × 330 = 18 mg/kg, above 17.8 (Milligan et al. 2006)
    long = running_total(lidocaine(), 330.0, [loading])
    assert {finding.code for finding in long.findings} == {"infusion_total_high"}


def test_another_drug_is_not_added_up() -> None:
    other = dose_for(patient(HORSE), "ketamine", "induction", strength="100 mg/mL")
    with pytest.raises(InputError, match="doses of lidocaine"):
        running_total(lidocaine(), 60.0, [other])
    with pytest.raises(OutOfRangeError):
        running_total(lidocaine(), 60.0, blocks_mg=-1.0)


def test_only_a_dose_given_over_minutes_has_a_pump_rate() -> None:
    ketamine = dose_for(patient(HORSE), "ketamine", "induction", strength="100 mg/mL")
    assert loading_pump_ml_h(ketamine) is None
    unchosen = loading_pump_ml_h(dose_for(patient(HORSE), "lidocaine", "loading"))
    assert unchosen is not None
    assert unchosen.value is None


def test_a_deficit_beyond_life_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="percent"):
        fluid_deficit_l(patient(HORSE), 60.0)


def test_an_infusion_is_written_with_its_units() -> None:
    written = lidocaine(container_ml=250.0, end_min=120.0).as_json()
    json.dumps(written, allow_nan=False)
    assert {
        "dose_ug_kg_min",
        "mass_mg_h",
        "pump_ml_h",
        "drip_per_s",
        "empty_min",
        "stop_min",
    } <= written.keys()


def test_a_confirmed_loading_dose_counts_as_any_other() -> None:
    whom = signed("15 mg/kg", "lidocaine", "loading", "20 mg/mL")
    stopped = dose_for(whom, "lidocaine", "loading")
    assert stopped.status == "stopped"
    passed = confirm(stopped, first_person="A", second_person="B", dose_again="15 mg/kg", reason="r")
    assert passed.volume_ml.value == pytest.approx(15.0 * 550.0 / 20.0)
