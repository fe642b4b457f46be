"""The default step shows what a step ten times shorter shows, breath by breath.

Tolerances: half a percent, or what nobody could read off: 0.15 cmH2O, 0.01 L, 0.2 mmHg, 0.001 of a
fraction, whichever is larger. The tick of 0.1 s is the same in both.
"""

from dataclasses import fields

import pytest

from lungeline.case import Animal, Breath, Case, Equipment, Settings
from lungeline.simulate.run import simulate

BREATHS = 60
SHARE = 0.005
LEAST = {
    "cmh2o": 0.15,
    "l": 0.01,
    "mmhg": 0.2,
    "fraction": 0.001,
    "min": 0.15,
    "ph": 0.005,
    "ml": 0.01,
    "multiple": 0.002,
}
ODD = Settings(respiratory_rate_per_min=7.3, inspiratory_time_s=1.37, peep_cmh2o=4.0)
ODD_LIMITED = Settings(
    respiratory_rate_per_min=7.3, inspiratory_time_s=1.37, peep_cmh2o=4.0, pressure_limit_cmh2o=15.0
)
ODD_PAUSED = Settings(respiratory_rate_per_min=7.3, inspiratory_time_s=1.37, peep_cmh2o=4.0, pause_s=0.53)
HORSE = Animal(species="horse", weight_kg=500)
CASES: dict[str, Case] = {
    "usual": Case(animal=HORSE),
    "odd timing": Case(animal=HORSE, settings=ODD),
    "odd timing, limited": Case(animal=HORSE, settings=ODD_LIMITED),
    "odd timing, paused": Case(animal=HORSE, settings=ODD_PAUSED),
    "odd timing, uncompensated": Case(
        animal=HORSE, settings=ODD, equipment=Equipment(compliance_compensated=False)
    ),
    "pressure": Case(animal=HORSE, settings=Settings(mode="pressure")),
    "slowed": Case(animal=HORSE, settings=Settings(slowed_expiration=True)),
    "leak": Case(animal=HORSE, equipment=Equipment(leak_at_30_cmh2o_ml_min=5000)),
    "pony": Case(animal=Animal(species="pony", weight_kg=200)),
}
ALIKE = tuple(f.name for f in fields(Breath) if f.name != "time_s")


def breaths(case: Case, dt_s: float) -> list[Breath]:
    """The first breaths of an animal that does not breathe itself, which would be a matter of chance."""
    return simulate(case, 9.0, dt_s=dt_s, multipliers={"breathes": 0.0}).breaths[:BREATHS]


def tolerance(key: str, value: float) -> float:
    return max(SHARE * abs(value), LEAST[key.rsplit("_", 1)[-1]])


@pytest.mark.parametrize("name", CASES)
def test_the_default_step_is_short_enough(name: str) -> None:
    usual, fine = breaths(CASES[name], 0.01), breaths(CASES[name], 0.001)
    assert len(usual) == len(fine)
    for ours, theirs in zip(usual, fine, strict=True):
        assert ours.time_s == pytest.approx(theirs.time_s, abs=0.0101)  # begins within one step
        for key in ALIKE:
            found, expected = getattr(ours, key), getattr(theirs, key)
            if expected is None:
                assert found is None
                continue
            assert found == pytest.approx(expected, abs=tolerance(key, expected)), (key, ours.time_s)


def test_the_rate_is_kept_exactly() -> None:
    # 60 s over 7.3, which no step divides (arithmetic)
    for breath in breaths(CASES["odd timing"], 0.01)[1:]:
        assert breath.respiratory_rate_per_min == pytest.approx(7.3, rel=1e-9)
