"""Findings and numbers as sentences: the catalogue of wordings, and what fills them in."""

from lungeline.words.catalogue import LANGUAGES, Wording, wordings
from lungeline.words.entry_words import entry_text, label_of
from lungeline.words.page_words import PAGE_LANGUAGES, page_words
from lungeline.words.say import Said, number_text, say

__all__ = [
    "LANGUAGES",
    "PAGE_LANGUAGES",
    "Said",
    "Wording",
    "entry_text",
    "label_of",
    "number_text",
    "page_words",
    "say",
    "wordings",
]
