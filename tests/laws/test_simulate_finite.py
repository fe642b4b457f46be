"""No animal, however odd, and no setting, however extreme, leads to a number that is none."""

import random

import numpy as np
import pytest

from lungeline.case import Animal, Case, Equipment, Settings, Start
from lungeline.case.animal import WEIGHT_RANGE_KG
from lungeline.simulate.kernel import state as s
from lungeline.simulate.live import LiveCase
from lungeline.simulate.setup import STRUCTURES, species_parameters

MODES = ("volume", "pressure", "assisted", "spontaneous")
LARGEST_RESIDUAL_L = 1e-6


def bounded(live: LiveCase) -> None:
    """Fractions are shares, lungs hold gas, the books close."""
    y = live._y  # noqa: SLF001 - the state is inside
    assert np.isfinite(y).all()
    assert y[s.GAS :].min() >= -1e-6
    assert y[s.GAS :].max() <= 1.0 + 1e-6
    assert y[s.VOLUME_FAST] > 0.0
    assert max(abs(value) for value in live.balance().values()) < LARGEST_RESIDUAL_L


def odd_animal(generator: random.Random) -> LiveCase:
    """An animal of any kind, each of its parameters anywhere between 0.3 and 3 times the usual."""
    species = generator.choice(list(WEIGHT_RANGE_KG))
    low_kg, high_kg = WEIGHT_RANGE_KG[species]
    case = Case(
        animal=Animal(species=species, weight_kg=generator.uniform(low_kg, high_kg)),  # type: ignore[arg-type]  # the record checks it
        start=Start(state=generator.choice(["induced", "settled"])),
        settings=Settings(
            mode=generator.choice(MODES),  # type: ignore[arg-type]  # the record checks it
            peep_cmh2o=generator.choice([0.0, 5.0, 15.0]),
            pressure_limit_cmh2o=60.0,
            slowed_expiration=generator.random() < 0.3,
        ),
        equipment=Equipment(holds_baseline=generator.random() < 0.5),
    )
    multipliers = {
        name: generator.choice([0.3, 3.0, generator.uniform(0.3, 3.0)])
        for name in species_parameters(species)
    }
    multipliers |= {law: float(generator.random() < 0.2) for law in STRUCTURES}
    return LiveCase(case, multipliers=multipliers)


@pytest.mark.parametrize("seed", range(60))
def test_odd_animals_stay_finite(seed: int) -> None:
    live = odd_animal(random.Random(seed))  # noqa: S311 - a draw, not a secret
    live.advance(300.0)
    bounded(live)


@pytest.mark.slow
@pytest.mark.parametrize("count", [200, pytest.param(1000, marks=pytest.mark.long)])
def test_many_odd_animals_stay_finite(count: int) -> None:
    generator = random.Random(20)  # noqa: S311 - a draw, not a secret
    for _ in range(count):
        live = odd_animal(generator)
        live.advance(600.0)
        bounded(live)


@pytest.mark.parametrize("name", sorted(species_parameters("horse")))
@pytest.mark.parametrize("factor", [0.3, 3.0])
def test_one_parameter_at_its_extreme_stays_finite(name: str, factor: float) -> None:
    live = LiveCase(Case(animal=Animal(species="horse", weight_kg=500)), multipliers={name: factor})
    live.advance(180.0)
    bounded(live)


@pytest.mark.parametrize("law", STRUCTURES)
def test_every_structure_stays_finite(law: str) -> None:
    live = LiveCase(Case(animal=Animal(species="horse", weight_kg=500)), multipliers={law: 1.0})
    live.advance(600.0)
    bounded(live)


@pytest.mark.parametrize("mode", MODES)
@pytest.mark.parametrize("species", ["foal", "calf"])
def test_the_smallest_lung_without_peep(species: str, mode: str) -> None:
    animal = Animal(species=species, weight_kg=WEIGHT_RANGE_KG[species][0])  # type: ignore[arg-type]  # the record checks it
    equipment = Equipment(circle_volume_l=8, hose_volume_l=1, reservoir_capacity_l=3)
    case = Case(animal=animal, equipment=equipment, settings=Settings(mode=mode, peep_cmh2o=0.0))  # type: ignore[arg-type]  # the record checks it
    live = LiveCase(case, multipliers={"lung_capacity_l": 0.5, "superimposed_pressure_cmh2o": 1.6})
    live.fault("atelectasis")
    live.fault("bronchial_intubation")
    live.advance(600.0)
    bounded(live)
