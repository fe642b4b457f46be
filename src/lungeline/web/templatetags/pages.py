"""Words and numbers of a page, in the language and units of the person who reads it."""

from collections.abc import Mapping
from typing import Any

from django import template

from lungeline.case import Finding
from lungeline.web.parts.measures import read_in
from lungeline.words import Said, page_words, say

register = template.Library()
_DIGITS = 3
_WHOLE_FROM = 1000


@register.simple_tag(takes_context=True)
def t(context: Mapping[str, Any], key: str, default: str | None = None) -> str:
    """Return a wording of the pages; the key itself where there is none, so that it is seen and mended."""
    words = page_words(context["view"]["language"])
    return words.get(key, key if default is None else default)


@register.simple_tag(takes_context=True)
def number(context: Mapping[str, Any], name: str, value: float | str | None, *, unit: bool = True) -> str:
    """Return a stored number as this person reads it."""
    if value is None or value == "":  # as a template says that something is not there
        return "–"
    read, label = read_in(name, float(value), context["view"])
    text = f"{read:.0f}" if abs(read) >= _WHOLE_FROM else f"{read:.{_DIGITS}g}"
    if context["view"]["language"] == "de":
        text = text.replace(".", ",")
    return f"{text} {label}".strip() if unit else text


@register.simple_tag(takes_context=True)
def said(context: Mapping[str, Any], finding: Finding) -> Said:
    """Return a finding in words."""

    def read(name: str, value: float) -> str:
        return str(number(context, name, value))

    return say(finding, context["view"]["language"], read)


@register.filter
def split(words: str) -> list[str]:
    """Return words written with commas between them."""
    return words.split(",")
