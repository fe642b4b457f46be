"""Rehearse: a patient to practise on. Scenarios are files; what happens is the simulated animal's doing."""

from lungeline.rehearse.acting import Act, Deed, deeds
from lungeline.rehearse.outcome import Outcome, judge
from lungeline.rehearse.rehearsal import Rehearsal
from lungeline.rehearse.scenario import Scenario
from lungeline.rehearse.scenario_file import load_scenario, scenario_named, scenarios
from lungeline.rehearse.script import Proof, play, prove, read_script

__all__ = [
    "Act",
    "Deed",
    "Outcome",
    "Proof",
    "Rehearsal",
    "Scenario",
    "deeds",
    "judge",
    "load_scenario",
    "play",
    "prove",
    "read_script",
    "scenario_named",
    "scenarios",
]
