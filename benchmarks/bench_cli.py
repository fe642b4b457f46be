"""How long a person waits at the command line: whole processes, compiled code kept from before."""

import subprocess
import sys
from pathlib import Path

from measuring import Result, least_s, print_results

COMMAND = str(Path(sys.executable).with_name("lungeline"))
CASE = str(Path(__file__).parents[1] / "examples" / "demo.toml")

SIMULATE_TARGET_S = 1.5
HELP_TARGET_S = 0.25


def _waits_s(*words: str) -> float:
    """Return the least time a command takes from start to exit [s]."""

    def run() -> None:
        subprocess.run([COMMAND, *words], check=True, stdout=subprocess.DEVNULL)  # noqa: S603  our own

    return least_s(run)


def main() -> None:
    """Measure and print."""
    simulate_s = _waits_s("simulate", CASE, "--minutes", "60")
    help_s = _waits_s("--help")
    print_results([
        Result(item="lungeline simulate, 60 min", target=SIMULATE_TARGET_S, measured=simulate_s, unit="s"),
        Result(item="lungeline --help", target=HELP_TARGET_S, measured=help_s, unit="s"),
    ])  # fmt: skip


if __name__ == "__main__":
    main()
