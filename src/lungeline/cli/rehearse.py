"""`lungeline rehearse`: list scenarios, play one by a script, ask what if, print, make one of a case."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lungeline.cli.main import COMMANDS
from lungeline.cli.rehearse_people import add_people, run_people
from lungeline.errors import MissingError

if TYPE_CHECKING:
    from lungeline.rehearse import Scenario
    from lungeline.rehearse.scenario import Step

_NOT_PROVEN = 1


def add_parser(subparsers: Any) -> None:  # noqa: ANN401  argparse keeps this type to itself
    """Describe the command line."""
    parser = subparsers.add_parser("rehearse", help=COMMANDS["rehearse"], description=COMMANDS["rehearse"])
    parser.add_argument("scenario", nargs="?", help="name of a scenario, or a file of one's own (.toml)")
    parser.add_argument("--list", action="store_true", help="list the scenarios")
    parser.add_argument("--deeds", action="store_true", help="list what a learner can do")
    parser.add_argument("--script", type=Path, help="CSV of deeds: at_s, deed, with (key=value; key=value)")
    parser.add_argument(
        "--answer", choices=("model", "nothing", "wrong"), help="play the scenario's own answer"
    )
    parser.add_argument(
        "--prove", action="store_true", help="play every answer, and tell whether each goes as it must"
    )
    parser.add_argument(
        "--what-if", type=Path, metavar="FILE", help="CSV of what is done instead, see --from-s"
    )
    parser.add_argument("--from-s", type=float, metavar="SECONDS", help="from when on it is done instead")
    parser.add_argument("--seed", type=int, help="of the instruments' noise")
    parser.add_argument("--json", action="store_true", help="as JSON")
    _add_paper(parser)
    case = parser.add_argument_group("a recorded case as a scenario")
    case.add_argument("--from-case", metavar="ID", help="a case of the record: signed, or simulated")
    case.add_argument("--out", type=Path, metavar="FILE", help="scenario to write (.toml)")
    case.add_argument("--author", metavar="NAME", help="who asks for it; LUNGELINE_AUTHOR where not given")
    add_people(parser)


def _add_paper(parser: argparse.ArgumentParser) -> None:
    group = parser.add_argument_group("on paper")
    group.add_argument("--pdf", type=Path, metavar="FILE", help="the debrief of what was played")
    group.add_argument("--handout", type=Path, metavar="FILE", help="the learner's page and the trainer's")
    group.add_argument("--bench-guide", type=Path, metavar="FILE", help="a real ventilator on a rubber lung")
    group.add_argument("--paper", choices=("a4", "letter"), default="a4", help="a4 or letter (a4)")


def run(args: argparse.Namespace) -> int:
    """Do what was asked."""
    if args.sign_off is not None or args.signed_off is not None or args.group:
        return run_people(args)
    if args.from_case is not None:
        from lungeline.cli.rehearse_case import run_from_case

        return run_from_case(args)
    from lungeline.cli.rehearse_text import deed_lines, scenario_lines
    from lungeline.rehearse import deeds, scenario_named, scenarios

    if args.deeds:
        print(deed_lines(deeds(), as_json=args.json))
    elif args.list or args.scenario is None:
        print(scenario_lines(scenarios(), as_json=args.json))
    else:
        return _run_one(args, scenario_named(args.scenario))
    return 0


def _run_one(args: argparse.Namespace, scenario: "Scenario") -> int:
    from lungeline.cli.rehearse_text import described, proof_lines
    from lungeline.rehearse import prove

    if args.prove:
        proofs = prove(scenario)
        print(proof_lines(proofs, as_json=args.json))
        return 0 if all(it.holds for it in proofs) else _NOT_PROVEN
    if args.handout is not None or args.bench_guide is not None:
        from lungeline.cli.rehearse_print import print_sheets

        print("\n".join(f"written: {path}" for path in print_sheets(args, scenario)))
        return 0
    steps = _steps(args, scenario)
    if steps is None:
        print(described(scenario, as_json=args.json))
        return 0
    return _played(args, scenario, steps)


def _steps(args: argparse.Namespace, scenario: "Scenario") -> "tuple[Step, ...] | None":
    """Return what is to be played; None where nothing is."""
    from lungeline.rehearse import read_script

    if args.script is not None and args.answer is not None:
        raise MissingError(
            where="rehearse", given="a script and an answer", allowed="one of them", do="Leave one out."
        )
    if args.script is not None:
        return read_script(args.script)
    if args.answer is not None:
        return {"model": scenario.model_answer, "nothing": (), "wrong": scenario.wrong[0].script}[args.answer]
    for name in ("pdf", "what_if", "from_s"):
        if getattr(args, name) is not None:
            raise MissingError(
                where=f"rehearse --{name.replace('_', '-')}", given="nothing that was done",
                allowed="--script FILE, or --answer model, nothing or wrong", do="Say what was done.",
            )  # fmt: skip
    return None


def _played(args: argparse.Namespace, scenario: "Scenario", steps: "tuple[Step, ...]") -> int:
    """Play what was done, and what if where it is asked; print it here, or on paper."""
    from lungeline.cli.rehearse_text import SIMULATED, as_text, outcome_lines
    from lungeline.rehearse import play, read_script
    from lungeline.rehearse.what_if import what_if, what_if_lines

    if (args.what_if is None) != (args.from_s is None):
        raise MissingError(
            where="rehearse --what-if", given="one of --what-if and --from-s", allowed="both",
            do="Say what is done instead, and from when on.",
        )  # fmt: skip
    found = None
    if args.what_if is not None:
        found = what_if(scenario, steps, read_script(args.what_if), from_s=args.from_s, seed=args.seed)
    if args.pdf is not None:
        from lungeline.cli.rehearse_print import print_played

        print(f"written: {print_played(args, *play(scenario, steps, seed=args.seed), found)}")
    elif found is not None:
        print(as_text(found.as_json()) if args.json else "\n".join([SIMULATED, "", *what_if_lines(found)]))
    else:
        outcome, _ = play(scenario, steps, seed=args.seed)
        print(outcome_lines(scenario, outcome, as_json=args.json))
    return 0
