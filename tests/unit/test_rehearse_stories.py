"""What a story says of the animal is how the model's animal is when it is handed over."""

import re

import pytest

from lungeline.rehearse import Rehearsal, Scenario, scenarios

pytestmark = pytest.mark.slow  # an hour of simulated time before some are handed over

# what is said, the quantity, how near: a story gives whole numbers, a gas analyser and a gauge are no nearer
SAID = {
    r"PaO2 (?:is )?(\d+)": ("pao2_mmhg", 3.0),
    r"PaCO2 (\d+)": ("paco2_mmhg", 1.0),
    r"[Mm]ean pressure (\d+)": ("map_mmhg", 2.0),
    r"(\d\.\d) MAC": ("mac_multiple", 0.05),
}
TELLING = [it for it in scenarios() if any(re.search(said, f"{it.title} {it.story}") for said in SAID)]


@pytest.mark.parametrize("scenario", TELLING, ids=lambda it: it.name)
def test_a_story_gives_the_numbers_of_the_animal_it_hands_over(scenario: Scenario) -> None:
    breath = Rehearsal(scenario).live.breaths[-1]
    for said, (key, within) in SAID.items():
        for number in re.findall(said, f"{scenario.title} {scenario.story}"):
            assert getattr(breath, key) == pytest.approx(float(number), abs=within), (key, number)


def test_stories_that_give_numbers_are_found() -> None:
    assert len(TELLING) >= 6
