"""How long a person waits for a plan, and for one changed number of it, all compiled and warm."""

from itertools import count

from measuring import Result, least_s, print_results

from lungeline.case import Animal, Case
from lungeline.plan import Preview, make_plan

PLAN_TARGET_S = 2.5
BREATH_TARGET_S = 0.05
ANSWER_TARGET_S = 0.4


def main() -> None:
    """Measure and print."""
    case = Case(animal=Animal(species="horse", weight_kg=550, condition="colic"))
    preview, step = Preview(case), count(1)

    def volume_l() -> dict[str, float]:
        return {"tidal_volume_l": 5.0 + 0.001 * next(step)}  # never the same question twice

    print_results([
        Result(item="a whole plan, 100 animals for 40 min", target=PLAN_TARGET_S,
               measured=least_s(lambda: make_plan(case)), unit="s"),
        Result(item="one changed number: steady breath", target=BREATH_TARGET_S,
               measured=least_s(lambda: preview.breath(volume_l())), unit="s"),
        Result(item="one changed number: solved, 2 h course", target=ANSWER_TARGET_S,
               measured=least_s(lambda: preview.answer(volume_l())), unit="s"),
    ])  # fmt: skip


if __name__ == "__main__":
    main()
