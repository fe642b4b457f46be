"""How long the record takes: an acknowledgement on disk, an entry into a long case, opening that case.

The long case lasts 6 h, with a row every minute, a change of settings every five and a dose every ten. Files
lie in the temporary folder, whose disk decides.
"""

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

from measuring import Result, least_s, print_results

from lungeline.record import Draft
from lungeline.theatre import Cases, Desk

HOLDER = Path(__file__).parents[1] / "tests" / "store" / "holder_process.py"
MINUTES, WRITES = 360, 500
WRITE_TARGET_MS, ENTER_TARGET_MS, OPEN_TARGET_MS = 20.0, 20.0, 200.0
_PERCENT_99, _MS_PER_S = 0.99, 1000.0
ROW = {
    "heart_rate_per_min": 36.0, "map_mmhg": 72.0, "systolic_pressure_mmhg": 90.0,
    "diastolic_pressure_mmhg": 60.0, "etco2_mmhg": 45.0, "spo2_fraction": 0.96,
    "respiratory_rate_per_min": 8.0, "fio2_fraction": 0.9, "end_tidal_agent_fraction": 0.013,
}  # fmt: skip


def _draft(kind: str, body: dict[str, Any], moment: datetime) -> Draft:
    return Draft(
        uid=str(uuid4()),
        case="long",
        kind=kind,
        event_time=moment,
        author="A. Vet",
        device="tablet",
        body=body,
    )


def _fill(cases: Cases) -> None:
    """Tell a case of six hours."""
    desk = Desk(cases=cases, author="A. Vet", device="tablet")
    desk.open_case({"purpose": "real", "name": "Star", "species": "horse", "weight_kg": 520.0}, case="long")
    begin = datetime.now(UTC) - timedelta(minutes=MINUTES)
    told = []
    for minute in range(MINUTES):
        moment = begin + timedelta(minutes=minute)
        told.append(_draft("reading", ROW, moment))
        if minute % 5 == 0:
            told.append(_draft("setting", {"respiratory_rate_per_min": 8.0}, moment))
        if minute % 10 == 0:
            told.append(_draft("drug", {"drug": "ketamine", "amount_mg": 100.0}, moment))
    cases.store("real").append_all(told)


def _times_ms(action: Callable[[], object]) -> list[float]:
    times = []
    for _ in range(WRITES):
        begin_s = time.perf_counter()
        action()
        times.append((time.perf_counter() - begin_s) * _MS_PER_S)
    return sorted(times)


def _result(item: str, target_ms: float, times_ms: list[float]) -> Result:
    print(f"{item}: median {times_ms[len(times_ms) // 2]:.1f} ms, longest {times_ms[-1]:.1f} ms")
    measured = times_ms[int(_PERCENT_99 * len(times_ms))]
    return Result(item=f"{item}, 99 of 100", target=target_ms, measured=measured, unit="ms")


def main() -> None:
    """Measure and print."""
    os.environ.pop("LUNGELINE_DATABASE", None)
    with tempfile.TemporaryDirectory() as folder:
        place = [str(Path(folder) / "data"), str(Path(folder) / "key")]
        cases = Cases(Path(place[0]), key_file=Path(place[1]))
        _fill(cases)
        store, now = cases.store("real"), datetime.now(UTC)
        desk = Desk(cases=cases, author="A. Vet", device="tablet")
        open_s = least_s(lambda: Cases(Path(place[0]), key_file=Path(place[1])).read("long"))
        results = [
            Result(
                item="a case of 6 h opened", target=OPEN_TARGET_MS, measured=open_s * _MS_PER_S, unit="ms"
            ),
            _result(
                "a write on disk",
                WRITE_TARGET_MS,
                _times_ms(lambda: store.append(_draft("reading", ROW, now))),
            ),
            _result(
                "an entry into that case",
                ENTER_TARGET_MS,
                _times_ms(lambda: desk.enter("long", "reading", ROW)),
            ),
        ]
        command = [sys.executable, str(HOLDER), *place]
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as holder:  # noqa: S603  our own
            if holder.stdout:
                holder.stdout.readline()  # it holds now
            results.append(
                _result(
                    "an entry posted to a server",
                    ENTER_TARGET_MS,
                    _times_ms(lambda: desk.enter("long", "reading", ROW)),
                )
            )
            holder.terminate()
        print()
        print_results(results)


if __name__ == "__main__":
    main()
