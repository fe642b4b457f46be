"""A rehearsal at life's pace for one learner, one trainer and eight who look on: the real server and sockets.

python benchmarks/bench_rehearse_live.py [minutes, at most 29; by itself 2]
"""

import json
import statistics
import sys
import tempfile
import threading
import time
from pathlib import Path

import requests
from measuring import Result, print_results
from serving import Server, serving
from websockets import Origin
from websockets.sync.client import connect

SCENARIO = "torsion_hypoxaemia"  # thirty minutes, the longest
MINUTES = 2.0
LOOKERS = 8
SERVER_TARGET_FRACTION, OFF_TARGET_S, BEHIND_TARGET_S = 0.25, 0.1, 0.1
_SETTLES_S, _EDGE_SHARE = 3.0, 0.2


def main() -> None:
    """Measure, print, and say by the exit status whether the animal keeps pace."""
    minutes = float(sys.argv[1]) if len(sys.argv) > 1 else MINUTES
    with tempfile.TemporaryDirectory() as folder, serving(Path(folder), "--demo") as server:
        used_fraction, heard = _followed(server, 60.0 * minutes)
    learner = heard[0]
    off = [wall_s - animal_s for wall_s, animal_s in learner]
    edge = max(int(_EDGE_SHARE * len(off)), 1)
    grown_s = statistics.median(off[-edge:]) - statistics.median(off[:edge])
    middle_s = statistics.median(off)
    results = [
        Result(item="server, of one core", target=SERVER_TARGET_FRACTION, measured=used_fraction, unit=""),
        Result(item="animal's time off the wall's, middle message, later minus earlier", target=OFF_TARGET_S,
               measured=abs(grown_s), unit="s"),
        Result(item="animal's time off the wall's, 99 of 100 messages", target=OFF_TARGET_S,
               measured=_quantile([abs(it - middle_s) for it in off], 0.99), unit="s"),
        Result(item="last who hears a message behind the learner, 99 of 100", target=BEHIND_TARGET_S,
               measured=_quantile(_behind(heard), 0.99), unit="s"),
    ]  # fmt: skip
    print_results(results)
    print(f"{minutes:g} min, {len(heard)} devices, {len(learner)} messages each")
    sys.exit(any(not result.met for result in results))


def _quantile(values: list[float], share: float) -> float:
    return sorted(values)[min(int(share * len(values)), len(values) - 1)]


def _behind(heard: list[list[tuple[float, float]]]) -> list[float]:
    """Return how much later than the learner the slowest device heard of each moment of the animal."""
    times = [{animal_s: wall_s for wall_s, animal_s in each} for each in heard]
    return [
        max(each[animal_s] for each in times) - wall_s
        for animal_s, wall_s in times[0].items()
        if all(animal_s in each for each in times)
    ]


def _followed(server: Server, wall_s: float) -> tuple[float, list[list[tuple[float, float]]]]:
    """Return what the server took, of one core, and of each device when it heard of which moment."""
    client = requests.Session()
    client.get(f"{server.address}/cases/", timeout=30)
    client.headers.update({"X-CSRFToken": client.cookies["lungeline_csrf"], "Origin": server.address})
    asked = {"scenario": SCENARIO, "led": True}
    told = client.post(f"{server.address}/api/rehearse/begin", json=asked, timeout=60)
    place = f"{server.address.replace('http', 'ws', 1)}/ws/rehearse/{told.json()['id']}"
    cookies = "; ".join(f"{name}={value}" for name, value in client.cookies.items())
    heard: list[list[tuple[float, float]]] = [[] for _ in range(LOOKERS + 2)]
    ends_s = time.monotonic() + _SETTLES_S + wall_s

    def listen(number: int) -> None:
        role = "trainer" if number == 1 else "learner"
        origin, headers = Origin(server.address), {"Cookie": cookies}
        with connect(f"{place}/{role}", origin=origin, additional_headers=headers) as socket:
            while (now := time.monotonic()) < ends_s:
                message = json.loads(socket.recv(timeout=30))
                now = time.monotonic()
                if message["type"] == "hello" or "rehearsal" not in message or now < ends_s - wall_s:
                    continue
                heard[number].append((now, message["rehearsal"]["now_s"]))

    devices = [threading.Thread(target=listen, args=(number,)) for number in range(LOOKERS + 2)]
    for device in devices:
        device.start()
    time.sleep(_SETTLES_S)
    begin_s, used_s = time.monotonic(), server.processor_s()
    time.sleep(wall_s)
    used_fraction = (server.processor_s() - used_s) / (time.monotonic() - begin_s)
    for device in devices:
        device.join()
    return used_fraction, heard


if __name__ == "__main__":
    main()
