"""How long a long case takes to open and to print: six hours, a row every minute."""

import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from lungeline.theatre import Cases, Desk
from lungeline.theatre.printing import print_handover, print_record

_HOURS, _TRIES = 6, 5


def main() -> None:
    """Measure, and print."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        began = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)
        desk = Desk(
            cases=Cases(place / "data", key_file=place / "key"), author="A", device="t", clock=lambda: began
        )
        opening = {"purpose": "real", "name": "Long", "species": "horse", "weight_kg": 540.0}
        case = desk.open_case(opening).case
        desk.enter(case, "phase", {"phase": "maintain"}, event_time=began)
        for minute in range(_HOURS * 60):
            body = {
                "map_mmhg": 60.0 + minute % 20, "heart_rate_per_min": 38.0, "etco2_mmhg": 40.0 + minute % 7,
                "peak_pressure_cmh2o": 20.0, "tidal_volume_expired_l": 6.1, "fio2_fraction": 0.95,
                "end_tidal_agent_fraction": 0.013, "spo2_fraction": 0.97, "respiratory_rate_per_min": 7.0,
                "systolic_pressure_mmhg": 90.0, "diastolic_pressure_mmhg": 50.0, "spare_volume_l": 4.0,
                "plateau_pressure_cmh2o": 18.0, "end_expiratory_pressure_cmh2o": 5.0, "temperature_c": 36.5,
                "inspired_agent_fraction": 0.017, "fico2_mmhg": 1.0, "tidal_volume_inspired_l": 6.3,
                "compliance_l_cmh2o": 0.4, "estimated": minute % 9 == 0, "artefact": minute % 50 == 0,
            }  # fmt: skip
            desk.enter(case, "reading", body, event_time=began + timedelta(minutes=minute))
            if minute % 10 == 0:
                given = {"drug": "ketamine", "amount_mg": 100.0, "route": "IV"}
                desk.enter(case, "drug", given, event_time=began + timedelta(minutes=minute))
        opened = min(
            _timed(lambda: Cases(place / "data", key_file=place / "key").read(case)) for _ in range(_TRIES)
        )
        desk = Desk(cases=desk.cases, author="A", device="t", clock=lambda: began + timedelta(hours=7))
        printed = min(_timed(lambda: print_record(desk, case)) for _ in range(_TRIES))
        card = min(_timed(lambda: print_handover(desk, case)) for _ in range(_TRIES))
    print(f"a case of {_HOURS} h with a row every minute: opens in {opened * 1000:.0f} ms (200 allowed)")
    print(f"and prints in {printed:.2f} s (2 allowed), its card in {card:.2f} s")


def _timed(what: Callable[[], object]) -> float:
    begin = time.perf_counter()
    what()
    return time.perf_counter() - begin


if __name__ == "__main__":
    main()
