"""Write the pages that must agree with the code, from the glossary to the faults.

Run by `make docs`. A folder can be given in place of docs/generated.
"""

import importlib
import inspect
import pkgutil
import re
import sys
from collections.abc import Callable, Iterable, Iterator
from dataclasses import MISSING, Field, fields, is_dataclass
from pathlib import Path
from types import ModuleType

from lungeline.reference import figures_page
from lungeline.simulate.faults_page import faults_page
from lungeline.simulate.parameters_page import parameters_page
from lungeline.units import UNITS, unit_of
from lungeline.words.page import findings_page

ROOT = Path(__file__).resolve().parents[1]
_NOUNS = "lungeline.case"
_LINK = re.compile(r"\[([^\]]+)\]\(([^)]+)\)")
# where a file of the project's root is found from docs/generated
_MOVED = {"README.md": "../index.md", "changelog.d/README.md": "changes.md"}

_GLOSSARY_START = """\
# Glossary

Written from the code: the units from `units.py`, the nouns from `case`. One concept has one word, in code, on
screen and in files.

## Units

The end of a public name says its unit. UCUM is the open code of units used in files.

| a name ends in | reads | UCUM | quantity |
|---|---|---|---|
"""

_NOUNS_START = """
## Nouns

What one anaesthetic is made of. A field without a default must be given; `None` means missing, never zero.
"""

_CHANGES_START = """\
# Changes

Since the last release, one note for each change.
"""


def glossary_page() -> str:
    """Return the units, then each record of a case with its fields."""
    units = (
        f"| `_{unit.suffix}` | {unit.label} | `{unit.ucum}` | {unit.quantity} |" for unit in UNITS.values()
    )
    return _GLOSSARY_START + "\n".join(units) + "\n" + _NOUNS_START + "\n".join(map(_noun, nouns()))


def nouns() -> list[type]:
    """Return every public record of the case package, in the order of its modules."""
    found: dict[type, None] = {}
    for module in _modules(_NOUNS):
        own = [item for _, item in inspect.getmembers(module, inspect.isclass) if _is_noun(item, module)]
        found |= dict.fromkeys(sorted(own, key=lambda item: inspect.getsourcelines(item)[1]))
    return list(found)


def _modules(package: str) -> Iterator[ModuleType]:
    top = importlib.import_module(package)
    yield top
    for found in sorted(pkgutil.iter_modules(top.__path__, f"{package}."), key=lambda module: module.name):
        yield importlib.import_module(found.name)


def _is_noun(item: type, module: ModuleType) -> bool:
    return is_dataclass(item) and item.__module__ == module.__name__ and not item.__name__.startswith("_")


def _noun(record: type) -> str:
    summary = " ".join((inspect.getdoc(record) or "").partition("\n\n")[0].split())
    meanings = _meanings(record)
    rows = (_row(field, meanings.get(field.name, "")) for field in fields(record))
    head = "| field | unit | kind | default | meaning |\n|---|---|---|---|---|"
    return "\n".join([f"\n### {record.__name__}\n", summary, "", head, *rows])


def _meanings(record: type) -> dict[str, str]:
    """Return what the docstring says of each field, written there as `name: meaning`, alone or in a chain."""
    names = "|".join(field.name for field in fields(record))
    told = " ".join((inspect.getdoc(record) or "").split())
    found = re.findall(rf"\b({names}): (.+?)(?=[;.,]? (?:{names}): |$)", told)
    return {name: meaning.rstrip(".;, ") for name, meaning in found}


def _row(field: "Field[object]", meaning: str) -> str:
    unit = unit_of(field.name)
    kind = field.type if isinstance(field.type, str) else inspect.formatannotation(field.type)
    cells = (
        f"`{field.name}`",
        unit.label if unit else "",
        f"`{kind}`",
        _default(field),
        _cell(meaning),
    )
    return "| " + " | ".join(cells) + " |"


def _default(field: "Field[object]") -> str:
    if field.default is not MISSING:
        return f"`{field.default!r}`"
    return "" if field.default_factory is MISSING else "empty"


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


def contributing_page() -> str:
    """Return CONTRIBUTING.md with its links as they are from here."""
    return _LINK.sub(_moved_link, (ROOT / "CONTRIBUTING.md").read_text(encoding="utf-8"))


def _moved_link(link: re.Match[str]) -> str:
    text, target = link.groups()
    if target.startswith("docs/"):
        return f"[{text}](../{target.removeprefix('docs/')})"
    return f"[{text}]({_MOVED[target]})" if target in _MOVED else text


def changes_page() -> str:
    """Return the change notes on one page."""
    notes = (note for note in sorted((ROOT / "changelog.d").glob("*.md")) if note.name != "README.md")
    return _CHANGES_START + "".join(_change(note) for note in notes)


def _change(note: Path) -> str:
    title = note.stem.replace("-", " ").capitalize()
    return f"\n## {title}\n\n{note.read_text(encoding='utf-8').strip()}\n"


def evidence() -> str:
    """Return the published studies against the simulated animal, each done now; takes some seconds."""
    from lungeline.evidence import evidence_page, run_all

    return evidence_page(run_all())


PAGES: dict[str, Callable[[], str]] = {
    "faults.md": faults_page,
    "parameters.md": parameters_page,
    "glossary.md": glossary_page,
    "figures.md": figures_page,
    "findings.md": findings_page,
    "evidence.md": evidence,
    "contributing.md": contributing_page,
    "changes.md": changes_page,
}


def write(folder: Path, names: Iterable[str] = PAGES) -> None:
    """Write the pages into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for name in names:
        (folder / name).write_text(PAGES[name]().rstrip() + "\n", encoding="utf-8")


if __name__ == "__main__":
    write(Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "docs" / "generated")
