"""Findings, causes and tests as this person reads them: language, units, and no names of keys."""

import re
from collections.abc import Mapping
from dataclasses import replace
from functools import cache, partial
from typing import Any

from lungeline.case import Finding
from lungeline.explain import BedsideTest, Evidence, Proposal, RankedCause, channels, proposal_finding
from lungeline.web.parts.measures import text_in
from lungeline.words import page_words, say

_CHANCE, _NOT_SAID = "probability_fraction", "\0"
_WITH_CHANCE = re.compile(rf"\s*\([^()]*{_NOT_SAID}[^()]*\)")
_KEY = re.compile(r"[a-z][a-z0-9_]*(?:@[a-z]+)?")


def said_to(finding: Finding, view: Mapping[str, str]) -> dict[str, Any]:
    """Return a finding in words."""
    said = say(finding, view["language"], partial(_number, view))
    return {
        "code": said.code,
        "severity": said.severity,
        "says": _readable(_WITH_CHANCE.sub("", said.says), view),
        "do": _readable(said.do, view),
    }


def choice_named(finding: Finding, view: Mapping[str, str]) -> Finding:
    """Return a finding about a choice with the choice as it is called on pages."""
    name = page_words(view["language"]).get(f"why.{finding.figures.get('choice')}")
    return finding if name is None else replace(finding, figures={**finding.figures, "choice": name})


def cause_told(cause: RankedCause, view: Mapping[str, str]) -> dict[str, Any]:
    """Return a cause: a word for how likely it is, no number; the evidence, the first safe action."""
    told = said_to(cause.finding(), view)
    return {
        "code": cause.code,
        "title": told["says"].rstrip("."),
        "do": told["do"],
        "word": cause.word,
        "for": [_evidence(it) for it in cause.evidence_for],
        "against": [_evidence(it) for it in cause.evidence_against],
    }


def test_told(test: BedsideTest, view: Mapping[str, str]) -> dict[str, Any]:
    """Return a test: how it is done, how long it takes, what it may find."""
    told = said_to(proposal_finding(Proposal(test=test, expected_bits=0.0, score=0.0)), view)
    return {
        "code": test.code,
        "do": told["do"],
        "minutes": test.minutes,
        "interrupts": test.interrupts,
        "answers": list(test.answers),
        "reads": list(test.reads),
    }


def _evidence(it: Evidence) -> dict[str, Any]:
    return {"key": it.channel, "kind": it.kind, "measured": it.measured, "predicted": it.predicted}


def _number(view: Mapping[str, str], name: str, value: float) -> str:
    """Return a number as this person reads it; a chance is told by a word, elsewhere."""
    return _NOT_SAID if name == _CHANCE else text_in(name, value, view)


def _readable(text: str, view: Mapping[str, str]) -> str:
    return _KEY.sub(lambda found: _names(view["language"]).get(found[0], found[0]), text)


@cache
def _names(language: str) -> Mapping[str, str]:
    """Return what each reading is called on pages."""
    words = page_words(language)
    return {name: words[f"why.q_{name.replace('@', '_at_')}"] for name in channels()}


__all__ = ["cause_told", "choice_named", "said_to", "test_told"]
