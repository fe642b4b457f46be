"""The page of all findings, written from the catalogue."""

from lungeline.words.catalogue import wordings

_START = """\
# Findings

What the program may have to say, by its code. Codes never change their meaning; braces are filled in.

| code | says | what to do |
|---|---|---|
"""


def findings_page() -> str:
    """Return the page in Markdown."""
    rows = (f"| `{each.code}` | {each.says} | {each.do} |" for each in wordings().values())
    return _START + "\n".join(rows) + "\n"
