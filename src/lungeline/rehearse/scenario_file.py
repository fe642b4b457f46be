"""Scenario files: read, and refused with what is wrong and where."""

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from lungeline.case import Breath, case_from_json
from lungeline.case.fields import described
from lungeline.case.json_form import SCHEMA
from lungeline.case.settings import Settings
from lungeline.errors import InputError, MissingError, UnknownNameError
from lungeline.rehearse.acting import deeds
from lungeline.rehearse.scenario import Limit, Scenario, Step, Wanted
from lungeline.simulate.faults import FAULTS
from lungeline.simulate.setup import species_parameters

FOLDER = Path(__file__).with_name("scenarios")
_MOST_BYTES = 1_000_000


@cache
def scenarios() -> tuple[Scenario, ...]:
    """Return the scenarios the program brings, by number."""
    return tuple(sorted((load_scenario(path) for path in FOLDER.glob("*.toml")), key=lambda it: it.number))


def scenario_named(name: str) -> Scenario:
    """Return a scenario of the program's by its name, or that of a file; else UnknownNameError."""
    path = FOLDER / f"{name}.toml"
    if name.endswith(".toml"):
        return load_scenario(Path(name))
    known = [each.stem for each in FOLDER.glob("*.toml")]
    if name not in known:
        raise UnknownNameError.nearest(where="scenario", given=name, valid=known)
    return load_scenario(path)


def load_scenario(path: Path) -> Scenario:
    """Return the scenario of a file. Raises InputError for the first thing that is wrong."""
    try:
        tables = tomllib.loads(path.read_bytes()[:_MOST_BYTES].decode("utf-8-sig"))
    except FileNotFoundError:
        raise MissingError(
            where="scenario", given=str(path), allowed="a file that exists", do="Check name and folder."
        ) from None
    except (OSError, ValueError, RecursionError) as error:
        raise InputError(
            where=f"scenario {path.name}", given=str(error), allowed="readable TOML", do="Correct that place."
        ) from None
    return scenario_from_tables({"name": path.stem, **tables})


def scenario_from_tables(tables: Mapping[str, Any]) -> Scenario:
    """Return the scenario that tables describe."""
    case = {"schema": SCHEMA, **tables.get("case", {})}
    try:
        found = Scenario.model_validate({**tables, "case": case_from_json(case)})
    except ValidationError as error:
        first = error.errors()[0]
        place = ".".join(str(part) for part in first["loc"])
        raise _refused(place, str(first.get("input"))[:200], first["msg"]) from None
    _check_names(found)
    return found


def _check_names(it: Scenario) -> None:
    """Refuse a name that nothing has: of a fault, a deed, a happening, a quantity, an instrument."""
    happenings = {each.name for each in it.happenings}
    _among("happenings", [each.fault for each in it.happenings if each.fault], FAULTS)
    _among("eases", [each.fault for each in it.eases], FAULTS)
    _among("critical.after", [each.after for each in it.critical if each.after], happenings | {"beginning"})
    _among("hidden_instruments", it.hidden_instruments, described_breath())
    _among("own_animal", it.own_animal, species_parameters(it.case.animal.species))
    for each in it.critical:
        if sum((bool(each.any_of), bool(each.never), each.holds is not None)) != 1:
            raise _refused(f"critical.{each.code}", "none or several", "one of any_of, never, holds")
    limits = [each.holds for each in it.critical] + [each.when for each in it.happenings]
    _among("limit.key", [each.key for each in limits if isinstance(each, Limit)], described_breath())
    wanted = [one for each in it.critical for one in (*each.any_of, *each.never, *each.before)]
    for one in (*wanted, *it.treats):
        _check_wanted(one)
    _among("eases.deed", [each.deed for each in it.eases], deeds())
    steps = [*it.model_answer, *(step for wrong in it.wrong for step in wrong.script)]
    _check_steps(steps)


def _check_wanted(one: Wanted) -> None:
    _among("deed", [one.deed], deeds())
    if one.key is not None and one.deed == "set":
        _among("set.key", [one.key], described(Settings))


def _check_steps(steps: list[Step]) -> None:
    _among("script.deed", [step.deed for step in steps], deeds())
    for step in steps:
        deeds()[step.deed].check(step.with_)


def described_breath() -> set[str]:
    """Return the quantities of a breath."""
    return set(Breath.__dataclass_fields__) - {"time_s"}


def _among(where: str, given: Any, valid: Any) -> None:  # noqa: ANN401  names and whatever holds the known ones
    for name in given:
        if name not in valid:
            raise UnknownNameError.nearest(where=f"scenario.{where}", given=str(name), valid=valid)


def _refused(where: str, given: str, allowed: str) -> InputError:
    return InputError(
        where=f"scenario.{where}", given=given, allowed=allowed, do="Correct the scenario's file there."
    )
