"""`lungeline rehearse --from-case CASE --out FILE`: a recorded case, signed or simulated, as a scenario."""

import argparse
import re

from lungeline.cli.rehearse_text import SIMULATED, as_text
from lungeline.cli.writing import write
from lungeline.errors import MissingError

_NO_NAME = re.compile(r"[^a-z0-9]+")
_LONGEST = 59


def run_from_case(args: argparse.Namespace) -> int:
    """Write the scenario made of a case, and tell how far its animal is from what was read."""
    if args.out is None:
        raise MissingError(
            where="rehearse", given="no --out", allowed="--out FILE.toml", do="Give the file to write."
        )
    from lungeline.cli.case import desk_of
    from lungeline.rehearse.scenario_text import scenario_to_toml
    from lungeline.theatre.scenario_from_case import scenario_from_case

    made = scenario_from_case(desk_of(args), args.from_case, _name(args.out.stem))
    path = write(args.out, scenario_to_toml(made.scenario).encode())
    if args.json:
        replayed = [it.model_dump() for it in made.scenario.replayed]
        print(as_text({"file": str(path), "simulated": True, "replayed": replayed}))
        return 0
    lines = [SIMULATED, "", f"written: {path}", made.scenario.title, "", *made.table(), ""]
    lines += [
        f"To replay it: lungeline rehearse {path} --answer model",
        f"To leave it: lungeline rehearse {path} --answer model --what-if FILE --from-s SECONDS",
    ]
    print("\n".join(lines))
    return 0


def _name(stem: str) -> str:
    """Return a name as a scenario may have one, of that of its file.

    >>> _name("My case-2"), _name("7")
    ('my_case_2', 'case_7')
    """
    plain = _NO_NAME.sub("_", stem.lower()).strip("_")[:_LONGEST]
    return plain if len(plain) > 1 and plain[0].isalpha() else f"case_{plain}"[:_LONGEST]
