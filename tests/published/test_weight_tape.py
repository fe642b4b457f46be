"""Weight from a tape against published formulas and worked values."""

import pytest

from lungeline.physiology.size import (
    weight_carroll1988_holds,
    weight_carroll1988_kg,
    weight_error_fraction,
    weight_pearson1996_holds,
    weight_pearson1996_kg,
    weight_rodriguez2007_holds,
    weight_rodriguez2007_kg,
    weight_schaeffer_kg,
)


def test_an_adult_horse() -> None:
    # girth² × length / 11877 (divisor: abstract of a foal study of 2016); 189 × 183 cm -> 550 kg, arithmetic
    assert weight_carroll1988_kg(189.0, 183.0) == pytest.approx(550.0, abs=0.5)


def test_another_formula_of_girth_alone_agrees_for_that_horse() -> None:
    # Marcenac & Aublet 1964, 80 × girth³ in metres, as quoted in "How much does that horse weigh?" (abstract)
    assert weight_carroll1988_kg(189.0, 183.0) == pytest.approx(80.0 * 1.89**3, rel=0.03)


@pytest.mark.parametrize(("girth_error", "weight_error"), [(0.02, 0.04), (-0.02, -0.04)])
def test_two_percent_of_girth_are_four_of_weight(girth_error: float, weight_error: float) -> None:
    # derived: ± 2 % girth -> ± 4 % weight; and the same by measuring again
    assert weight_error_fraction(girth_error, 0.0) == pytest.approx(weight_error, abs=0.0005)
    again = weight_carroll1988_kg(189.0 * (1.0 + girth_error), 183.0) / weight_carroll1988_kg(189.0, 183.0)
    assert again - 1.0 == pytest.approx(weight_error_fraction(girth_error, 0.0), abs=1e-12)


# Not for foals, donkeys, miniatures, draught horses or pregnant mares (foal study 2016, abstract)
@pytest.mark.parametrize(
    ("girth_cm", "length_cm", "age_years", "pregnant"),
    [
        (85.0, 75.0, 0.1, False),  # newborn foal
        (160.0, 150.0, 1.0, False),  # yearling
        (110.0, 100.0, 8.0, False),  # miniature or donkey
        (235.0, 210.0, 8.0, False),  # draught horse
        (205.0, 175.0, 9.0, True),  # pregnant mare
    ],
)
def test_the_adult_formula_refuses_others(
    girth_cm: float,
    length_cm: float,
    age_years: float,
    pregnant: bool,  # noqa: FBT001 - the formula's own switch
) -> None:
    assert not weight_carroll1988_holds(girth_cm, length_cm, age_years, pregnant)


def test_the_adult_formula_takes_an_adult() -> None:
    assert weight_carroll1988_holds(189.0, 183.0, 8.0, False)  # noqa: FBT003 - not pregnant


# --- donkeys ------------------------------------------------------------------------------------------


def test_moroccan_donkeys_stay_within_the_weights_measured() -> None:
    # Pearson & Ouassat, Vet Rec 1996;138:229 (abstract): girth^2.65/2188, animals of 74 to 252 kg
    assert weight_pearson1996_kg(115.0) == pytest.approx(115.0**2.65 / 2188.0, rel=1e-12)
    assert weight_pearson1996_holds(115.0, 6.0)
    assert not weight_pearson1996_holds(85.0, 6.0)
    assert not weight_pearson1996_holds(160.0, 6.0)
    assert not weight_pearson1996_holds(115.0, 1.0)


@pytest.mark.parametrize("girth_cm", [100.0, 110.0, 120.0])
def test_mexican_donkeys_are_lighter_as_their_authors_say(girth_cm: float) -> None:
    # de Aluja et al., Trop Anim Health Prod 2005 (abstract): males 0.018576 × girth^1.84107; the equation of
    # Morocco overestimated them
    assert weight_pearson1996_kg(girth_cm) > 0.018576 * girth_cm**1.84107


@pytest.mark.parametrize("girth_cm", [135.0, 140.0, 145.0])
def test_large_european_donkeys_are_heavier_as_their_authors_say(girth_cm: float) -> None:
    # Quaresma et al., J Equine Vet Sci 2019 (summary): 98.138 - 3.0386 girth + 0.0293 girth²; formulas from
    # smaller breeds underestimate
    assert weight_pearson1996_kg(girth_cm) < 98.138 - 3.0386 * girth_cm + 0.0293 * girth_cm**2


# --- foals, cattle ------------------------------------------------------------------------------------


@pytest.mark.parametrize("girth_cm", [80.0, 85.0, 90.0])
def test_two_foal_formulas_agree_in_the_first_month(girth_cm: float) -> None:
    # Magazine text of 2000 (second-hand), days 7 to 28: (girth in inches - 25)/0.07 pounds
    other_kg = (girth_cm / 2.54 - 25.0) / 0.07 * 0.45359237
    assert weight_rodriguez2007_kg(girth_cm) == pytest.approx(other_kg, rel=0.12)
    assert weight_rodriguez2007_holds(girth_cm, 0.05)


def test_the_foal_formula_refuses_an_adult() -> None:
    assert not weight_rodriguez2007_holds(120.0, 3.0)


def test_a_bull() -> None:
    # Draught-animal manual (full text): 60 × 60 × 53 in / 300 = 636 lb = 289 kg (with 2.2 lb/kg; exactly
    # 288.5)
    assert weight_schaeffer_kg(60.0 * 2.54, 53.0 * 2.54) == pytest.approx(636.0 * 0.45359237, abs=1e-9)
    assert weight_schaeffer_kg(152.0, 135.0) == pytest.approx(289.0, rel=0.01)
