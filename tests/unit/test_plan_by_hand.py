"""A plan under a hand: how far its numbers move, bands for a screen, bottles chosen and doses confirmed."""

from dataclasses import replace

import pytest

from lungeline.case import Animal, Case, Profile, SignedDose
from lungeline.errors import InputError, UnknownNameError
from lungeline.plan import Plan, make_plan
from lungeline.plan.bands import BAND_KEYS, bands
from lungeline.plan.settled_doses import DoseChoice, with_doses
from lungeline.plan.spans import spans

pytestmark = pytest.mark.slow  # runs the compiled kernel
ANIMALS = 4
KETAMINE = DoseChoice(drug="ketamine", use="induction", strength="100 mg/mL")


@pytest.fixture(scope="module")
def plan() -> Plan:
    """A plan of a grown horse."""
    return make_plan(Case(animal=Animal(species="horse", weight_kg=500)), animals=ANIMALS)


@pytest.mark.parametrize(
    ("species", "weight_kg"), [("horse", 612.0), ("pony", 93.0), ("foal", 41.0), ("cattle", 700.0)]
)
def test_the_planned_value_lies_within_what_a_hand_can_move(species: str, weight_kg: float) -> None:
    case = Case(animal=Animal(species=species, weight_kg=weight_kg))  # type: ignore[arg-type]  # one of the species
    made = make_plan(case, animals=1)
    for name, span in spans(made).items():
        assert span.low <= getattr(made.settings, name) <= span.high, name
        assert 10 <= (span.high - span.low) / span.step <= 300, name  # a step is a pixel of a slider at least


def test_bands_follow_the_course_with_its_later_changes(plan: Plan) -> None:
    found = bands(plan, animals=ANIMALS)
    assert len(found.at_min) == 120
    assert set(found.values) == set(BAND_KEYS)
    for band in found.values.values():
        rows = zip(band["low"], band["middle"], band["high"], strict=True)
        assert all(low <= middle <= high for low, middle, high in rows if None not in {low, middle, high})  # type: ignore[operator]  # none of them None
    deep = found.values["mac_multiple"]["middle"]
    assert (deep[0] or 0.0) < (deep[-1] or 0.0)  # connected light, led to depth
    assert found == bands(plan, animals=ANIMALS)


def test_a_chosen_bottle_gives_its_volume_everywhere(plan: Plan) -> None:
    before = _dose(plan, "ketamine.induction")
    assert before.volume_ml.value is None
    made = with_doses(plan, [KETAMINE])
    after = _dose(made, "ketamine.induction")
    # arithmetic: total over strength
    assert after.volume_ml.value == pytest.approx((after.total_mg.value or 0.0) / 100.0)
    label = next(each for each in made.labels if (each.drug, each.use) == ("ketamine", "induction"))
    assert label.volume_ml == after.volume_ml.value
    to_choose = [each.about for each in made.findings if each.code == "strength_to_choose"]
    assert not any(about.startswith("drugs.ketamine.induction") for about in to_choose)
    assert made.why(after.volume_ml.name)["inputs"]["strength_mg_ml"] == 100.0


def test_what_was_said_of_other_doses_stays(plan: Plan) -> None:
    made = with_doses(plan, [KETAMINE])
    for finding in plan.findings:
        if "ketamine" not in str(finding.figures) and finding.code != "look_alike_volumes":
            assert finding in made.findings
    unmoved = with_doses(plan, [])
    assert len(unmoved.findings) == len(plan.findings)
    assert all(finding in plan.findings for finding in unmoved.findings)


def test_two_people_confirm_a_dose_by_typing_it_again(plan: Plan) -> None:
    wanted = _dose(plan, "xylazine.premedication").dose
    told = DoseChoice(
        drug="xylazine",
        use="premedication",
        strength="20 mg/mL",
        first_person="A. Vet",
        second_person="B. Nurse",
        dose_again=f"{wanted.value:g} mg/kg",
    )
    assert _dose(with_doses(plan, [told]), "xylazine.premedication").status == "confirmed"
    with pytest.raises(InputError, match="two different people"):
        with_doses(plan, [replace(told, second_person="a. vet ")])
    with pytest.raises(InputError, match="same dose again"):
        with_doses(plan, [replace(told, dose_again=f"{10 * (wanted.value or 0.0):g} mg/kg")])


def test_a_stopped_dose_has_no_volume_before_two_have_confirmed_it_with_a_reason() -> None:
    slip = SignedDose(
        drug="xylazine", use="premedication", dose="5 mg/kg", signed_by="A", signed_on="2026-01-01"
    )
    profile = Profile(doses=(slip,))
    made = make_plan(Case(animal=Animal(species="horse", weight_kg=500)), profile, animals=1)
    told = DoseChoice(drug="xylazine", use="premedication", strength="100 mg/mL")
    assert _dose(with_doses(made, [told]), "xylazine.premedication").volume_ml.value is None
    both = replace(told, first_person="A", second_person="B", dose_again="5 mg/kg")
    with pytest.raises(InputError, match="reason"):
        with_doses(made, [both])
    passed = _dose(with_doses(made, [replace(both, reason="meant")]), "xylazine.premedication")
    assert passed.volume_ml.value == pytest.approx(5.0 * 500.0 / 100.0)  # arithmetic


def test_an_infusion_takes_its_bag(plan: Plan) -> None:
    choice = DoseChoice(drug="dobutamine", use="hypotension", strength="0.5 mg/mL")
    found = next(
        each for each in with_doses(plan, [choice]).infusions if each.chosen.drug.name == "dobutamine"
    )
    # arithmetic: mass in an hour over strength
    assert found.pump_ml_h.value == pytest.approx((found.mass_mg_h.value or 0.0) / 0.5)


def test_a_dose_the_plan_does_not_have_is_refused_with_the_nearest(plan: Plan) -> None:
    with pytest.raises(UnknownNameError, match=r"ketamine\.induction"):
        with_doses(plan, [replace(KETAMINE, use="inducton")])


def _dose(plan: Plan, name: str):  # type: ignore[no-untyped-def]  # noqa: ANN202  the dose as it is
    return next(each for each in plan.drugs.doses if each.name == name)
