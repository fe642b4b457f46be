"""Findings and numbers as sentences: the catalogue of wordings, and what fills them in."""

from lungeline.words.catalogue import LANGUAGES, Wording, wordings
from lungeline.words.say import Said, number_text, say

__all__ = ["LANGUAGES", "Said", "Wording", "number_text", "say", "wordings"]
