"""A scenario of any case, in which nothing goes wrong by itself: to try things out, and for a bench."""

from dataclasses import replace

from lungeline.case import Case
from lungeline.rehearse.scenario import Critical, Limit, Scenario, Step, Teaching, Wanted, Wrong

HYPOXAEMIA_MMHG = 60.0  # as harm counts it
LONGEST_MIN = 240.0  # of a scenario


def free_practice(case: Case, *, minutes: float = LONGEST_MIN, settle_min: float = 1.0) -> Scenario:
    """Return a scenario of a case as it begins; its later changes and faults are left to who plays."""
    return Scenario(
        name="free_practice",
        title="Free practice",
        objective="Try things out on an animal of one's own",
        number=999,
        minutes=minutes,
        settle_min=settle_min,
        story=f"A {case.animal.species} of {case.animal.weight_kg:g} kg. Nothing happens by itself.",
        case=replace(case, changes=(), faults=(), title=""),
        critical=(stays_oxygenated(),),
        teaching=(Teaching(says="What is tried here shows itself.", source="not applicable"),),
        model_answer=(Step.model_validate({"at_s": 0.0, "deed": "look at capnogram"}),),
        wrong=(Wrong(why="Nothing is wrong by itself here.", script=()),),
        treats=(Wanted(deed="look at capnogram"),),
        simplified=("Nobody judges what is done here.",),
    )


def stays_oxygenated() -> Critical:
    """Return the one thing asked of every animal."""
    return Critical(
        code="stays_oxygenated",
        says=f"Arterial oxygen stays above {HYPOXAEMIA_MMHG:g} mmHg",
        holds=Limit(key="pao2_mmhg", above=HYPOXAEMIA_MMHG),
    )
