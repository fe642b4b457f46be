"""Published studies against the simulated animal: what agrees goes on agreeing, what does not has a reason.

The numbers and their spread stand in `reference/studies.toml`, each with its source. The experiments are
those of `lungeline evidence`.
"""

import math
import os
from concurrent.futures import ThreadPoolExecutor

import pytest

from lungeline.evidence import COMPARISONS, Result, run_all

LEAST_INSIDE = 16

# Comparisons that agree. One more may join; none may leave without a word here and in the evidence.
AGREEING: tuple[str, ...] = (
    "clinical-dorsal-pf",
    "clinical-dorsal-compliance",
    "clinical-dorsal-gap",
    "clinical-slowed-pf",
    "clinical-slowed-compliance",
    "clinical-slowed-gap",
    "clinical-lateral-pf",
    "clinical-dorsal-spread",
    "crossover-conventional-pao2",
    "closing-conventional",
    "closing-slowed",
    "posture-lateral-breathing-pao2",
    "lateral-shunt",
    "lateral-f-shunt",
    "lateral-pf",
    "posture-shunt-direction",
    "posture-output",
    "peep-5-shunt",
    "peep-5-oxygen-difference",
    "peep-5-output",
    "titration-20-shunt",
    "titration-20-compliance",
    "titration-20-oxygen-difference",
    "titration-20-output",
    "titration-back-shunt",
    "titration-back-compliance",
    "colic-control-pao2",
    "colic-recruited-pao2",
    "steps-compliance",
    "steps-pf",
    "steps-oxygen-difference",
    "steps-pao2-direction",
    "pony-shunt-peep-0",
    "pony-shunt-peep-20",
    "pony-shunt-peep-30",
    "pony-output-peep-0",
    "pony-output-peep-10",
    "pony-output-peep-20",
    "pony-output-peep-30",
    "pony-volume-peep-0",
    "breathing-paco2",
    "breathing-shunt",
    "breathing-desflurane-paco2",
    "cpap-pao2-direction",
    "cpap-paco2",
    "gap",
    "alveolar-dead-space",
    "levels-breaths-at-50",
    "levels-breaths-at-60",
    "apnoea-paco2",
    "apnoea-ph",
    "apnoea-pao2",
    "hypercapnia-output-mild",
    "hypercapnia-output-moderate",
    "hypercapnia-output-severe",
    "hypercapnia-pressure-mild",
    "dobutamine-0-pressure",
    "dobutamine-2-pressure",
    "dobutamine-dorsal-output",
    "dobutamine-dorsal-pressure",
    "wash-in-3",
    "wash-in-6",
    "wash-in-10",
    "agent-use",
)

pytestmark = pytest.mark.slow  # runs the whole time step, some hours of simulated time


@pytest.fixture(scope="module")
def results() -> dict[str, Result]:
    with ThreadPoolExecutor(max_workers=os.cpu_count()) as pool:
        return {result.comparison.key: result for result in run_all(pool)}


@pytest.mark.parametrize("key", AGREEING)
def test_what_agreed_with_its_paper_still_does(results: dict[str, Result], key: str) -> None:
    found = results[key]
    low, high = found.comparison.published.limits
    assert low <= found.ours <= high, found.comparison.published.as_printed


def test_enough_agrees(results: dict[str, Result]) -> None:
    assert sum(found.inside for found in results.values()) >= max(LEAST_INSIDE, len(AGREEING))


def test_whatever_disagrees_has_a_reason(results: dict[str, Result]) -> None:
    bare = [
        key for key, found in results.items() if not found.inside and not found.comparison.reason_if_outside
    ]
    assert bare == []


def test_every_experiment_could_be_simulated(results: dict[str, Result]) -> None:
    assert [key for key, found in results.items() if math.isnan(found.ours)] == []


def test_an_agreeing_comparison_exists_and_is_named_once() -> None:
    keys = [item.key for item in COMPARISONS]
    assert len(set(AGREEING)) == len(AGREEING)
    assert set(AGREEING) <= set(keys)
