"""What kinds of entries, their fields and the words in them are called, in a reader's language."""

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

from lungeline.words.catalogue import LANGUAGES


@cache
def labels(language: str) -> Mapping[str, str]:
    """Return what English labels are called in a language; nothing for English itself."""
    if language == LANGUAGES[0] or language not in LANGUAGES:
        return {}
    text = files("lungeline.words").joinpath(f"labels.{language}.toml").read_text(encoding="utf-8")
    return {english: said for part in tomllib.loads(text).values() for english, said in part.items()}


def labelled(english: str, language: str = "en") -> str:
    """Return a label in a language, as it is where there is none: what people wrote is never translated.

    >>> labelled("heart rate", "de"), labelled("heart rate"), labelled("Star", "de")
    ('Herzfrequenz', 'heart rate', 'Star')
    """
    return labels(language).get(english, english)


def labelled_all(english: str, language: str = "en") -> str:
    """Return several labels with commas between them in a language; as it is where one is not known."""
    parts = english.split(", ")
    known = labels(language)
    return ", ".join(known[part] for part in parts) if all(part in known for part in parts) else english
