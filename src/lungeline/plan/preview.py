"""What one changed number would do: quick enough for a hand on a slider; only the newest question counts."""

import threading
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from lungeline.case import Breath, Case, Finding, Profile, Settings
from lungeline.plan.course import Course, course, planned_case
from lungeline.plan.model import Model
from lungeline.plan.solving import room, solved
from lungeline.plan.starting import starting

_COURSE_MIN = 120.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """Settings after the change, solved anew around it; the steady breath; the course of two hours."""

    settings: Settings
    breath: Breath
    course: Course
    findings: tuple[Finding, ...]


class Preview:
    """One animal, asked by whoever moves a number. Many may ask at once; older questions end early."""

    def __init__(self, case: Case, profile: Profile | None = None) -> None:
        """Take the case as it stands; what was asked once is remembered."""
        self._case, self._profile = case, profile or Profile()
        self._model = Model(case)
        self._lock = threading.Lock()
        self._newest = 0

    def breath(self, changed: Mapping[str, Any]) -> Breath:
        """Return the breath after half an hour of the case's settings with these changed, nothing solved."""
        return self._model.steady(replace(self._case.settings, **changed))

    def answer(self, changed: Mapping[str, Any]) -> Answer | None:
        """Return what follows from these settings asked for, the others solved around them.

        None where somebody asked something newer meanwhile.
        """
        with self._lock:
            self._newest += 1
            mine = self._newest
        asked = replace(
            self._case,
            settings=replace(self._case.settings, **changed),
            assumed_settings=tuple(name for name in self._case.assumed_settings if name not in changed),
        )
        begun = starting(asked, self._profile)
        space = room(asked, begun.settings, begun.fixed)
        settings, findings = solved(self._model, begun.settings, space, self._profile)
        if mine != self._newest:
            return None
        planned = planned_case(asked, settings, ())
        ran = course(planned, _COURSE_MIN, wanted=lambda: mine == self._newest)
        if mine != self._newest:
            return None
        breath = self._model.steady(settings)
        return Answer(settings=settings, breath=breath, course=ran, findings=findings)
