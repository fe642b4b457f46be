"""What one changed number would do: quick enough for a hand on a slider; only the newest question counts."""

import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from lungeline.case import Breath, Case, Change, Finding, Profile, Settings
from lungeline.plan.breath_curves import BreathCurves, breath_curves
from lungeline.plan.course import Course, course, planned_case
from lungeline.plan.gas.spare import Spare, spare
from lungeline.plan.model import Model
from lungeline.plan.solving import room, solved
from lungeline.plan.starting import starting
from lungeline.reference import species_status

_COURSE_MIN = 120.0
MOVED_ALONG = ("tidal_volume_l", "respiratory_rate_per_min", "inspiratory_time_s")


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """Settings after the change, solved anew around it; the steady breath in numbers and as curves."""

    settings: Settings
    breath: Breath
    curves: BreathCurves
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """Settings after the change, solved anew around it; the steady breath; the course of two hours."""

    settings: Settings
    breath: Breath
    course: Course
    findings: tuple[Finding, ...]


class Preview:
    """One animal, asked by whoever moves a number. Many may ask at once; older questions end early."""

    def __init__(self, case: Case, profile: Profile | None = None, changes: tuple[Change, ...] = ()) -> None:
        """Take the case as it stands; what was asked once is remembered.

        changes: what is set later; of what somebody asks for, nothing changes later.
        """
        self._case, self._profile, self._changes = case, profile or Profile(), changes
        self._model = Model(case)
        self._lock = threading.Lock()
        self._newest = {"settings": 0, "course": 0}

    def breath(self, changed: Mapping[str, Any]) -> Breath:
        """Return the breath after half an hour of the case's settings with these changed, nothing solved."""
        return self._model.steady(replace(self._case.settings, **changed))

    def curves(self) -> BreathCurves:
        """Return the curves of a breath of the case's settings as they stand."""
        return breath_curves(self._model, self._case.settings)

    def shape(self, changed: Mapping[str, Any]) -> Shape | None:
        """Return the breath that follows from these settings asked for, the others solved around them.

        None where somebody asked something newer meanwhile.
        """
        wanted = self._asked("settings")
        settings, findings = self._solved(changed)
        if not wanted():
            return None
        return Shape(
            settings=self._with_spare(settings, changed),
            breath=self._model.steady(settings),
            curves=breath_curves(self._model, settings),
            findings=findings,
        )

    def course(self, changed: Mapping[str, Any]) -> Course | None:
        """Return the two hours that follow from what was asked for, the others solved around it.

        None where somebody asked for another course meanwhile.
        """
        wanted = self._asked("course")
        settings, _ = self._solved(changed)
        return self._course(changed, self._with_spare(settings, changed), wanted)

    def spare(self, changed: Mapping[str, Any]) -> Spare:
        """Return what the reservoir must hold with what was asked for, and what each manoeuvre takes."""
        settings, _ = self._solved(changed)
        return spare(self._model, settings, self._profile)

    def answer(self, changed: Mapping[str, Any]) -> Answer | None:
        """Return what follows from these settings asked for, the others solved around them.

        None where somebody asked something newer meanwhile.
        """
        wanted = self._asked("settings")
        settings, findings = self._solved(changed)
        settings = self._with_spare(settings, changed)
        ran = self._course(changed, settings, wanted) if wanted() else None
        if ran is None:
            return None
        breath = self._model.steady(settings)
        return Answer(settings=settings, breath=breath, course=ran, findings=findings)

    def _asked(self, what: str) -> Callable[[], bool]:
        """Note a question; returns whether it is still the newest of its kind."""
        with self._lock:
            self._newest[what] += 1
            mine = self._newest[what]
        return lambda: mine == self._newest[what]

    def _solved(self, changed: Mapping[str, Any]) -> tuple[Settings, tuple[Finding, ...]]:
        case = self._case
        kept = {**changed} if "spare_volume_l" in changed else {**changed, "spare_volume_l": None}
        asked = replace(
            case,  # what the reservoir holds beyond a breath follows the breath while that is sought
            settings=replace(case.settings, **kept),
            assumed_settings=tuple(
                name for name in (*case.assumed_settings, "spare_volume_l") if name not in changed
            ),
        )
        begun = starting(asked, self._profile)
        if not species_status(case.animal.species).validated:
            # as in a whole plan: nothing is moved by a model that nobody checked
            return begun.settings, ()
        space = room(asked, begun.settings, begun.fixed)
        settings, findings = solved(self._model, begun.settings, space, self._profile)
        return settings, findings

    def _with_spare(self, settings: Settings, changed: Mapping[str, Any]) -> Settings:
        """Return the settings with the spare gas of the case, as far as the reservoir reaches."""
        if "spare_volume_l" in changed:
            return settings
        left_l = max(self._case.equipment.reservoir_capacity_l - settings.tidal_volume_l, 0.0)
        return replace(settings, spare_volume_l=min(self._case.settings.spare_volume_l, left_l))

    def _course(
        self, changed: Mapping[str, Any], settings: Settings, wanted: Callable[[], bool]
    ) -> Course | None:
        planned = planned_case(self._case, settings, _without(self._changes, changed))
        ran = course(planned, _COURSE_MIN, wanted=wanted)
        return ran if wanted() else None


def preview_of(case: Case, settings: Settings, changes: tuple[Change, ...], profile: Profile) -> Preview:
    """Return the preview of a plan made of a case: the solver may move what nobody asked for."""
    free = tuple(name for name in MOVED_ALONG if name in case.assumed_settings)
    return Preview(replace(case, settings=settings, assumed_settings=free, changes=()), profile, changes)


def _without(changes: tuple[Change, ...], changed: Mapping[str, Any]) -> tuple[Change, ...]:
    left = (
        replace(change, settings={key: value for key, value in change.settings.items() if key not in changed})
        for change in changes
    )
    return tuple(change for change in left if change.settings or change.manoeuvre)
