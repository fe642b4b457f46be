"""Open plans: the same question is answered once, and no more are kept than there is room for."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from threading import Barrier

import pytest

from lungeline.case import Animal, Case, Profile
from lungeline.errors import StoppedError, UnknownNameError
from lungeline.plan.settled_doses import DoseChoice
from lungeline.web.parts.plannings import Asked, Plannings

pytestmark = pytest.mark.slow  # runs the compiled kernel
ASKED = Asked(case=Case(animal=Animal(species="horse", weight_kg=500)), animals=2)


def test_all_that_a_plan_is_made_from_is_in_its_key() -> None:
    others = (
        replace(ASKED, case=replace(ASKED.case, title="Stella")),
        replace(ASKED, profile=Profile(mac_multiple=1.3)),
        replace(ASKED, animals=3),
        replace(ASKED, seed=2),
        replace(ASKED, doses=(DoseChoice(drug="ketamine", use="induction", strength="100 mg/mL"),)),
    )
    assert len({ASKED.key(), *(each.key() for each in others)}) == 1 + len(others)
    assert others[-1].key(doses=False) == ASKED.key()


def test_many_who_ask_the_same_at_once_have_one_plan() -> None:
    plannings, begin = Plannings(), Barrier(4)

    def ask() -> int:
        begin.wait()
        return id(plannings.plan(ASKED)[1])

    with ThreadPoolExecutor(4) as pool:
        assert len(set(pool.map(lambda _: ask(), range(4)))) == 1


def test_what_was_used_longest_ago_is_let_go_and_says_what_to_do() -> None:
    plannings = Plannings()
    first, _ = plannings.plan(replace(ASKED, animals=1))
    second, _ = plannings.plan(replace(ASKED, animals=1, seed=1000))
    for number in range(31):  # 32 are kept
        plannings.find(first)
        plannings._plans.put(f"other {number}", plannings.find(first))  # noqa: SLF001  what is asked of a bound
    with pytest.raises(UnknownNameError, match="Plan again"):
        plannings.find(second)
    assert plannings.find(first)


def test_one_hand_does_not_end_what_another_asked() -> None:
    plannings = Plannings()
    key, _ = plannings.plan(ASKED)
    assert plannings.preview(key, "one") is plannings.preview(key, "one")
    assert plannings.preview(key, "one") is not plannings.preview(key, "another")
    plannings.moved("one")
    assert plannings.bands(key, ticket="bands", device="another").animals == 24
    assert plannings.progress("bands") == {"done": 24, "of": 24}


def test_longer_work_ends_where_its_own_device_moves_on(monkeypatch: pytest.MonkeyPatch) -> None:
    plannings = Plannings()
    key, _ = plannings.plan(ASKED)
    put = plannings._done.put  # noqa: SLF001  to move in the midst of it

    def moving(ticket: str, value: tuple[int, int]) -> None:
        put(ticket, value)
        plannings.moved("one")

    monkeypatch.setattr(plannings._done, "put", moving)  # noqa: SLF001  as above
    with pytest.raises(StoppedError):
        plannings.bands(key, ticket="bands", device="one")
