"""The wording of the pages: one small file a topic and language, `topic.key` to text."""

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

from lungeline.words.catalogue import LANGUAGES

PAGE_LANGUAGES = LANGUAGES


@cache
def page_words(language: str = "en") -> Mapping[str, str]:
    """Return every word of the pages in a language by `topic.key`, English where it was not translated."""
    found = {} if language == PAGE_LANGUAGES[0] else dict(page_words())
    for file in sorted(files("lungeline.words").joinpath("pages").iterdir(), key=lambda it: it.name):
        topic, _, rest = file.name.partition(".")
        if rest == f"{language}.toml":
            table = tomllib.loads(file.read_text(encoding="utf-8"))
            found |= {f"{topic}.{key}": str(text) for key, text in table.items()}
    return found
