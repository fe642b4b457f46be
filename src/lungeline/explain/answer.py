"""What explanation hands over: causes with their evidence in plain numbers, findings, tests, as JSON."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from lungeline.case import Finding, Severity
from lungeline.explain.assumed import BASIS, NO_FAULT, NONE_OF_THESE, Assumed
from lungeline.explain.excluding import Seen, Word, word_for
from lungeline.explain.next_test import Proposal
from lungeline.explain.ranking import Ranking, Term
from lungeline.explain.threats import Threats
from lungeline.simulate.faults import FAULTS
from lungeline.words import number_text, say

MOST_FOR, MOST_AGAINST = 2, 1
LEAST_SAID = 0.5  # of log-likelihood; less is no evidence
SHOWN_CHANCE = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """One reading that speaks for or against a cause.

    channel: the reading; kind: its level, or its change since all was well; measured, predicted: what it
    did by now and what the cause would make it do, in the reading's unit; weight: how much its course says
    against nothing having happened, of log-likelihood.
    """

    channel: str
    kind: str
    measured: float
    predicted: float | None
    weight: float

    def finding(self, *, speaks_for: bool) -> Finding:
        """Return it as a finding, to be worded."""
        name = self.channel.partition("@")[0]
        told = "unknown" if self.predicted is None else number_text(name, self.predicted)
        figures: dict[str, float | str | None] = {
            "reading": self.channel,
            "kind": self.kind,
            "measured": number_text(name, self.measured),
            "predicted": told,
        }
        if speaks_for:
            return Finding(code="evidence_for", severity="note", about=self.channel, figures=figures)
        return Finding(code="evidence_against", severity="note", about=self.channel, figures=figures)

    def as_json(self) -> dict[str, Any]:
        """Return it as a plain object."""
        return {
            "reading": self.channel, "kind": self.kind, "measured": self.measured,
            "predicted": self.predicted, "weight": self.weight,
        }  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class RankedCause:
    """One cause as told: its chance among the causes known here, a word for it, and the evidence."""

    code: str
    group: str
    domain: str
    probability: float
    word: Word
    evidence_for: tuple[Evidence, ...]
    evidence_against: tuple[Evidence, ...]

    def finding(self) -> Finding:
        """Return it as a finding: what it is, and the first safe action."""
        name, chance = self.code, self.probability
        quiet = self.word == "unlikely" or name in {NO_FAULT, NONE_OF_THESE}
        severity: Severity = "note" if quiet else "caution"
        return Finding(
            code=f"cause_{name}", severity=severity, about=name, figures={"probability_fraction": chance}
        )

    def as_json(self) -> dict[str, Any]:
        """Return it as a plain object."""
        said = say(self.finding())
        return {
            "code": self.code, "title": said.says, "domain": self.domain, "probability": self.probability,
            "word": self.word, "for": [each.as_json() for each in self.evidence_for],
            "against": [each.as_json() for each in self.evidence_against], "action": said.do,
            "action_group": self.group,
        }  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Explanation:
    """Life threats, then causes, then tests; and what stands behind them.

    tests: worth doing, the best first; helpful: numbers not read that would tell most; enough: whether the
    readings say anything; fits: whether even the likeliest cause fits; compared_with_before: whether there
    were readings from before; dropped: simulated runs that were no numbers, by cause; not_judged: causes
    that could not be simulated at all.
    """

    threats: Threats
    causes: tuple[RankedCause, ...]
    tests: tuple[Proposal, ...]
    helpful: tuple[Proposal, ...]
    enough: bool
    fits: bool
    compared_with_before: bool
    dropped: Mapping[str, int]
    not_judged: tuple[str, ...]

    def shown(self) -> tuple[RankedCause, ...]:
        """Return the causes a person should see: those with a chance, and lethal ones not yet excluded."""
        return tuple(it for it in self.causes if it.probability >= SHOWN_CHANCE or it.word == "not excluded")

    def findings(self) -> tuple[Finding, ...]:
        """Return what must be said about the answer as a whole, threats first."""
        notes = []
        if not self.enough:
            best = self.helpful[0].test.code if self.helpful else "none"
            notes.append(Finding(code="explain_not_enough", severity="advice", figures={"reading": best}))
        if not self.compared_with_before:
            notes.append(Finding(code="explain_no_before", severity="advice"))
        if not self.fits:
            notes.append(Finding(code="explain_nothing_fits", severity="caution"))
        if self.dropped:
            count = float(sum(self.dropped.values()))
            figures: dict[str, float | str | None] = {
                "runs_number": count,
                "causes": ", ".join(self.dropped),
            }
            notes.append(Finding(code="explain_runs_dropped", severity="note", figures=figures))
        if not self.threats.oxygenation_safe:
            notes.append(Finding(code="explain_oxygenation_not_safe", severity="caution"))
        return (*self.threats.findings, *notes)

    def as_json(self) -> dict[str, Any]:
        """Return all of it as a plain object."""
        return {
            "threats": [
                {**each.as_json(), "says": say(each).says, "action": say(each).do}
                for each in self.threats.findings
            ],
            "oxygenation_safe": self.threats.oxygenation_safe,
            "causes": [each.as_json() for each in self.causes],
            "next_test": _test_json(self.tests[0]) if self.tests else None,
            "other_tests": [_test_json(each) for each in self.tests[1:]],
            "helpful_readings": [
                {"reading": each.test.code, "expected_bits": each.expected_bits} for each in self.helpful
            ],
            "enough": self.enough, "fits": self.fits, "compared_with_before": self.compared_with_before,
            "dropped": dict(self.dropped), "not_judged": list(self.not_judged), "basis": BASIS,
            "notes": [say(each).says for each in self.findings() if each not in self.threats.findings],
        }  # fmt: skip


def proposal_finding(proposal: Proposal) -> Finding:
    """Return a proposed test as a finding, to be worded."""
    name, minutes = proposal.test.code, proposal.test.minutes
    figures: dict[str, float | str | None] = {
        "expected_bits": f"{proposal.expected_bits:.2f}",
        "takes_min": minutes,
    }
    return Finding(code=f"test_{name}", severity="advice", about=name, figures=figures)


def _test_json(proposal: Proposal) -> dict[str, Any]:
    test, said = proposal.test, say(proposal_finding(proposal))
    return {
        "code": test.code, "expected_bits": proposal.expected_bits, "instructions": said.do,
        "minutes": test.minutes, "interrupts_ventilation": test.interrupts, "answers": list(test.answers),
        "reads": list(test.reads),
    }  # fmt: skip


def told_causes(ranking: Ranking, seen: Seen, assuming: Assumed, *, enough: bool) -> tuple[RankedCause, ...]:
    """Return every cause as it is told, likeliest first; of too few readings none is called likely."""
    found = []
    for code in ranking.ordered():
        cause, chance = assuming.causes[code], ranking.chances[code]
        speaks_for, against = _evidence(code, ranking)
        found.append(
            RankedCause(
                code=code, group=cause.action, domain=FAULTS[code].domain if code in FAULTS else "",
                probability=chance,
                word=word_for(cause, chance, seen, assuming, enough=enough),
                evidence_for=speaks_for, evidence_against=against,
            )
        )  # fmt: skip
    return tuple(found)


def _evidence(code: str, ranking: Ranking) -> tuple[tuple[Evidence, ...], tuple[Evidence, ...]]:
    """Return the readings that speak most for a cause, and the one that speaks most against it."""
    mine, nothing = ranking.terms.get(code, ()), ranking.terms.get(NO_FAULT, ())
    if code in {NO_FAULT, NONE_OF_THESE} or not nothing:
        nothing = mine
    told = [_told(term, term.log - other.log) for term, other in zip(mine, nothing, strict=True)]
    ordered = sorted(told, key=lambda each: -each.weight)
    speaks_for = tuple(each for each in ordered if each.weight >= LEAST_SAID)[:MOST_FOR]
    misses = sorted(
        ((term.log, each) for term, each in zip(mine, told, strict=True) if term.log <= -2.0 * LEAST_SAID),
        key=lambda pair: pair[0],
    )
    against = tuple(each for _, each in misses if each not in speaks_for)[:MOST_AGAINST]
    return speaks_for, against


def _told(term: Term, weight: float) -> Evidence:
    return Evidence(
        channel=term.channel, kind=term.kind, measured=term.measured, predicted=term.predicted, weight=weight
    )
