"""Weight by tape: right for the horses it was made on, refused for all others."""

import pytest

from lungeline.case import case_from_tables
from lungeline.errors import InputError, MissingError, OutOfRangeError


def weight_of(**animal: object) -> float:
    return case_from_tables({"animal": animal}).animal.weight_kg


def test_an_adult_horse() -> None:
    # Carroll & Huntington 1988, Equine Vet J 20:41: girth² × length / 11877 = 189² × 183 / 11877 = 550.4 kg
    assert weight_of(species="horse", girth_cm=189, length_cm=183) == pytest.approx(550.387, abs=0.001)


def test_the_scales_are_believed_over_the_tape() -> None:
    assert weight_of(species="horse", weight_kg=500, girth_cm=189, length_cm=183) == 500


@pytest.mark.parametrize("species", ["foal", "donkey", "pony", "cattle", "calf"])
def test_other_animals_are_refused_with_the_reason(species: str) -> None:
    with pytest.raises(InputError, match="tape formula"):
        weight_of(species=species, girth_cm=120, length_cm=110)


@pytest.mark.parametrize(
    "other",
    [
        {"age_years": 1},
        {"condition": "pregnant"},
        {"girth_cm": 100, "length_cm": 90},
        {"girth_cm": 240, "length_cm": 220},
    ],
)
def test_horses_it_was_not_made_on_are_refused(other: dict[str, object]) -> None:
    with pytest.raises(OutOfRangeError, match="riding horse"):
        weight_of(**({"species": "horse", "girth_cm": 189, "length_cm": 183} | other))


def test_half_a_measure_is_no_measure() -> None:
    with pytest.raises(MissingError, match="girth_cm and length_cm"):
        weight_of(species="horse", girth_cm=189)
    with pytest.raises(MissingError, match="Add weight_kg to"):
        weight_of(species="foal", girth_cm=90)
