"""`lungeline watch`: the breaths in a file of curves, and what is not as it was set or expected."""

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lungeline.errors import InputError

if TYPE_CHECKING:
    from lungeline.case import Case
    from lungeline.compare import Deviation, WaveBreath
    from lungeline.listen.file_feed import FileFeed

_STEP_S = 10.0
_ANIMALS = 16
_SHOWN = 12
_HEAD = (
    ("time_s", "s", 1), ("tidal_volume_inspired_l", "VT in L", 2),
    ("tidal_volume_expired_l", "VT out L", 2),
    ("respiratory_rate_per_min", "/min", 1), ("peak_pressure_cmh2o", "peak", 1),
    ("end_expiratory_pressure_cmh2o", "end", 1), ("compliance_l_cmh2o", "L/cmH2O", 3),
    ("etco2_mmhg", "ETCO2", 0), ("fico2_mmhg", "FICO2", 0),
)  # fmt: skip


def add_parser(subparsers: "argparse._SubParsersAction[Any]") -> None:
    """Add the command to the program's commands."""
    parser = subparsers.add_parser(
        "watch",
        help="the breaths in a file of curves, and what is not as it was set or expected",
        description="Finds and measures every breath in curves of airway pressure, flow and CO2, and sets "
        "the last ones against the case's settings and simulated animals.",
    )
    parser.add_argument("file", metavar="FILE", type=Path, help="curves, .csv or .edf")
    parser.add_argument(
        "--case", metavar="CASE", help="case file, .toml or .json, with the settings in force"
    )
    parser.add_argument(
        "--columns", type=Path, metavar="FILE",
        help="what the file's columns mean; written, to be put right, where it is not there yet",
    )  # fmt: skip
    parser.add_argument(
        "--at",
        type=float,
        default=0.0,
        metavar="MIN",
        help="where in the case the file begins, 0 if not given",
    )
    parser.add_argument(
        "--sample-delay", type=float, metavar="S", help="by which the CO2 curve lags; found where not given"
    )
    parser.add_argument("--seed", type=int, default=1, help="which animals are drawn, 1 where not given")
    parser.add_argument("--all", action="store_true", help="every breath, not the last ones alone")
    parser.add_argument("--json", action="store_true", help="everything as JSON")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Watch, print, and return the exit status."""
    from lungeline.case import load_case
    from lungeline.compare import Breaths, follow

    if args.seed < 0 or args.at < 0.0 or (args.sample_delay or 0.0) < 0.0:
        raise InputError(where="watch", given="a number below 0", allowed="0 or more", do="Give another.")
    case = load_case(args.case) if args.case else None
    feed = _feed(args)
    breaths = Breaths(sample_delay_s=args.sample_delay, **_of_case(case, args.at))
    follower, found = follow(feed, breaths), []
    while not feed.ended:
        feed.advance(_STEP_S)
        found += follower.new()
    found += breaths.finish()
    deviating = _deviations(case, feed, found, args) if case else []
    print(_json(feed, found, deviating) if args.json else "\n".join(_lines(feed, found, deviating, args)))
    return 0


def _feed(args: argparse.Namespace) -> "FileFeed":
    from lungeline.listen.csv_file import feed_from_csv
    from lungeline.listen.edf_file import feed_from_edf

    reader = feed_from_edf if args.file.suffix.lower() == ".edf" else feed_from_csv
    return reader(args.file, remember=args.columns)


def _of_case(case: "Case | None", at_min: float) -> dict[str, float]:
    """Return what the case tells of its breaths: the least that is one, and the limit that ends one."""
    if case is None:
        return {}
    from lungeline.compare.breaths import LEAST_VOLUME_ML_KG
    from lungeline.units import convert

    return {
        "least_volume_l": convert(LEAST_VOLUME_ML_KG * case.animal.weight_kg, "ml", "l"),
        "pressure_limit_cmh2o": case.settings_at(at_min).pressure_limit_cmh2o,
    }


def _deviations(
    case: "Case", feed: "FileFeed", found: "list[WaveBreath]", args: argparse.Namespace
) -> "list[Deviation]":
    """Return what the last breaths and readings show against what was set, and simulated animals show."""
    from lungeline.compare import deviations, expected_bands, set_values, shown_by_breaths
    from lungeline.compare.deviations import Shown
    from lungeline.listen.typed import instruments
    from lungeline.simulate import simulate_herd

    shown = shown_by_breaths(found)
    for reading in feed.readings():
        it = instruments().get(reading.key)
        if reading.value is not None and it is not None and reading.key not in shown:
            shown[reading.key] = Shown(value=reading.value, step=it.display_step)
    minutes = args.at + max((feed.now_s - feed.epoch_began_s) / 60.0, 1.0)
    herd = simulate_herd(case, _ANIMALS, args.seed, minutes)
    late_s = max(args.at * 60.0, minutes * 60.0 - 120.0)
    return deviations(shown, expected_bands(herd, late_s), set_values(case.settings_at(minutes)))


def _json(feed: "FileFeed", found: "list[WaveBreath]", deviating: "list[Deviation]") -> str:
    told = {
        "schema": "lungeline.watch/1",
        "source": feed.source,
        "findings": [finding.as_json() for finding in feed.findings],
        "breaths": [breath.as_json() for breath in found],
        "deviations": [each.as_json() for each in deviating],
    }
    return json.dumps(told, ensure_ascii=False, indent=2)


def _lines(
    feed: "FileFeed", found: "list[WaveBreath]", deviating: "list[Deviation]", args: argparse.Namespace
) -> list[str]:
    from lungeline.words import say

    lines = [f"{feed.source}: {len(found)} breaths."]
    for finding in feed.findings:
        said = say(finding)
        lines += [f"{said.severity.upper()}: {said.says}", f"  -> {said.do}"]
    shown = found if args.all else found[-_SHOWN:]
    if shown:
        lines += ["", *_table(shown)]
    if args.case:
        lines += ["", *_deviation_lines(deviating)]
    return lines


def _table(shown: "list[WaveBreath]") -> list[str]:
    rows = [[*(title for _, title, _ in _HEAD), "begun", "sure"]]
    for breath in shown:
        numbers = [_number(getattr(breath, key), digits) for key, _, digits in _HEAD]
        rows.append([*numbers, breath.begun or "-", breath.volume_quality])
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return ["  ".join(f"{cell:>{width}}" for cell, width in zip(row, widths, strict=True)) for row in rows]


def _number(value: float | None, digits: int) -> str:
    return "-" if value is None else f"{round(value, digits) + 0.0:.{digits}f}"  # no "-0"


def _deviation_lines(deviating: "list[Deviation]") -> list[str]:
    from lungeline.words import number_text

    if not deviating:
        return ["Nothing measured lies outside of what was set and what simulated animals show."]
    lines = [
        "Not as set or expected (bands: 10 to 90 % of simulated animals; of the last breaths, the middle):"
    ]
    for each in deviating:
        said = "" if each.set_value is None else f", set {number_text(each.key, each.set_value)}"
        band = f"{number_text(each.key, each.low)} to {number_text(each.key, each.high)}"
        lines.append(
            f"  {each.key}: {number_text(each.key, each.measured)}, expected {band}{said} "
            f"({each.size_bands:+.1f} bands)"
        )
    return lines
