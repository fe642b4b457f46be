"""Leaves the Watch page of a long case open, and looks whether it stays smooth: memory, long tasks, server.

make soak           ten minutes
make soak MINUTES=480
"""

import argparse
import shutil
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

from playwright.sync_api import CDPSession, Page, sync_playwright

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "web"))
from served import Client, Served, serving

HOURS = 8
_EVERY_MIN, _LOOK_S, _SETTLED_S = 2, 30.0, 20.0
_KB = 1024
_LONG_TASKS = """
() => { window.tasks = []; new PerformanceObserver((list) => list.getEntries().forEach(
  (it) => window.tasks.push(Math.round(it.duration)))).observe({ type: "longtask" }); }
"""


def main() -> None:
    """Leave it open, and tell what was seen."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=10.0)
    minutes = parser.parse_args().minutes
    folder = Path(tempfile.mkdtemp()) / "data"
    with serving(folder, "--demo") as served, sync_playwright() as playwright:
        case = _long_case(served.client())
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-gpu"]
        )
        page = browser.new_context(
            base_url=served.address, viewport={"width": 1180, "height": 820}
        ).new_page()
        _watch(page, served, case, minutes)
        browser.close()


def _long_case(client: Client) -> str:
    """Type eight hours of rows into a simulated case, so that it is as long as one ever is."""
    opening: dict[str, Any] = {"purpose": "demo", "name": "Long", "species": "horse", "weight_kg": 550.0}
    case = str(client.post("/api/cases", json={"body": opening}).json()["case"])
    began = datetime.now(UTC) - timedelta(hours=HOURS)

    def enter(at: datetime, kind: str, body: dict[str, Any]) -> None:
        told: dict[str, Any] = {
            "uid": str(uuid4()),
            "kind": kind,
            "body": body,
            "event_time": at.isoformat(timespec="seconds"),
        }
        client.post(f"/api/cases/{case}/entries", json=told).raise_for_status()

    for at_min, phase in ((-20, "prepare"), (-10, "induce"), (0, "maintain")):
        enter(began + timedelta(minutes=at_min), "phase", {"phase": phase})
    setting: dict[str, Any] = {"tidal_volume_l": 6.0, "respiratory_rate_per_min": 7.0}
    enter(began, "setting", setting)
    for at_min in range(0, HOURS * 60, _EVERY_MIN):
        row = {"etco2_mmhg": 40.0 + at_min % 7, "map_mmhg": 70.0 + at_min % 5, "heart_rate_per_min": 38.0}
        enter(began + timedelta(minutes=at_min), "reading", row)
    return case


def _watch(page: Page, served: Served, case: str, minutes: float) -> None:
    page.goto(f"/case/{case}/watch/")
    page.locator(".lane .now").first.wait_for()
    page.wait_for_timeout(_SETTLED_S * 1000)
    page.evaluate(_LONG_TASKS)
    devtools = page.context.new_cdp_session(page)
    began, seen = time.monotonic(), []
    while (elapsed_s := time.monotonic() - began) < minutes * 60.0:
        seen.append((elapsed_s, _heap_kb(devtools), _server_kb(served), _server_cpu_s(served)))
        _, page_kb, server_kb, _ = seen[-1]
        print(f"{elapsed_s / 60:6.1f} min  page {page_kb:8.0f} kB  server {server_kb:8.0f} kB", flush=True)
        page.wait_for_timeout(_LOOK_S * 1000)
    tasks = page.evaluate("() => window.tasks")
    (first_s, page_kb, server_kb, cpu_s), (last_s, page_end_kb, server_end_kb, cpu_end_s) = seen[0], seen[-1]
    span_s = max(last_s - first_s, 1.0)
    for name, first, last in (("page", page_kb, page_end_kb), ("server", server_kb, server_end_kb)):
        print(f"{name:7} {first:.0f} -> {last:.0f} kB ({(last - first) / span_s * 3600:+.0f} kB an hour)")
    print(f"server  {100 * (cpu_end_s - cpu_s) / span_s:.1f} % of a core")
    print(f"tasks of more than 50 ms: {len(tasks)}, the longest {max(tasks, default=0)} ms")


def _heap_kb(devtools: CDPSession) -> float:
    devtools.send("HeapProfiler.collectGarbage")
    return float(devtools.send("Runtime.getHeapUsage")["usedSize"]) / _KB


def _server_kb(served: Served) -> float:
    status = Path(f"/proc/{served.process.pid}/status").read_text(encoding="utf-8")
    return float(status.partition("VmRSS:")[2].split()[0])


def _server_cpu_s(served: Served) -> float:
    fields = Path(f"/proc/{served.process.pid}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / 100.0


if __name__ == "__main__":
    main()
