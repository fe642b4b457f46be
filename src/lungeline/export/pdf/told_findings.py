"""Findings for print: gravest first, those of single doses left to the drug sheet, no STOP ever left out."""

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from lungeline.case import Finding
from lungeline.export.pdf.number_print import plain
from lungeline.plan import Plan
from lungeline.plan.drugs.labels import printed
from lungeline.words import LANGUAGES, say

Told = dict[str, Any]
_OF_DRUGS = ("drugs", "infusions", "emergency", "profile.doses")
_OF_ONE_DOSE = ("drugs", "infusions", "emergency")
_NAMES = {"drug", "use", "one", "other"}  # figures that are names of the formulary
_FALLBACK = "en"


def language_of(plan: Plan) -> str:
    """Return the language to word findings in: the profile's, where there are words in it."""
    wanted = plan.profile.language
    return wanted if wanted in LANGUAGES else _FALLBACK


def of_drugs(finding: Finding) -> bool:
    """Whether a finding is about a dose, and so stands on the drug sheet."""
    return finding.about.startswith(_OF_DRUGS)


def told(finding: Finding, language: str) -> Told:
    """Return a finding in words; one of a dose always names the drug, for it may stand far from its row."""
    words = {
        name: plain(value) if name in _NAMES and isinstance(value, str) else value
        for name, value in finding.figures.items()
    }
    said = say(replace(finding, figures=words), language)
    whose = "" if _NAMES & finding.figures.keys() or not dose_name(finding) else f"{dose_name(finding)}: "
    return {
        "severity": finding.severity,
        "says": f"{whose}{printed(said.says)}",
        "do": printed(said.do),
    }


def plan_findings(plan: Plan) -> Told:
    """Return what the plan has to say: every stop, then the rest, then what is counted only.

    stop_groups: the stops again, one line for each code, for a page that has no room for each by itself.
    """
    language = language_of(plan)
    stops = [each for each in plan.findings if each.severity == "stop"]
    rest = [each for each in plan.findings if each.severity != "stop" and not of_drugs(each)]
    of_doses = [each for each in plan.findings if each.severity != "stop" and of_drugs(each)]
    return {
        "stops": [told(each, language) for each in stops],
        "stop_groups": _grouped(stops, language),
        "rest": [told(each, language) for each in rest],
        "of_doses": _counted(of_doses),
    }


def dose_name(finding: Finding) -> str:
    """Return drug and use of a finding about one dose, empty for any other.

    >>> dose_name(Finding(code="x", severity="stop", about="drugs.xylazine.deep_sedation.dose_mg_kg"))
    'xylazine deep sedation'
    """
    kind, _, name = finding.about.partition(".")
    return plain(" ".join(name.split(".")[:2])) if kind in _OF_ONE_DOSE else ""


def _grouped(stops: Iterable[Finding], language: str) -> list[Told]:
    groups: dict[str, list[Finding]] = {}
    for finding in stops:
        groups.setdefault(finding.code, []).append(finding)
    return [
        {**told(first, language), "also": list(dict.fromkeys(map(_short, more)))}
        for first, *more in groups.values()
    ]


def _short(finding: Finding) -> str:
    """Return what a finding is about in a few words: drug, use and dose, or the name of the number."""
    dose = finding.figures.get("dose")
    name = dose_name(finding) or plain(finding.about)
    return printed(f"{name} {dose}") if isinstance(dose, str) else name


def _counted(findings: list[Finding]) -> str:
    if not findings:
        return ""
    cautions = sum(each.severity == "caution" for each in findings)
    others = len(findings) - cautions
    return f"Doses: {cautions} cautions and {others} remarks stand on the drug sheet and the emergency card."
