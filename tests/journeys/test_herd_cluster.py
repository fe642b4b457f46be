"""A herd on a cluster of two workers shows what it shows on this machine's own cores."""

import subprocess
import sys
import time

import distributed
import numpy as np
import pytest

from lungeline.case import Animal, Case
from lungeline.simulate.herd import simulate_herd

pytestmark = pytest.mark.slow  # runs the compiled kernel
CASE = Case(animal=Animal(species="horse", weight_kg=500))
ANIMALS, MINUTES = 6, 5.0


def test_a_local_cluster_of_two_workers_gives_the_same_herd() -> None:
    here = simulate_herd(CASE, ANIMALS, 7, MINUTES)
    with (
        distributed.LocalCluster(  # type: ignore[no-untyped-call]  # it has no types
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
        ) as cluster,
        distributed.Client(cluster) as client,  # type: ignore[no-untyped-call]  # as above
    ):
        assert len(client.scheduler_info()["workers"]) == 2
        there = simulate_herd(CASE, ANIMALS, 7, MINUTES, executor=client.get_executor())
    assert there.n == here.n == ANIMALS
    for key, values in here.values.items():
        np.testing.assert_array_equal(there.values[key], values, err_msg=key)


SLOW_HERD = """
from lungeline.case import Animal, Case
from lungeline.simulate.herd import simulate_herd
case = Case(animal=Animal(species="horse", weight_kg=500))
simulate_herd(case, 2, 1, 1.0)
print("begun", flush=True)
simulate_herd(case, 200, 1, 1440.0)
"""


def test_an_interrupt_stops_a_herd_within_a_second() -> None:
    process = subprocess.Popen(
        [sys.executable, "-c", SLOW_HERD], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    assert process.stdout is not None
    assert process.stdout.readline().strip() == b"begun"
    time.sleep(1.0)
    asked_s = time.monotonic()
    process.send_signal(2)
    process.communicate(timeout=30)
    # an animal takes a day here: it is stopped, not waited for. A second, and as much for a loaded machine
    assert time.monotonic() - asked_s < 2.0
    assert process.returncode != 0
