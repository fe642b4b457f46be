"""Findings of checks in the words and units of whoever asks."""

from collections.abc import Iterable

from django.http import HttpRequest

from lungeline.case import Finding, gravest_first
from lungeline.web.parts.measures import view_of
from lungeline.words import say


def said(request: HttpRequest, findings: Iterable[Finding]) -> list[dict[str, str]]:
    """Return findings in words, the gravest first."""
    language = view_of(request)["language"]
    return [
        {"code": told.code, "severity": told.severity, "says": told.says, "do": told.do}
        for finding in gravest_first(list(findings))
        for told in (say(finding, language),)
    ]
