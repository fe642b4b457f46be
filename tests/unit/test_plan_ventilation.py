"""Settings for one animal: solved where they may move, left alone where they were asked for."""

from dataclasses import replace

import pytest

from lungeline.case import Animal, Case, Equipment, Profile, Settings
from lungeline.plan.model import Model
from lungeline.plan.peep import best_step, peep_steps
from lungeline.plan.solving import highest_rate_per_min, settable
from lungeline.plan.starting import starting
from lungeline.plan.ventilation import Ventilation, ventilation

pytestmark = pytest.mark.slow  # runs the compiled kernel
HORSE = Animal(species="horse", weight_kg=500)


def planned(case: Case, profile: Profile | None = None) -> tuple[Model, Ventilation]:
    chosen, model = profile or Profile(), Model(case)
    return model, ventilation(model, starting(case, chosen), chosen)


def codes(found: Ventilation) -> set[str]:
    return {finding.code for finding in found.findings}


@pytest.mark.parametrize(("low", "high"), [(33.0, 38.0), (38.0, 44.0), (45.0, 60.0)])
def test_carbon_dioxide_comes_into_the_band_the_clinic_wants(low: float, high: float) -> None:
    model, found = planned(Case(animal=HORSE), Profile(paco2_low_mmhg=low, paco2_high_mmhg=high))
    assert low <= (model.steady(found.settings).paco2_mmhg or 0.0) <= high
    assert "carbon_dioxide_outside_band" not in codes(found)


def test_where_it_cannot_the_plan_says_what_stands_in_the_way() -> None:
    profile = Profile(paco2_low_mmhg=25.0, paco2_high_mmhg=30.0, accepted_peak_cmh2o=12.0)
    _, found = planned(Case(animal=HORSE), profile)
    told = next(each for each in found.findings if each.code == "carbon_dioxide_outside_band")
    assert told.figures["stands_in_the_way"] in {"pressure", "time to breathe out"}


def test_an_animal_that_breathes_is_not_held_higher() -> None:
    # spontaneous breathing returns at a PaCO2 of about 60 mmHg (study of PaCO2 40, 50, 60: see evidence)
    _, found = planned(Case(animal=HORSE), Profile(paco2_low_mmhg=70.0, paco2_high_mmhg=80.0))
    told = next(each for each in found.findings if each.code == "carbon_dioxide_outside_band")
    assert told.figures["stands_in_the_way"] == "its own breathing"


def test_the_accepted_peak_is_kept_by_a_smaller_breath() -> None:
    accepted = Profile(accepted_peak_cmh2o=15.5, peep_cmh2o=5.0)
    model, found = planned(Case(animal=HORSE), accepted)
    assert (model.steady(found.settings).peak_pressure_cmh2o or 0.0) <= 15.5
    assert found.settings.tidal_volume_l < starting(Case(animal=HORSE), accepted).settings.tidal_volume_l


def test_what_the_case_sets_is_not_moved() -> None:
    asked = Settings(tidal_volume_l=6.3, respiratory_rate_per_min=11.0, peep_cmh2o=3.0)
    _, found = planned(Case(animal=HORSE, settings=asked))
    now = found.settings
    assert (now.tidal_volume_l, now.respiratory_rate_per_min, now.peep_cmh2o) == (6.3, 11.0, 3.0)


def test_the_clinics_rule_is_where_the_plan_starts() -> None:
    begun = starting(Case(animal=HORSE), Profile(tidal_volume_ml_kg=12.0, respiratory_rate_per_min=6.0))
    assert begun.settings.tidal_volume_l == pytest.approx(6.0)  # 12 mL/kg of 500 kg: arithmetic
    assert begun.settings.respiratory_rate_per_min == 6.0
    assert begun.reasons["tidal_volume_l"].sources == ("profile",)


def test_there_is_time_to_breathe_out() -> None:
    model, found = planned(Case(animal=HORSE), Profile(paco2_low_mmhg=30.0, paco2_high_mmhg=36.0))
    now = found.settings
    assert now.respiratory_rate_per_min <= highest_rate_per_min(model, now, Profile()) + 0.1
    out_s = 60.0 / now.respiratory_rate_per_min - now.inspiratory_time_s - now.pause_s
    assert out_s >= 3.0 * (found.numbers["time_constant_s"].value or 0.0) * 0.99


def test_inspiration_is_lengthened_for_a_slow_machine() -> None:
    weak = Case(animal=HORSE, equipment=Equipment(flow_ceiling_l_s=1.5))
    _, found = planned(weak)
    assert "inspiration_lengthened" in codes(found)
    assert found.settings.tidal_volume_l / found.settings.inspiratory_time_s <= 1.5


def test_a_time_asked_for_that_the_machine_cannot_keep_is_a_stop() -> None:
    asked = Settings(tidal_volume_l=6.0, inspiratory_time_s=1.0)
    _, found = planned(Case(animal=HORSE, settings=asked, equipment=Equipment(flow_ceiling_l_s=3.0)))
    told = next(each for each in found.findings if each.code == "flow_beyond_machine")
    assert told.severity == "stop"


def test_the_best_peep_delivers_most_oxygen_of_all_steps() -> None:
    model, begun = Model(Case(animal=HORSE)), starting(Case(animal=HORSE), Profile())
    steps = peep_steps(model, begun.settings, Profile())
    best = best_step(steps, Profile())
    assert best.oxygen_delivery_l_min == max(step.oxygen_delivery_l_min for step in steps)
    outputs = [step.cardiac_output_l_min for step in steps]
    assert outputs == sorted(outputs, reverse=True)  # every step of PEEP costs output


def test_a_species_that_was_not_checked_keeps_the_rule_and_gets_no_green_light() -> None:
    case = Case(animal=Animal(species="calf", weight_kg=90))
    begun = starting(case, Profile())
    _, found = planned(case)
    assert replace(found.settings, trigger_flow_l_min=0.0, apnoea_backup_s=0.0) == replace(
        begun.settings, trigger_flow_l_min=0.0, apnoea_backup_s=0.0
    )
    assert any(each.code == "species_not_validated" and each.severity == "stop" for each in found.findings)


def test_the_trigger_lies_above_the_leak() -> None:
    leaky = Case(animal=HORSE, equipment=Equipment(leak_at_30_cmh2o_ml_min=20000))
    _, found = planned(leaky)
    assert found.settings.trigger_flow_l_min >= 2.0 * (found.numbers["leak_at_peep_l_min"].value or 0.0)


def test_every_setting_has_a_reason_with_a_source() -> None:
    _, found = planned(Case(animal=HORSE))
    for name, reason in found.reasons.items():
        assert reason.value == getattr(found.settings, name), name
        assert reason.sources


@pytest.mark.parametrize(("value", "wanted"), [(5.44, 5.4), (0.437, 0.44), (1.02, 1.0), (9.95, 9.9)])
def test_settings_are_what_a_person_can_set(value: float, wanted: float) -> None:
    assert settable(value, down=value > 9.0) == pytest.approx(wanted)  # arithmetic
