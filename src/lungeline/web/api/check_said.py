"""Findings of checks in the words and units of whoever asks."""

from collections.abc import Iterable
from typing import Any

from django.http import HttpRequest

from lungeline.case import Finding, gravest_first
from lungeline.web.parts.measures import view_of
from lungeline.web.parts.why_words import said_to


def said(request: HttpRequest, findings: Iterable[Finding]) -> list[dict[str, Any]]:
    """Return findings in words, the gravest first."""
    return [said_to(finding, view_of(request)) for finding in gravest_first(list(findings))]
