"""Throws odd case files at the program: `python tools/fuzz.py NUMBER SEED`.

Each file is built from what the fields of a case say about themselves: values at and beyond their limits,
of the wrong kind, unknown keys, and combinations that are possible but extreme. A file is either refused in
words, or runs for three minutes to numbers that are finite and bounded, within five seconds. Anything else
is printed with the file, and the exit status is 1.
"""

import json
import math
import random
import sys
import time
from collections import Counter
from dataclasses import fields
from typing import Any

from lungeline.case import (
    Animal,
    Breath,
    Equipment,
    FaultEvent,
    Place,
    Settings,
    Start,
    case_from_toml,
)
from lungeline.case.animal import WEIGHT_RANGE_KG
from lungeline.case.fields import FieldDoc, described
from lungeline.case.manoeuvre import MANOEUVRES
from lungeline.errors import LungelineError
from lungeline.simulate.faults import FAULTS
from lungeline.simulate.run import Run, simulate

MINUTES = 3.0
STEP_S = 0.02
LONGEST_S = 5.0
SECTIONS: dict[str, type] = {"place": Place, "start": Start, "equipment": Equipment, "settings": Settings}
# Lowest and highest value a breath may show, by the end of its name.
BOUNDS: dict[str, tuple[float, float]] = {
    "cmh2o": (-60.0, 150.0),
    "fraction": (-1e-6, 1.0 + 1e-6),
    "l": (-1e-6, 2000.0),  # room air and oxygen add up over the run
    "mmhg": (-1e-6, 900.0),
    "ph": (5.5, 9.0),
    "min": (0.0, 400.0),
    "multiple": (0.0, 40.0),
    "ml": (0.0, 2000.0),
    "s": (0.0, 60.0 * MINUTES),
}
TIDAL_L = (0.0, 150.0)
COMPLIANCE_L_CMH2O = (0.0, 300.0)  # an animal that helps may take its breath for hardly any pressure
JUNK: tuple[Any, ...] = (
    "", "x", "5 L", "5,5", "nan", True, False, [], [1.0, 2.0], ["a"], {"a": 1}, float("nan"), float("inf"),
    float("-inf"), 0, -1, 1e308, -1e-300, 10**30, "\u2603", "a" * 300,
)  # fmt: skip
GARBAGE = (
    "[[[",
    "animal = ",
    "[animal]\nspecies = 'horse'\n[animal]\n",
    "\x00",
    "a = 1\na = 2",
    "= 3",
    "[animal",
    "\ufeff",
)


class Wrong(Exception):
    """What no file may lead to."""


# -- building a file --------------------------------------------------------------------------------------


def value_of(generator: random.Random, doc: FieldDoc, *, extreme: float) -> Any:
    """A value the field allows: an end of its range with this probability, else anywhere in it."""
    if doc.kind == "choice":
        return generator.choice(doc.choices)
    if doc.kind == "switch":
        return generator.random() < 0.5
    if doc.kind == "text":
        return generator.choice(("", "A case", "\u00e9\u00df\u4e2d", "x" * doc.most))
    assert doc.low is not None and doc.high is not None  # noqa: PT018, S101  numbers have both
    low, high = doc.low, doc.high

    def one() -> float:
        if generator.random() < extreme:
            return generator.choice((low, high))
        if generator.random() < 0.5 and low >= 0.0:  # small values as often as large ones
            return math.exp(generator.uniform(math.log(max(low, 1e-4 * high)), math.log(high)))
        return generator.uniform(low, high)

    return [one() for _ in range(generator.randint(1, 3))] if doc.kind == "numbers" else one()


def wrong_value(generator: random.Random, doc: FieldDoc) -> Any:
    """A value the field may not allow."""
    if doc.kind in {"number", "numbers"} and generator.random() < 0.5:
        assert doc.low is not None and doc.high is not None  # noqa: PT018, S101 - as the test says
        return generator.choice(
            (doc.low - 1.0, doc.high + 1.0, doc.high * 1.0001, 10.0 * doc.high, -doc.high)
        )
    return generator.choice(JUNK)


def some_of(
    generator: random.Random, record: type, share: float, *, extreme: float, wrong: float
) -> dict[str, Any]:
    """Some fields of a record; always those it cannot be without, mostly."""
    table: dict[str, Any] = {}
    for key, doc in described(record).items():
        if generator.random() < wrong:
            table[key] = wrong_value(generator, doc)
        elif doc.required or generator.random() < share:
            table[key] = value_of(generator, doc, extreme=extreme)
    if generator.random() < wrong:
        table[generator.choice(("peep", "weight", "tidal_volume_ml", "fio2", "x y", ""))] = generator.choice(
            JUNK
        )
    return table


def tables(generator: random.Random) -> dict[str, Any]:
    """A case as tables: sane but for a few fields, mostly."""
    wrong = generator.choice((0.0, 0.0, 0.0, 0.01, 0.1))
    extreme = generator.choice((0.0, 0.3, 0.9))
    share = generator.choice((0.0, 0.1, 0.3))
    species = generator.choice(list(WEIGHT_RANGE_KG))
    low_kg, high_kg = WEIGHT_RANGE_KG[species]
    animal = some_of(generator, Animal, share, extreme=extreme, wrong=wrong)
    animal.setdefault("species", species)
    if wrong == 0.0:
        animal |= {
            "species": species,
            "weight_kg": generator.choice((low_kg, high_kg, generator.uniform(low_kg, high_kg))),
        }
    found: dict[str, Any] = {"title": "odd"} if generator.random() < 0.3 else {}
    found["animal"] = animal
    for name, record in SECTIONS.items():
        found[name] = some_of(generator, record, share * generator.random(), extreme=extreme, wrong=wrong)
    found["changes"] = [change(generator, extreme, wrong) for _ in range(generator.choice((0, 0, 1, 3)))]
    found["faults"] = [fault(generator, wrong) for _ in range(generator.choice((0, 0, 1, 2, 4)))]
    if generator.random() < wrong:
        found[generator.choice(("animal", "settings", "changes", "faults", "setting"))] = generator.choice(
            JUNK
        )
    return found


def change(generator: random.Random, extreme: float, wrong: float) -> dict[str, Any]:
    """A change of settings, or a manoeuvre."""
    at_min = generator.choice((0.0, generator.uniform(0.0, MINUTES), 1440.0))
    if generator.random() < 0.5:
        kind = generator.choice(list(MANOEUVRES))
        table = some_of(generator, MANOEUVRES[kind], 0.5, extreme=extreme, wrong=wrong)
        return {"at_min": at_min, "manoeuvre": kind, **table}
    table = some_of(generator, Settings, 0.1, extreme=extreme, wrong=wrong)
    return {"at_min": at_min, **(table or {"peep_cmh2o": 5.0})}


def fault(generator: random.Random, wrong: float) -> dict[str, Any]:
    """A fault, of a known kind mostly."""
    table = some_of(generator, FaultEvent, 0.5, extreme=0.3, wrong=wrong)
    known = generator.choice(list(FAULTS)) if generator.random() > wrong else "no such fault"
    return {
        **table,
        "code": known,
        "at_min": generator.uniform(0.0, MINUTES),
        "until_min": generator.uniform(1.0, 9.0),
    }


def toml_value(value: Any) -> str:
    """A value as TOML writes it, whatever it is."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value)
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(toml_value, value))}]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(key)} = {toml_value(item)}" for key, item in value.items()) + "}"
    return repr(value)


def file_of(found: dict[str, Any]) -> str:
    """The tables as the text of a file."""
    lines: list[str] = []
    sections = {key: value for key, value in found.items() if isinstance(value, dict)}
    rows = {
        key: value
        for key, value in found.items()
        if value and isinstance(value, list) and key not in sections
    }
    lists = {key: value for key, value in rows.items() if all(isinstance(row, dict) for row in value)}
    for key, value in found.items():
        if key not in sections and key not in lists:
            lines.append(f"{key} = {toml_value(value)}")
    heads = [(f"[{key}]", table) for key, table in sections.items()]
    heads += [(f"[[{key}]]", row) for key, table in lists.items() for row in table]
    for head, table in heads:
        lines.append(head)
        lines += [f"{json.dumps(key)} = {toml_value(value)}" for key, value in table.items()]
    return "\n".join(lines) + "\n"


def odd_file(generator: random.Random) -> str:
    """One odd case file."""
    text = file_of(tables(generator))
    chance = generator.random()
    if chance < 0.03:
        return generator.choice(GARBAGE)
    if chance < 0.06:
        place = generator.randrange(len(text))
        return text[:place] + generator.choice(("]", "=", '"', "\n", "\x01", "9", "")) + text[place + 1 :]
    return text


# -- looking at what comes of it ----------------------------------------------------------------------------


def bounds_of(name: str) -> tuple[float, float]:
    """Lowest and highest value of a number of a breath."""
    if name.startswith("tidal_volume") or name == "set_tidal_volume_l":
        return TIDAL_L
    if name == "compliance_l_cmh2o":
        return COMPLIANCE_L_CMH2O
    return BOUNDS[name.rsplit("_", 1)[-1]]


def check_run(run: Run) -> None:
    """Refuse a run that shows what no animal shows."""
    for breath in run.breaths:
        for field in fields(Breath):
            value = getattr(breath, field.name)
            low, high = bounds_of(field.name)
            if value is not None and not low <= value <= high:  # not a number is in no range
                raise Wrong(f"{field.name} = {value!r} at {breath.time_s:.1f} s")
    residual_l = max(abs(value) for value in run.balance.values())
    if not residual_l < 1e-6 * max(1.0, run.at_end.oxygen_used_l or 0.0):
        raise Wrong(f"balance is off by {residual_l!r} L")


def outcome(text: str) -> str:
    """What came of a file: why it was refused, or that it ran. Raises Wrong for all else."""
    begun = time.monotonic()
    try:
        run = simulate(case_from_toml(text), MINUTES, dt_s=STEP_S)
    except LungelineError as refusal:
        if type(refusal).__name__ == "SimulationError":
            raise Wrong(str(refusal)) from refusal
        if not (refusal.where and refusal.allowed and refusal.do):
            raise Wrong(f"an unclear refusal: {refusal}") from refusal
        result = f"refused: {type(refusal).__name__}"
    except Exception as error:
        raise Wrong(f"{type(error).__name__}: {error}") from error
    else:
        check_run(run)
        result = "ran"
    took_s = time.monotonic() - begun
    if took_s > LONGEST_S:
        raise Wrong(f"took {took_s:.1f} s")
    return result


def fuzz(number: int, seed: int) -> tuple[Counter[str], list[tuple[int, str, str]]]:
    """Try this many files; returns how often what came of them, and every wrong one with its file."""
    outcomes: Counter[str] = Counter()
    wrong: list[tuple[int, str, str]] = []
    for index in range(number):
        text = odd_file(random.Random(f"{seed} {index}"))  # noqa: S311  a draw, not a secret
        try:
            outcomes[outcome(text)] += 1
        except Wrong as found:
            outcomes["wrong"] += 1
            wrong.append((index, str(found), text))
    return outcomes, wrong


def main(arguments: list[str]) -> int:
    """Run from the command line."""
    if len(arguments) != 2 or not all(word.isdigit() for word in arguments):
        sys.stderr.write("usage: python tools/fuzz.py NUMBER SEED\n")
        return 2
    outcome("[animal]\nspecies = 'horse'\nweight_kg = 500\n")  # compiled before the clock runs
    outcomes, wrong = fuzz(int(arguments[0]), int(arguments[1]))
    for index, found, text in wrong:
        sys.stdout.write(f"--- file {index}: {found}\n{text}\n")
    sys.stdout.write("".join(f"{name}: {count}\n" for name, count in sorted(outcomes.items())))
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
