"""`lungeline rehearse --pdf | --handout | --bench-guide`: rehearsals on paper."""

import argparse
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from lungeline.cli.writing import PAPERS, write

if TYPE_CHECKING:
    from lungeline.rehearse import Outcome, Rehearsal, Scenario
    from lungeline.rehearse.what_if import WhatIf


def print_sheets(args: argparse.Namespace, scenario: "Scenario") -> list[Path]:
    """Write what was asked for of a scenario that need not be played, and return the files."""
    from lungeline.cli.case import desk_of

    written = []
    if args.handout is not None:
        from lungeline.theatre.printed_handout import print_handout

        content = print_handout(scenario, paper=PAPERS[args.paper], printed_at=_now())
        written.append(write(args.handout, content))
    if args.bench_guide is not None:
        from lungeline.theatre.clinic_profile import clinic_profile
        from lungeline.theatre.equipment import Equipment
        from lungeline.theatre.printed_bench import print_bench_guide

        desk = desk_of(args)
        content = print_bench_guide(
            scenario,
            profile=clinic_profile(desk.cases.path),
            machines=[it.item for it in Equipment(desk=desk).machines()],
            paper=PAPERS[args.paper],
            printed_at=_now(),
        )
        written.append(write(args.bench_guide, content))
    return written


def print_played(
    args: argparse.Namespace, outcome: "Outcome", run: "Rehearsal", other_way: "WhatIf | None"
) -> Path:
    """Write the debrief of a rehearsal that was played, and return its file."""
    from lungeline.rehearse.timeline import timeline
    from lungeline.theatre.printed_debrief import print_debrief

    content = print_debrief(
        run.scenario,
        outcome,
        timeline(run),
        other_way=other_way,
        paper=PAPERS[args.paper],
        printed_at=_now(),
    )
    return write(args.pdf, content)


def _now() -> datetime:
    return datetime.now(UTC).astimezone()
