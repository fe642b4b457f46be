"""What a gas analyser sees at a port that is off the circle."""

import numpy as np

from lungeline.case import Animal, Case
from lungeline.simulate.live import LiveCase


def test_a_sampler_at_an_open_port_soon_sees_the_room() -> None:
    live = LiveCase(Case(animal=Animal(species="horse", weight_kg=500)), trace_rate_hz=50.0)
    live.advance(60.0)
    live.fault("disconnection", 1.0)
    live.advance(20.0)
    shown = np.concatenate([np.atleast_2d(part) for part in live.traces])[-100:]
    carbon_dioxide, oxygen = shown[:, 3], shown[:, 4]
    assert carbon_dioxide.max() < 0.5
    assert abs(oxygen - 0.2093).max() < 0.01  # dry air: 0.2093 of oxygen (common knowledge)
