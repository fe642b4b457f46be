"""Worked values from outside, put into curves and read back by the breath finder.

Where a worked value is a number of a formula, the curves are drawn so that they have it.
"""

import math
from typing import Any

import numpy as np
import pytest

from lungeline.case import Block
from lungeline.compare import Breaths, WaveBreath
from lungeline.compare.capnogram import volume_capnogram
from lungeline.compare.motion import fit_motion
from lungeline.physics.rc_lung import constant_flow_pressure_cmh2o

RATE_HZ = 100.0


def breaths_of(pressure: Any, flow: Any) -> list[WaveBreath]:  # noqa: ANN401  arrays
    """Breaths in two curves."""
    blocks = [
        Block(
            epoch="drawn", channel=channel, unit=unit, rate_hz=RATE_HZ, start_index=0, values=values.tolist()
        )
        for channel, unit, values in (("pressure_cmh2o", "cmh2o", pressure), ("flow_l_s", "l_s", flow))
    ]
    breaths = Breaths(least_volume_l=0.02)
    return [*breaths.take(blocks), *breaths.finish()]


def square_breaths(  # noqa: PLR0913  what a breath of constant flow is made of
    *, volume_l: float, inspiratory_s: float, cycle_s: float, compliance: float, resistance: float,
    pause_s: float = 0.0, peep: float = 0.0, trapped_l: float = 0.0, count: int = 12,
) -> tuple[Any, Any]:  # fmt: skip
    """Pressure and flow: constant flow in, a pause, passive emptying (one R, one C, closed form)."""
    time_s = (np.arange(round(cycle_s * RATE_HZ)) + 1.0) / RATE_HZ
    tau_s, inflow = resistance * compliance, volume_l / inspiratory_s
    into, held = time_s <= inspiratory_s + 1e-9, time_s <= inspiratory_s + pause_s + 1e-9
    left_s = time_s - inspiratory_s - pause_s
    start_l = trapped_l + volume_l
    out = -(start_l / tau_s) * np.exp(-left_s / tau_s)
    flow = np.where(into, inflow, np.where(held, 0.0, out))
    rising = [
        constant_flow_pressure_cmh2o(inflow, at, resistance, compliance, 0.0, peep + trapped_l / compliance)
        for at in np.minimum(time_s, inspiratory_s).tolist()
    ]
    pressure = np.where(into, rising, np.where(held, peep + start_l / compliance, peep))
    before = np.full(round(1.5 * RATE_HZ), peep), np.zeros(round(1.5 * RATE_HZ))
    return np.concatenate([before[0], *[pressure] * count]), np.concatenate([before[1], *[flow] * count])


def test_c7_equation_of_motion_by_least_squares() -> None:
    # C7: E 2 cmH2O/L, R 1.2 cmH2O·s/L, P0 3 cmH2O, so C 0.5 L/cmH2O, explained wholly (own algebra)
    volume, flow = np.array([0.0, 1.0, 2.0, 3.0, 4.0]), np.array([1.0, 2.0, 2.0, 1.5, 0.5])
    motion = fit_motion(np.array([4.2, 7.4, 9.4, 10.8, 11.6]), flow, volume, bent=False)
    assert motion is not None
    assert motion.elastance_cmh2o_l == pytest.approx(2.0, abs=1e-9)
    assert motion.laminar_cmh2o_s_l == pytest.approx(1.2, abs=1e-9)
    assert motion.baseline_pressure_cmh2o == pytest.approx(3.0, abs=1e-9)
    assert motion.compliance_l_cmh2o(4.0) == pytest.approx(0.5, abs=1e-9)
    assert motion.fit_fraction == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize(
    ("volume_l", "inspiratory_s", "cycle_s", "rate_per_min", "expiratory_s"),
    [
        (1.0, 1.0, 5.0, 12.0, 4.0),  # C1: rate 12, 1 s in: cycle 5 s, 4 s out (public worked example)
        (1.0, 2.0, 6.0, 10.0, 4.0),  # C3, C4: 2 s at 0.5 L/s is 1.0 L; 2 s in, 4 s out (rtcorner.net)
        (6.0, 2.5, 10.0, 6.0, 7.5),  # C5: a horse at 6 a minute, 2.5 s in: 7.5 s out (arithmetic)
    ],
)
def test_c1_c3_c4_c5_timing_and_volume(
    volume_l: float, inspiratory_s: float, cycle_s: float, rate_per_min: float, expiratory_s: float
) -> None:
    curves = square_breaths(
        volume_l=volume_l,
        inspiratory_s=inspiratory_s,
        cycle_s=cycle_s,
        compliance=0.1 * volume_l,
        resistance=1.0,
    )
    breath = breaths_of(*curves)[-1]
    assert breath.respiratory_rate_per_min == pytest.approx(rate_per_min, rel=1e-3)
    # edges are told to within the smoothing of 0.05 s
    assert breath.inspiratory_time_s == pytest.approx(inspiratory_s, abs=0.05)
    assert breath.expiratory_time_s == pytest.approx(expiratory_s, abs=0.05)
    assert breath.tidal_volume_inspired_l == pytest.approx(volume_l, rel=0.01)


@pytest.mark.parametrize(
    ("volume_l", "peak", "plateau", "peep", "static_ml"),
    [(0.760, 38.0, 33.0, 7.0, 29.23), (0.500, 30.0, 25.0, 10.0, 33.33)],
)
def test_c6_static_compliance(
    volume_l: float, peak: float, plateau: float, peep: float, static_ml: float
) -> None:
    # C6: VT/(Pplat - PEEP), openanesthesia's formula with the inputs of a public question sheet, ±0.01
    resistance = (peak - plateau) / (volume_l / 1.0)
    curves = square_breaths(
        volume_l=volume_l, inspiratory_s=1.0, pause_s=1.0, cycle_s=6.0, peep=peep,
        compliance=volume_l / (plateau - peep), resistance=resistance,
    )  # fmt: skip
    breath = breaths_of(*curves)[-1]
    assert breath.peak_pressure_cmh2o == pytest.approx(peak, abs=0.5)
    assert breath.plateau_pressure_cmh2o == pytest.approx(plateau, abs=0.1)
    assert breath.end_expiratory_pressure_cmh2o == pytest.approx(peep, abs=0.1)
    assert breath.compliance_l_cmh2o is not None
    assert 1000.0 * breath.compliance_l_cmh2o == pytest.approx(static_ml, rel=0.02)


@pytest.mark.parametrize(
    ("resistance", "expiratory_s", "trapped_l"),
    # C8: VT 5 L, C 0.5: VT/(e^(Te/RC)-1) is 2.2611 L (R 6, Te 3.5) and 6.37 mL (R 1.5, Te 5), own algebra
    [(6.0, 3.5, 2.2611), (1.5, 5.0, 0.00637)],
)
def test_c8_trapped_volume(resistance: float, expiratory_s: float, trapped_l: float) -> None:
    curves = square_breaths(
        volume_l=5.0, inspiratory_s=2.0, cycle_s=2.0 + expiratory_s, compliance=0.5, resistance=resistance,
        trapped_l=5.0 / math.expm1(expiratory_s / (resistance * 0.5)),
    )  # fmt: skip
    breath = breaths_of(*curves)[-1]
    assert breath.trapped_volume_l == pytest.approx(trapped_l, rel=0.03, abs=0.002)
    assert breath.compliance_l_cmh2o == pytest.approx(0.5, rel=0.02)
    assert breath.resistance_cmh2o_s_l == pytest.approx(resistance, rel=0.02)


@pytest.mark.parametrize(
    ("alveolar", "mixed", "fraction", "dead_ml"),
    [
        (40.0, 27.0, 0.325, 162.5),  # D11: PaCO2 40, PE 27, VT 500 mL (paperzz worked sheet)
        (6.45, 4.35, 0.3256, 162.8),  # D12: the same in percent, printed .325; its dead space by arithmetic
    ],
)
def test_d11_d12_bohr(alveolar: float, mixed: float, fraction: float, dead_ml: float) -> None:
    # a step from no carbon dioxide to alveolar gas: airway and physiological dead space are one
    volume = np.linspace(0.0005, 0.5, 1000)
    scale = 40.0 / alveolar  # percent, as pressures
    co2 = np.where(volume > 0.5 * (1.0 - mixed / alveolar), alveolar * scale, 0.0)
    found = volume_capnogram(volume, co2)
    assert found is not None
    assert found.dead_space_fraction == pytest.approx(fraction, abs=1e-3)
    assert 1000.0 * found.airway_dead_space_l == pytest.approx(dead_ml, abs=0.5)
    assert found.mixed_expired_co2_mmhg == pytest.approx(mixed * scale, abs=0.05)


def test_airway_dead_space_on_a_sloping_plateau() -> None:
    # closed form: a ramp from 1.0 to 2.0 L up to a line is a step at its area's place; by hand: the line is
    # 30 + 2 V mmHg, the ramp reaches it at 2.0 L (34 mmHg), its area 17 L·mmHg; the step s holds as much from
    # s to 2.0 L: 30 (2 - s) + (4 - s²) = 17, so s = -15 + sqrt(225 + 47) = 1.4924 L
    volume = np.linspace(0.005, 5.0, 1000)
    line = 30.0 + 2.0 * volume
    co2 = np.where(volume < 1.0, 0.0, np.where(volume < 2.0, 34.0 * (volume - 1.0), line))
    found = volume_capnogram(volume, co2)
    assert found is not None
    assert found.airway_dead_space_l == pytest.approx(1.4924, abs=0.003)
    # alveolar: of the line, half way from there to 5 L; mixed: (17 + 30 × 3 + 21) / 5 = 25.6 mmHg
    assert found.alveolar_co2_mmhg == pytest.approx(30.0 + 5.0 + 1.4924, abs=0.02)
    assert found.mixed_expired_co2_mmhg == pytest.approx(25.6, abs=0.05)
