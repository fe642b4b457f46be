"""A rehearsal without any screen: a script of deeds, played to the end."""

import csv
import json
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from lungeline.errors import InputError, LungelineError, MissingError
from lungeline.rehearse.acting import deed_named
from lungeline.rehearse.outcome import Outcome, judge
from lungeline.rehearse.rehearsal import Rehearsal
from lungeline.rehearse.scenario import Scenario, Step

_COLUMNS = ("at_s", "deed", "with")


def play(scenario: Scenario, script: Iterable[Step], *, seed: int | None = None) -> tuple[Outcome, Rehearsal]:
    """Play a script to the scenario's end, and return how it went."""
    run = Rehearsal(scenario, seed=seed)
    for step in sorted(script, key=lambda step: step.at_s):
        run.advance(max(0.0, step.at_s - run.now_s))
        if run.over:
            break
        run.act(step.deed, step.with_)
    run.advance_to_end()
    return judge(run), run


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """One answer of a scenario, played: what it was, whether it had to pass, and how it went."""

    answer: str
    must_pass: bool
    outcome: Outcome

    @property
    def holds(self) -> bool:
        """Whether it went as it must."""
        return self.outcome.passed == self.must_pass


def prove(scenario: Scenario) -> tuple[Proof, ...]:
    """Play every answer of a scenario: its model answer must pass, doing nothing and what tempts must not."""
    answers = [("the model answer", True, scenario.model_answer), ("doing nothing", False, ())]
    answers += [(wrong.why, False, wrong.script) for wrong in scenario.wrong]
    return tuple(
        Proof(answer=answer, must_pass=must_pass, outcome=play(scenario, script)[0])
        for answer, must_pass, script in answers
    )


def read_script(path: Path) -> tuple[Step, ...]:
    """Return the steps of a CSV file: at_s, deed, and what is given with it as key=value; key=value."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise MissingError(
            where="script", given=str(path), allowed="a file that exists", do="Check name and folder."
        ) from None
    except (OSError, ValueError) as error:
        raise _refused(0, str(error), "readable CSV") from None
    rows = list(csv.DictReader(text.splitlines()))
    if rows and not {"at_s", "deed"} <= set(rows[0]):
        raise _refused(1, ", ".join(map(str, rows[0])), ", ".join(_COLUMNS))
    return tuple(_step(number, row) for number, row in enumerate(rows, start=2))


def _step(number: int, row: dict[str, str | None]) -> Step:
    try:
        at_s = float(row["at_s"] or "")
    except ValueError:
        raise _refused(number, str(row["at_s"]), "seconds since the learner took over") from None
    deed = (row["deed"] or "").strip()
    given = dict(_pair(number, part) for part in (row.get("with") or "").split(";") if part.strip())
    try:
        deed_named(deed).check(given)
        return Step.model_validate({"at_s": at_s, "deed": deed, "with": given})
    except LungelineError as error:
        raise _refused(number, str(error.given), f"{error.where}: {error.allowed}") from None
    except ValueError:
        raise _refused(number, str(at_s), "0 to 20000 s") from None


def _pair(number: int, part: str) -> tuple[str, object]:
    key, equals, value = part.partition("=")
    if not equals:
        raise _refused(number, part, "key=value; key=value")
    try:
        return key.strip(), json.loads(value)
    except ValueError:
        return key.strip(), value.strip()


def _refused(line: int, given: str, allowed: str) -> InputError:
    return InputError(where=f"script, line {line}", given=given, allowed=allowed, do="Correct that line.")
