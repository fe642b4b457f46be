"""The wording of every finding, by code, in one file a language."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from lungeline.errors import UnknownNameError

LANGUAGES = ("en", "de")


@dataclass(frozen=True, slots=True, kw_only=True)
class Wording:
    """How a finding is said, and what to do about it; names in braces stand for its figures."""

    code: str
    says: str
    do: str


@cache
def wordings(language: str = "en") -> dict[str, Wording]:
    """Return every wording of a language by code."""
    if language not in LANGUAGES:
        raise UnknownNameError.nearest(where="language", given=language, valid=LANGUAGES)
    text = files("lungeline.words").joinpath(f"{language}.toml").read_text(encoding="utf-8")
    table = tomllib.loads(text)
    return {code: Wording(code=code, says=each["says"], do=each["do"]) for code, each in table.items()}
