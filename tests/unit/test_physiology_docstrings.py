"""Every formula of the animal says what it takes, in which unit, from which source, and shows one value."""

import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator

import pytest

from lungeline import physiology
from lungeline.units import unit_of

ARGUMENT = re.compile(r"^(?P<name>\w+): .*\[(?P<label>[^\]]+)\](?:, (?P<range>.+))?$")


def plain(formula: Callable[..., object]) -> Callable[..., object]:
    """Return the Python function behind a compiled formula."""
    return getattr(formula, "py_func", formula)


def formulas() -> Iterator[tuple[str, Callable[..., object]]]:
    for module in pkgutil.iter_modules(physiology.__path__):
        loaded = importlib.import_module(f"lungeline.physiology.{module.name}")
        for name, value in vars(loaded).items():
            behind = plain(value)
            if inspect.isfunction(behind) and behind.__module__ == loaded.__name__ and name[0] != "_":
                yield name, behind


FORMULAS = dict(formulas())


def label_of(name: str) -> str:
    unit = unit_of(name)
    return unit.label if unit else "1"


def test_formulas_are_found() -> None:
    assert {"oxygen_content_l_l", "weight_carroll1988_kg", "apnoea_paco2_mmhg"} <= FORMULAS.keys()


@pytest.mark.parametrize("name", FORMULAS)
def test_the_first_line_ends_with_the_unit_its_name_carries(name: str) -> None:
    first = (inspect.getdoc(FORMULAS[name]) or "").splitlines()[0]
    shown = re.search(r"\[([^\]]+)\]\.$", first)
    assert shown, first
    if unit_of(name):
        assert shown.group(1) == label_of(name)


@pytest.mark.parametrize("name", FORMULAS)
def test_every_argument_has_its_line_unit_and_range(name: str) -> None:
    lines = (inspect.getdoc(FORMULAS[name]) or "").splitlines()
    described = {m["name"]: m for m in map(ARGUMENT.match, lines) if m}
    for argument in inspect.signature(FORMULAS[name]).parameters:
        assert argument in described
        assert described[argument]["label"] == label_of(argument)
        assert described[argument]["range"]


@pytest.mark.parametrize("name", FORMULAS)
def test_every_formula_has_a_source_and_a_worked_value(name: str) -> None:
    text = inspect.getdoc(FORMULAS[name]) or ""
    assert re.search(r"^Source: \S", text, flags=re.MULTILINE)
    assert ">>> " in text
    assert re.search(rf"\b{name}\(", text)
