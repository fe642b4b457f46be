"""Words and numbers of a page, in the language and units of the person who reads it."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django import template

from lungeline.case import Finding
from lungeline.rehearse import Deed
from lungeline.web.parts.measures import text_in
from lungeline.words import Said, page_words, say

register = template.Library()


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
    if unit:
        return text_in(name, float(value), context["view"])
    return text_in(name, float(value), context["view"]).partition(" ")[0]


@register.simple_tag(takes_context=True)
def said(context: Mapping[str, Any], finding: Finding) -> Said:
    """Return a finding in words."""

    def read(name: str, value: float) -> str:
        return str(number(context, name, value))

    return say(finding, context["view"]["language"], read)


@register.filter
def by_the_clock(moment: datetime) -> str:
    """Return a moment by the clock of this computer, to the second."""
    return f"{moment.astimezone():%Y-%m-%d %H:%M:%S}"


@register.filter
def split(words: str) -> list[str]:
    """Return words written with commas between them."""
    return words.split(",")


@register.simple_tag(takes_context=True)
def deed_word(context: Mapping[str, Any], deed: Deed) -> str:
    """Return what a deed of a rehearsal is called."""
    key = f"rehearse.deed_{deed.code.replace(' ', '_')}"
    return page_words(context["view"]["language"]).get(key, deed.label)
