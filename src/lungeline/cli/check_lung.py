"""`lungeline check lung`: the ventilator on a test lung, set against delivered."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from lungeline.cli.check import (
    add_log,
    add_numbers,
    case_of,
    check_log_options,
    equipment_of,
    finding_lines,
    given,
    json_text,
    kept_json,
    kept_lines,
    need,
)

if TYPE_CHECKING:
    from lungeline.check import LungTestResult
    from lungeline.theatre.kept_checks import KeptCheck

_SET = {"set-tidal-volume-l": "volume set", "set-rate-per-min": "rate set",
        "set-inspiratory-time-s": "inspiratory time set", "set-peep-cmh2o": "PEEP set"}  # fmt: skip
_READ = {"measured-tidal-volume-l": "volume read", "measured-rate-per-min": "rate read",
         "measured-peak-cmh2o": "peak pressure read"}  # fmt: skip
_LUNG = {"compliance-l-cmh2o": "of the test lung, 0.5 where not given",
         "resistance-cmh2o-s-l": "of the test lung, 1 where not given",
         "volume-tolerance-fraction": "0.1 where not given",
         "rate-tolerance-fraction": "0.02 where not given",
         "pressure-tolerance-cmh2o": "3 where not given"}  # fmt: skip


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options of a test on a test lung."""
    for options in (_SET, _READ, _LUNG):
        add_numbers(parser, options)
    parser.add_argument("--case", type=Path, metavar="FILE", help="case whose equipment it is")
    add_log(parser)


def run(args: argparse.Namespace) -> int:
    """Print how the ventilator did and return the exit status."""
    from lungeline.check import LungTest, ventilator_on_lung

    check_log_options(args, "check lung")
    need(args, ("set_tidal_volume_l", "set_rate_per_min", "set_inspiratory_time_s"), "lung")
    names = [option.replace("-", "_") for option in (*_SET, *_READ, *_LUNG)]
    case = case_of(args.case)
    result = ventilator_on_lung(
        LungTest(**given(args, {name: name for name in names})), case.equipment if case else None
    )
    kept = _kept(args, result)
    content = {**result.as_json(), **kept_json(kept)}
    print(json_text(content) if args.json else "\n".join([*_lines(result), *kept_lines(kept)]))
    return 0


def _kept(args: argparse.Namespace, result: "LungTestResult") -> "KeptCheck | None":
    if not args.keep:
        return None
    from lungeline.theatre.kept_checks import keep_lung

    return keep_lung(equipment_of(args), args.machine, result, case=args.for_case)


def _lines(result: "LungTestResult") -> list[str]:
    peak, volume, test = result.expected_peak, result.expected_volume, result.test
    rows = (
        ("volume", test.set_tidal_volume_l, volume.value, test.measured_tidal_volume_l, "L"),
        ("rate", test.set_rate_per_min, test.set_rate_per_min, test.measured_rate_per_min, "/min"),
        ("peak", None, peak.value, test.measured_peak_cmh2o, "cmH2O"),
    )
    lines = [f"{result.verdict.upper()} - ventilator on a test lung", "            set   expected  measured"]
    lines += [f"  {name:<7} {_cell(a)} {_cell(b)} {_cell(c)}  {unit}" for name, a, b, c, unit in rows]
    return [*lines, *finding_lines(result.findings)]


def _cell(value: float | None) -> str:
    return f"{'–' if value is None else format(value, '.3g'):>9}"
