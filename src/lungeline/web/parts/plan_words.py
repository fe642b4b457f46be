"""What a plan has to say, in words for a page; a dose's remark always names the drug."""

import re
from dataclasses import replace

from lungeline.case import Finding
from lungeline.reference.formulary import Drug, drugs
from lungeline.words import say

_POINT = re.compile(r"(?<=\d)\.(?=\d)")
_OF_ONE_DOSE = ("drugs", "infusions", "emergency")
_NAMES = ("drug", "one", "other")


def finding_told(finding: Finding, language: str) -> dict[str, str]:
    """Return a finding in words: whose it is, what is so, what to do."""
    figures = {
        name: value.replace("_", " ").replace(".", " ") if name in (*_NAMES, "use") else value
        for name, value in finding.figures.items()
        if isinstance(value, str)
    }
    said = say(replace(finding, figures={**finding.figures, **figures}), language)
    named = any(name in finding.figures for name in _NAMES)
    return {
        "code": said.code,
        "severity": said.severity,
        "whose": "" if named else _whose(finding, language),
        "says": said.says,
        "do": said.do,
    }


def local(text: str, language: str) -> str:
    """Return a text that holds numbers with the decimal sign of a language.

    >>> local("0.6 mg/kg", "de")
    '0,6 mg/kg'
    """
    return _POINT.sub(",", text) if language == "de" else text


def drug_name(drug: Drug, language: str) -> str:
    """Return the name of a drug in a language."""
    return drug.german if language == "de" else drug.name.replace("_", " ")


def _whose(finding: Finding, language: str) -> str:
    kind, _, rest = finding.about.partition(".")
    name = rest.partition(".")[0]
    known = drugs()
    return drug_name(known[name], language) if kind in _OF_ONE_DOSE and name in known else ""
