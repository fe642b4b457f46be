"""Why what was read last differs from what was read before: explained anew at each answer."""

import threading
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from lungeline.case import Case
from lungeline.explain import (
    BedsideTest,
    Explanation,
    Prepared,
    Proposal,
    RankedCause,
    assumed,
    channels,
    explain,
    prepare,
    typed,
)
from lungeline.explain.assumed import NO_FAULT, NONE_OF_THESE
from lungeline.record import CaseState, Item
from lungeline.theatre.rows_read import Story, answered_since

_MOST_KEPT = 4
_MOST_LINES = 5
_ALIKE = 2.0  # times likelier: less cannot be told apart where the same readings speak for both; assumption


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What a test found, as it stands in the record. found: empty where it was put off."""

    item: Item
    test: str
    found: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """What is told on one line: a cause, or two that readings cannot tell apart; splits: what can."""

    causes: Sequence[RankedCause]
    splits: BedsideTest | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Why:
    """The explanation of a story: causes line by line, the rest by name, answers so far, the next test."""

    story: Story
    told: Explanation
    lines: Sequence[Line]
    not_excluded: Sequence[RankedCause]
    unlikely: Sequence[RankedCause]
    answers: Sequence[Answer]
    next_test: Proposal | None


class Causes:
    """Explains cases; keeps what was simulated of those asked for lately: an answer then takes no time."""

    def __init__(self) -> None:
        """Begin with nothing prepared."""
        self._kept: OrderedDict[str, tuple[str, Prepared]] = OrderedDict()
        self._lock = threading.Lock()

    def why(self, state: CaseState, case: Case, told: Story) -> Why:
        """Return why, with the answers that stand in the record since all was well."""
        answers = answers_of(state, told)
        known = assumed().tests
        found = {it.test: it.found for it in answers if it.found in known.get(it.test, _NONE).answers}
        read = {it.test: float(it.found) for it in answers if it.test in channels() and _is_number(it.found)}
        readings, changed_s = told.readings()
        explained = explain(
            case, [*readings, *typed(read, told.now_s)], changed_s=changed_s, answers=found,
            prepared=self._prepared(state.case, case, told),
        )  # fmt: skip
        put_off = {it.test for it in answers if not it.found}
        tests = [it for it in explained.tests if it.test.code not in put_off]
        shown = explained.shown()
        return Why(
            story=told, told=explained,
            lines=_lines([it for it in shown if it.word in {"likely", "possible"}][:_MOST_LINES], tests),
            not_excluded=[it for it in shown if it.word == "not excluded"],
            unlikely=[it for it in shown if it.word == "unlikely"],
            answers=answers, next_test=tests[0] if tests else None,
        )  # fmt: skip

    def prepare_soon(self, state: CaseState, case: Case, told: Story) -> None:
        """Simulate what may be asked for next, in the background; nothing where that goes on already."""
        if not self._lock.locked():
            threading.Thread(target=self._prepared, args=(state.case, case, told), daemon=True).start()

    def _prepared(self, name: str, case: Case, told: Story) -> Prepared | None:
        """Return what was simulated of a case as it is set; None without readings from when all was well."""
        well = told.readings_while_well()
        if not well:
            return None
        key = repr((case, well))
        with self._lock:
            if self._kept.get(name, ("",))[0] != key:
                self._kept[name] = key, prepare(case, well)
            self._kept.move_to_end(name)
            while len(self._kept) > _MOST_KEPT:
                self._kept.popitem(last=False)
            return self._kept[name][1]


_NONE = BedsideTest(code="", minutes=0.0, interrupts=False)


def answers_of(state: CaseState, told: Story) -> list[Answer]:
    """Return the newest answer to each test since all was well."""
    newest = {
        name: Answer(item=item, test=name, found=found)
        for item, name, found in answered_since(state, told.well_until)
    }
    return list(newest.values())


def _lines(causes: Sequence[RankedCause], tests: Sequence[Proposal]) -> list[Line]:
    """Return causes line by line: neighbours that the readings cannot tell apart stand on one."""
    found: list[Line] = []
    paired: set[str] = set()
    for cause, following in pairwise([*causes, None]):
        if cause is None or cause.code in paired:
            continue
        if following is not None and _alike(cause, following):
            paired.add(following.code)
            found.append(Line(causes=(cause, following), splits=_splits(cause, following, tests)))
        else:
            found.append(Line(causes=(cause,)))
    return found


def _alike(one: RankedCause, other: RankedCause) -> bool:
    none = {NO_FAULT, NONE_OF_THESE} & {one.code, other.code}
    same = {(it.channel, it.kind) for it in one.evidence_for} == {
        (it.channel, it.kind) for it in other.evidence_for
    }
    return not none and same and one.probability < _ALIKE * other.probability


def _splits(one: RankedCause, other: RankedCause, tests: Sequence[Proposal]) -> BedsideTest | None:
    """Return the look, of those that may be proposed, whose answers differ most between two causes."""

    def apart(test: BedsideTest) -> float:
        both = zip(test.chances(one.code), test.chances(other.code), strict=True)
        return sum(abs(this - that) for this, that in both)

    best = max((it.test for it in tests if it.test.answers), key=apart, default=None)
    return best if best is not None and apart(best) > 0.0 else None


def _is_number(text: str) -> bool:
    try:
        return abs(float(text)) < float("inf")
    except ValueError:
        return False


__all__ = ["Answer", "Causes", "Line", "Why", "answers_of"]
