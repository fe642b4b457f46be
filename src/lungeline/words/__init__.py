"""Findings and numbers as sentences: the catalogue of wordings, and what fills them in."""

from lungeline.words.catalogue import LANGUAGES, Wording, wordings
from lungeline.words.entry_words import entry_fields, entry_text, label_of, value_text
from lungeline.words.labels import labelled
from lungeline.words.page_words import PAGE_LANGUAGES, page_words
from lungeline.words.say import Said, number_text, say

__all__ = [
    "LANGUAGES",
    "PAGE_LANGUAGES",
    "Said",
    "Wording",
    "entry_fields",
    "entry_text",
    "label_of",
    "labelled",
    "number_text",
    "page_words",
    "say",
    "value_text",
    "wordings",
]
