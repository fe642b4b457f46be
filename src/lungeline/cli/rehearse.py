"""`lungeline rehearse`: list the scenarios, play one by a script, check a file of one's own."""

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lungeline.cli.main import COMMANDS
from lungeline.errors import MissingError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from lungeline.rehearse import Deed, Outcome, Proof, Scenario

_NOT_PROVEN = 1
_SIMULATED = "SIMULATED. A rehearsal on a simulated animal; it stands for no real one."


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
    parser.add_argument("--seed", type=int, help="of the instruments' noise")
    parser.add_argument("--json", action="store_true", help="as JSON")


def run(args: argparse.Namespace) -> int:
    """Do what was asked."""
    from lungeline.rehearse import deeds, play, prove, read_script, scenario_named, scenarios

    if args.deeds:
        print(_deeds(deeds(), as_json=args.json))
        return 0
    if args.list or args.scenario is None:
        print(_listed(scenarios(), as_json=args.json))
        return 0
    scenario = scenario_named(args.scenario)
    if args.prove:
        return _proven(prove(scenario), as_json=args.json)
    if args.script is None and args.answer is None:
        print(_described(scenario, as_json=args.json))
        return 0
    if args.script is not None and args.answer is not None:
        raise MissingError(
            where="rehearse", given="a script and an answer", allowed="one of them", do="Leave one out."
        )
    answers = {"model": scenario.model_answer, "nothing": (), "wrong": scenario.wrong[0].script}
    script = read_script(args.script) if args.script is not None else answers[args.answer]
    outcome, _ = play(scenario, script, seed=args.seed)
    print(_json(outcome.as_json()) if args.json else _told(scenario, outcome))
    return 0


def _proven(proofs: "tuple[Proof, ...]", *, as_json: bool) -> int:
    """Print how each answer went, and return 0 where all went as they must."""
    if as_json:
        print(_json({"proofs": [_proof(it) for it in proofs]}))
    else:
        for it in proofs:
            missed = ", ".join(_missed(it))
            went = "passes" if it.outcome.passed else f"fails ({missed})"
            print(f"{'as it must' if it.holds else 'WRONG     '}  {went}: {it.answer}")
    return 0 if all(it.holds for it in proofs) else _NOT_PROVEN


def _proof(it: "Proof") -> dict[str, Any]:
    told = {"answer": it.answer, "must_pass": it.must_pass, "passed": it.outcome.passed, "holds": it.holds}
    return told | {"missed": _missed(it)}


def _missed(it: "Proof") -> list[str]:
    return [each.code for each in it.outcome.critical_actions if not each.met]


def _json(plain: dict[str, Any]) -> str:
    return json.dumps(plain, indent=2, ensure_ascii=False)


def _deeds(known: "Mapping[str, Deed]", *, as_json: bool) -> str:
    if as_json:
        names = ("code", "label", "sort", "takes_s", "source")
        return _json({"deeds": [{name: getattr(it, name) for name in names} for it in known.values()]})
    return "\n".join(f"{it.code:22} {it.label}" for it in known.values())


def _listed(known: "tuple[Scenario, ...]", *, as_json: bool) -> str:
    if as_json:
        rows = [
            {
                "name": it.name,
                "number": it.number,
                "title": it.title,
                "objective": it.objective,
                "minutes": it.minutes,
                "species": it.case.animal.species,
                "skills": list(it.skills),
            }
            for it in known
        ]
        return _json({"scenarios": rows})
    width = max((len(it.name) for it in known), default=0)
    return "\n".join(f"{it.number:3}  {it.name:{width}}  {it.title}: {it.objective}" for it in known)


def _described(it: "Scenario", *, as_json: bool) -> str:
    if as_json:
        return _json({name: getattr(it, name) for name in ("name", "title", "objective", "story")})
    lines = [_SIMULATED, "", f"{it.title} ({it.minutes:g} min)", it.objective, "", it.story.strip(), ""]
    lines += [
        f"To play it: lungeline rehearse {it.name} --script FILE, or --answer model",
        "What can be done: lungeline rehearse --deeds",
    ]
    return "\n".join(lines)


def _told(scenario: "Scenario", outcome: "Outcome") -> str:
    from lungeline.rehearse.debrief import debrief_lines

    return "\n".join([_SIMULATED, "", *debrief_lines(scenario, outcome)])
