"""How fast the simulated animal runs: one of them, and a herd."""

from measuring import Result, least_s, print_results

from lungeline.case.animal import Animal
from lungeline.case.case import Case
from lungeline.simulate.herd import simulate_herd
from lungeline.simulate.run import simulate

ONE_ANIMAL_MIN = 120.0
HERD_ANIMALS = 200
HERD_MIN = 30.0
HERD_STEP_S = 0.02
# One lung volume, blood that arrives at once, output that neither depth nor CO2 changes.
CORE = {"slow_fraction": 0.0, "arterial_blood_l": 0.0, "full_circulation": 0.0}

CORE_TARGET_S = 0.15
FULL_TARGET_S = 0.20
HERD_TARGET_S = 3.0


def main() -> None:
    """Measure and print."""
    case = Case(animal=Animal(species="horse", weight_kg=500.0))
    core_s = least_s(lambda: simulate(case, ONE_ANIMAL_MIN, multipliers=CORE))
    full_s = least_s(lambda: simulate(case, ONE_ANIMAL_MIN))
    herd_s = least_s(lambda: simulate_herd(case, HERD_ANIMALS, 1, HERD_MIN, dt_s=HERD_STEP_S))
    print_results([
        Result(item="one animal, 2 h, core structure", target=CORE_TARGET_S, measured=core_s, unit="s"),
        Result(item="one animal, 2 h, full structure", target=FULL_TARGET_S, measured=full_s, unit="s"),
        Result(item="200 animals, 30 min, 20 ms steps", target=HERD_TARGET_S, measured=herd_s, unit="s"),
    ])  # fmt: skip


if __name__ == "__main__":
    main()
