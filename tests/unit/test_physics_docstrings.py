"""Every formula of gas says what it takes, in which unit, from which source, and shows one value."""

import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator

import pytest

from lungeline import physics
from lungeline.units import unit_of

ARGUMENT = re.compile(r"^(?P<name>\w+): .*\[(?P<label>[^\]]+)\](?:, (?P<range>.+))?$")


def plain(formula: Callable[..., object]) -> Callable[..., object]:
    """Return the Python function behind a compiled formula."""
    return getattr(formula, "py_func", formula)


def formulas() -> Iterator[tuple[str, Callable[..., object]]]:
    for module in pkgutil.iter_modules(physics.__path__):
        loaded = importlib.import_module(f"lungeline.physics.{module.name}")
        for name, value in vars(loaded).items():
            behind = plain(value)
            if inspect.isfunction(behind) and behind.__module__ == loaded.__name__ and name[0] != "_":
                yield name, behind


FOUND = list(formulas())
FORMULAS = dict(FOUND)


def label_of(name: str) -> str:
    unit = unit_of(name)
    assert unit, f"{name} carries no unit"
    return unit.label


def test_formulas_are_found_and_no_two_share_a_name() -> None:
    assert {"leak_ml_min", "saturated_water_vapour_mmhg", "cylinder_content_l"} <= FORMULAS.keys()
    assert len(FORMULAS) == len(FOUND)


@pytest.mark.parametrize("name", FORMULAS)
def test_the_first_line_ends_with_the_unit_its_name_carries(name: str) -> None:
    first = (inspect.getdoc(FORMULAS[name]) or "").splitlines()[0]
    shown = re.search(r"\[([^\]]+)\]\.$", first)
    assert shown, first
    assert shown.group(1) == label_of(name)


@pytest.mark.parametrize("name", FORMULAS)
def test_every_argument_has_its_line_unit_and_range(name: str) -> None:
    lines = (inspect.getdoc(FORMULAS[name]) or "").splitlines()
    described = {m["name"]: m for m in map(ARGUMENT.match, lines) if m}
    for argument in inspect.signature(FORMULAS[name]).parameters:
        assert argument in described
        assert described[argument]["label"] == label_of(argument)
        assert re.match(r"(above )?-?[\d.]+ to -?[\d.]+", described[argument]["range"])


@pytest.mark.parametrize("name", FORMULAS)
def test_every_formula_has_a_source_and_a_worked_value(name: str) -> None:
    text = inspect.getdoc(FORMULAS[name]) or ""
    assert re.search(r"^Source: \S", text, flags=re.MULTILINE)
    assert re.search(rf">>> .*\b{name}\(", text)
