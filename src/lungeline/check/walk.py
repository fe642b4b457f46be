"""A guided check under way: answers one by one, each judged as it comes, left and resumed at any step.

How it is written down, a line for each answer, is in `walk_file`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from lungeline.case import Finding, gravest_first
from lungeline.check.checklist import Checklist, Form, Step
from lungeline.check.judging import Given, Result, judged
from lungeline.check.limits import LeakLimits
from lungeline.check.verdict import Verdict, verdict_of
from lungeline.errors import InputError

SCHEMA = "lungeline.check_walk/1"
_SEVERITY: dict[str, Any] = {"stop": "stop", "caution": "caution"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """The answer to one step. at: when, in ISO 8601; by: who; values: what was read, by names with units.

    notices: what the machine said meanwhile, by the keys of the list.
    """

    step: str
    result: Result
    at: str
    by: str = ""
    values: Mapping[str, float] = field(default_factory=dict)
    word: str = ""
    note: str = ""
    notices: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return the answer as a plain object."""
        return {
            "step": self.step,
            "result": self.result,
            "at": self.at,
            "by": self.by,
            "values": dict(self.values),
            "word": self.word,
            "note": self.note,
            "notices": list(self.notices),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Walk:
    """One check of one machine. began_at: in ISO 8601. answers: all given, a later one to a step replaces.

    case: id of the case it is done for, empty for none.
    """

    checklist: Checklist
    form: Form
    machine: str
    began_at: str
    species: str = ""
    case: str = ""
    limits: LeakLimits = field(default_factory=LeakLimits)
    answers: tuple[Answer, ...] = ()

    @property
    def steps(self) -> tuple[Step, ...]:
        """The steps of this form, in order."""
        return self.checklist.form(self.form, self.species)

    @property
    def standing(self) -> dict[str, Answer]:
        """The answer that stands for each step answered."""
        return {answer.step: answer for answer in self.answers}

    @property
    def next_step(self) -> Step | None:
        """The first step not answered, None when all are."""
        done = self.standing
        return next((step for step in self.steps if step.key not in done), None)

    @property
    def finished(self) -> bool:
        """Whether every step is answered."""
        return self.next_step is None

    @property
    def left_out(self) -> tuple[Step, ...]:
        """The steps that were skipped although failing them would mean stop."""
        done = self.standing
        return tuple(
            step
            for step in self.steps
            if step.fails == "stop" and step.key in done and done[step.key].result == "skipped"
        )

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What failed, was skipped or needs a look; and that steps are open."""
        done = self.standing
        found = [item for step in self.steps for item in _found(step, done.get(step.key))]
        found += [item for step in self.steps for item in self._said(step, done.get(step.key))]
        if not self.finished:
            left = float(sum(step.key not in self.standing for step in self.steps))
            found.append(
                Finding(
                    code="check_not_finished", severity="stop", about="check", figures={"left_number": left}
                )
            )
        return gravest_first(found)

    def _said(self, step: Step, answer: Answer | None) -> list[Finding]:
        """Return what the machine said at a step at which it is not to be expected."""
        faults = self.checklist.faults(answer.notices, step.key) if answer else ()
        return [
            Finding(
                code="check_notice_is_fault",
                severity=_SEVERITY[step.fails],
                about=f"check.{step.key}",
                figures={"title": step.title, "says": notice.says, "else_means": notice.else_means},
            )
            for notice in faults
        ]

    @property
    def verdict(self) -> Verdict:
        """Go, caution or stop; a check that is not finished is no go."""
        return verdict_of(list(self.findings))

    def head(self) -> dict[str, Any]:
        """Return everything but the answers, the list word for word among it."""
        return {
            "schema": SCHEMA,
            "checklist_stamp": self.checklist.stamp,
            "checklist": dict(self.checklist.content),
            "form": self.form,
            "machine": self.machine,
            "species": self.species,
            "case": self.case,
            "began_at": self.began_at,
            "limits": {key: value for key, value in self.limits.as_json().items() if key != "rest_on"},
        }

    def as_json(self) -> dict[str, Any]:
        """Return the whole check as a plain object."""
        return {
            **self.head(),
            "answers": [answer.as_json() for answer in self.answers],
            "finished": self.finished,
            "verdict": self.verdict,
            "findings": [finding.as_json() for finding in self.findings],
        }


def answered(walk: Walk, step_key: str, given: Given) -> Walk:
    """Return the walk with one more answer, judged. Raises InputError for one that cannot be judged."""
    if step_key not in {step.key for step in walk.steps}:
        walk.checklist.step(step_key)
        raise InputError(
            where="check step",
            given=step_key,
            allowed=f"a step of the {walk.form} form",
            do="Answer another.",
        )
    step = walk.checklist.step(step_key)
    walk.checklist.faults(given.notices, step_key)  # refuses what the list does not have
    answer = Answer(
        step=step_key,
        result=judged(step, given, walk.limits),
        at=given.at,
        by=given.by,
        values=dict(given.values),
        word=given.word,
        note=given.note,
        notices=tuple(dict.fromkeys(given.notices)),
    )
    return replace(walk, answers=(*walk.answers, answer))


def _found(step: Step, answer: Answer | None) -> list[Finding]:
    if answer is None or answer.result == "pass":
        return []
    codes = {"fail": "check_step_failed", "caution": "check_step_caution", "skipped": "check_step_skipped"}
    severity = step.fails if answer.result == "fail" else "caution"
    figures: dict[str, float | str | None] = {"title": step.title, "fix": step.fix, **answer.values}
    return [
        Finding(
            code=codes[answer.result],
            severity=_SEVERITY[severity],
            about=f"check.{step.key}",
            figures=figures,
        )
    ]
