"""Weight with its range: by tape where a formula holds, refused where none does, slips named."""

import pytest

from lungeline.case import Animal, Reasoned
from lungeline.errors import InputError, MissingError
from lungeline.plan.animal.tape import weight_by_tape
from lungeline.plan.animal.weight import weight


def codes(animal: Animal) -> set[str]:
    """Codes of the findings about an animal's weight."""
    return {finding.code for finding in weight(animal).findings}


def test_a_stated_weight_stands_and_has_no_range() -> None:
    found = weight(Animal(species="horse", weight_kg=500.0))
    assert found.band_kg == (500.0, 500.0, 500.0)
    assert found.tape_weight_kg is None
    assert found.weight_kg.why()["sources"] == ["case"]


def test_a_taped_weight_carries_the_error_of_the_tape() -> None:
    # closed form: girth² × length, 2 % of each in the same direction: 1.02³ and 0.98³
    taped = weight_by_tape(Animal(species="horse", weight_kg=500.0, girth_cm=189.0, length_cm=183.0))
    assert taped.value is not None
    found = weight(Animal(species="horse", weight_kg=taped.value, girth_cm=189.0, length_cm=183.0))
    low, value, high = found.band_kg
    assert low / value == pytest.approx(0.98**3, rel=1e-9)
    assert high / value == pytest.approx(1.02**3, rel=1e-9)


def test_the_range_is_carried_into_a_dose() -> None:
    taped = weight_by_tape(Animal(species="horse", weight_kg=500.0, girth_cm=189.0, length_cm=183.0))
    found = weight(Animal(species="horse", weight_kg=taped.value or 0.0, girth_cm=189.0, length_cm=183.0))
    each = Reasoned(
        name="dose_mg_kg", value=2.0, low=1.0, high=3.0, formula="as published", sources=("memory",)
    )
    total = found.times("dose_mg", each)
    low, value, high = found.band_kg
    assert (total.low, total.value, total.high) == (low, 2.0 * value, 3.0 * high)
    assert set(total.inputs) == {"dose_mg_kg", "weight.weight_kg"}


@pytest.mark.parametrize(
    "animal",
    [
        Animal(species="pony", weight_kg=150.0, girth_cm=130.0, length_cm=120.0),
        Animal(species="calf", weight_kg=60.0, girth_cm=85.0, length_cm=80.0),
        Animal(species="horse", weight_kg=500.0, girth_cm=190.0, length_cm=180.0, condition="pregnant"),
        Animal(species="horse", weight_kg=300.0, girth_cm=160.0, length_cm=150.0, age_years=1.0),
        Animal(species="horse", weight_kg=900.0, girth_cm=240.0, length_cm=220.0),
        Animal(species="donkey", weight_kg=150.0, girth_cm=118.0, condition="pregnant"),
        Animal(species="donkey", weight_kg=100.0, girth_cm=105.0, age_years=1.5),
        Animal(species="foal", weight_kg=200.0, girth_cm=125.0, age_years=0.9),
        Animal(species="cattle", weight_kg=600.0, girth_cm=190.0, length_cm=160.0, condition="pregnant"),
    ],
)
def test_no_formula_is_used_on_animals_it_was_not_made_on(animal: Animal) -> None:
    with pytest.raises(InputError):
        weight_by_tape(animal)
    assert "weight_tape_refused" in codes(animal)
    assert weight(animal).band_kg[1] == animal.weight_kg


@pytest.mark.parametrize(
    ("animal", "missing"),
    [
        (Animal(species="horse", weight_kg=500.0, girth_cm=189.0), "length_cm"),
        (Animal(species="foal", weight_kg=50.0, girth_cm=82.0), "age_years"),
        (Animal(species="cattle", weight_kg=500.0, girth_cm=180.0), "length_cm"),
    ],
)
def test_what_is_missing_is_named(animal: Animal, missing: str) -> None:
    with pytest.raises(MissingError, match=missing):
        weight_by_tape(animal)


def test_a_girth_in_inches_is_named() -> None:
    # 74.4 in = 189 cm, exact conversion
    with pytest.raises(InputError, match=r"inches: write girth_cm = 189"):
        weight_by_tape(Animal(species="horse", weight_kg=550.0, girth_cm=74.4, length_cm=72.0))


def test_pounds_for_kilograms_are_caught_by_the_tape() -> None:
    # 550 kg = 1213 lb, exact conversion
    animal = Animal(species="horse", weight_kg=1213.0, girth_cm=189.0, length_cm=183.0)
    slip = next(each for each in weight(animal).findings if each.code == "weight_in_pounds")
    assert slip.severity == "stop"
    assert slip.figures["right_kg"] == pytest.approx(550.0, abs=0.5)


def test_a_weight_turned_into_kilograms_twice_is_caught_by_the_tape() -> None:
    # 550 kg taken for pounds: 249.5 kg
    assert "weight_converted_twice" in codes(
        Animal(species="horse", weight_kg=249.5, girth_cm=189.0, length_cm=183.0)
    )


def test_pounds_are_suspected_without_a_tape() -> None:
    assert codes(Animal(species="horse", weight_kg=1200.0)) == {"weight_perhaps_pounds"}
    assert codes(Animal(species="horse", weight_kg=620.0)) == set()


def test_a_stated_weight_outside_the_tape_is_said() -> None:
    assert codes(Animal(species="horse", weight_kg=640.0, girth_cm=189.0, length_cm=183.0)) == {
        "weight_against_tape"
    }
    assert codes(Animal(species="horse", weight_kg=560.0, girth_cm=189.0, length_cm=183.0)) == set()


def test_it_has_one_json_form() -> None:
    told = weight(Animal(species="horse", weight_kg=560.0, girth_cm=189.0, length_cm=183.0)).as_json()
    assert set(told) == {"weight_kg", "tape_weight_kg"}
    assert told["weight_kg"]["value"] == 560.0
