"""Bench mode: a real ventilator breathes for a rubber lung, the simulated animal lies beside it.

A person types what the machine delivers; the animal is kept on that, and what its instruments would show is
told. The program moves nothing and measures nothing: what is not typed anew stays as it was.
"""

from collections.abc import Mapping
from typing import Any

from lungeline.case import Case
from lungeline.rehearse.acting import Act
from lungeline.rehearse.bench_readings import BenchReadings, apart, not_typed, read_bench
from lungeline.rehearse.free_practice import free_practice
from lungeline.rehearse.outcome import Outcome, judge
from lungeline.rehearse.rehearsal import Rehearsal
from lungeline.rehearse.scenario import Scenario

SCHEMA = "lungeline.bench/1"


class Bench:
    """One animal beside one real machine. Knows no wall clock: whoever runs it says how far time goes."""

    def __init__(
        self, plays: Scenario | Case, *, seed: int | None = None, trace_rate_hz: float = 0.0
    ) -> None:
        """Lay the animal of a scenario or of a case beside the machine."""
        scenario = free_practice(plays) if isinstance(plays, Case) else plays
        self.run = Rehearsal(scenario, seed=seed, trace_rate_hz=trace_rate_hz)
        self.readings: BenchReadings | None = None

    def typed(self, readings: Mapping[str, Any], *, by_learner: bool = False) -> BenchReadings:
        """Take over what was read off the machine, at the first time all that is needed, later what changed.

        by_learner: the learner turned the machine, so that it counts as done; else it was only read.
        Raises InputError in words for what no machine does on a rubber lung; then nothing has changed.
        """
        found = read_bench(self.readings, readings, self.run.scenario.case.animal.weight_kg)
        wanted = apart(self.run.live.settings, found)
        if wanted and by_learner:
            self.run.act("set", wanted)
        elif wanted:
            self.run.live.set(**wanted)
        self.readings = found
        return found

    def act(self, deed: str, given: Mapping[str, Any] | None = None) -> Act:
        """Do something that is no knob of the machine: look, mend, give, say, a manoeuvre."""
        return self.run.act(deed, given)

    def advance(self, span_s: float) -> None:
        """Let time go on. Raises MissingError before anything was typed."""
        if self.readings is None:
            raise not_typed()
        self.run.advance(span_s)

    @property
    def outcome(self) -> Outcome:
        """How it stands, or went."""
        return judge(self.run)

    def shown(self) -> dict[str, Any]:
        """Return what the animal's instruments show now, what is told, and what the machine must be set to.

        to_set: what the scenario changed by another hand and the real machine does not do yet.
        """
        run = self.run
        told = [it for it in run.told if it.says]
        return {
            "schema": SCHEMA,
            "simulated": True,
            "at_s": run.now_s,
            "over": run.over,
            "instruments": self._instruments(),
            "told": [{"at_s": it.at_s, "says": it.says} for it in told],
            "to_set": self.to_set(),
        }

    def to_set(self) -> dict[str, Any]:
        """Return what the real machine must be set to, as somebody else turned it in the story."""
        if self.readings is None:
            return {}
        live = self.run.live.settings
        return {key: getattr(live, key) for key in apart(live, self.readings)}

    def _instruments(self) -> dict[str, dict[str, Any]]:
        found: dict[str, dict[str, Any]] = {}
        for reading in self.run.readings():
            found[f"{reading.key}, {reading.source}"] = {
                "key": reading.key,
                "source": reading.source,
                "value": reading.value,
                "quality": reading.quality,
                "age_s": self.run.live.time_s - reading.time_s,
            }
        return found
