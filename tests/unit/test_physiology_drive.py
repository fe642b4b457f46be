"""The wish to breathe, and apnoea."""

import pytest

from lungeline.physiology.drive import (
    apnoea_paco2_mmhg,
    apnoea_rise_two_stores_mmhg,
    apnoeic_threshold_mmhg,
    arousal_drive_ratio,
    breathing_drive_ratio,
    own_rate_per_min,
    resting_paco2_mmhg,
)

AWAKE_MMHG, PER_MAC_MMHG, GAP_MMHG = 45.0, 16.0, 5.0  # horse, from memory
RATE, FALL = 7.0, 6.0  # horse, from memory


@pytest.mark.parametrize(("multiple", "paco2_mmhg"), [(0.0, 45.0), (1.0, 61.0), (1.5, 69.0)])
def test_resting_carbon_dioxide_by_depth(multiple: float, paco2_mmhg: float) -> None:
    # placeholder law of this project (memory): 45 + 16 × MAC
    assert resting_paco2_mmhg(multiple, AWAKE_MMHG, PER_MAC_MMHG) == pytest.approx(paco2_mmhg, abs=1e-9)


def test_resting_carbon_dioxide_against_studies() -> None:
    # Vet Anaesth Analg 2012;39:480 (abstract): 64 ± 9 on isoflurane, depth about 1.2 assumed; Steffey et al.
    # 2005 (abstract): 69 over 1.0, 1.5, 1.75 MAC of desflurane; Hughes & Bardell 2019 (abstract): awake 36.3
    # to 54.0
    assert resting_paco2_mmhg(1.2, AWAKE_MMHG, PER_MAC_MMHG) == pytest.approx(64.0, abs=9.0)
    over = [resting_paco2_mmhg(m, AWAKE_MMHG, PER_MAC_MMHG) for m in (1.0, 1.5, 1.75)]
    assert sum(over) / 3.0 == pytest.approx(69.0, abs=2.0)
    assert 36.3 <= resting_paco2_mmhg(0.0, AWAKE_MMHG, PER_MAC_MMHG) <= 54.0


def test_ventilated_horses_breathe_for_themselves_at_60_not_at_50() -> None:
    # J Vet Anaesth Surg 28 (abstract): breaths came back in the group held at 60, isoflurane; depth of 1.0
    # assumed
    threshold = apnoeic_threshold_mmhg(resting_paco2_mmhg(1.0, AWAKE_MMHG, PER_MAC_MMHG), GAP_MMHG)
    rates = {
        held: own_rate_per_min(1.0, breathing_drive_ratio(held, threshold, GAP_MMHG), RATE, FALL)
        for held in (40.0, 50.0, 60.0)
    }
    assert rates[40.0] == rates[50.0] == 0.0
    assert rates[60.0] > 0.0


def test_rate_falls_with_depth_within_what_was_seen() -> None:
    # 4 to 8 breaths/min on isoflurane (derived; 4 in pregnant mares, abstract), 3 to 4 at 1.5 MAC (memory)
    assert 4.0 <= own_rate_per_min(1.2, 1.0, RATE, FALL) <= 8.0
    assert 3.0 <= own_rate_per_min(1.5, 1.0, RATE, FALL) <= 4.0


def test_light_anaesthesia_adds_drive_and_deep_takes_none_away() -> None:
    # rule of this project (assumption): from 0.8 MAC down
    assert arousal_drive_ratio(0.8, 8.0) == 0.0
    assert arousal_drive_ratio(1.5, 8.0) == 0.0
    assert arousal_drive_ratio(0.3, 8.0) == pytest.approx(4.0, abs=1e-12)


def test_apnoea_rises_as_published() -> None:
    # Blaze & Robinson 1987 (abstract): 5.5 mmHg/min for 10 min; stores and output of this project's horse
    # were tuned on it
    assert apnoea_paco2_mmhg(40.0, 10.0, 5.5) == pytest.approx(95.0, abs=1e-12)
    rise = apnoea_rise_two_stores_mmhg(10.0, 2.0, 0.32, 1.05, 0.0108)
    assert rise == pytest.approx(55.0, rel=0.10)


def test_two_stores_against_small_steps() -> None:
    # the same two equations by Euler's method with 1 ms steps of a minute
    output, fast, slow, conductance, step = 2.4, 0.35, 1.1, 0.02, 1e-3
    quick = late = 0.0
    for _ in range(5000):
        passed = conductance * (quick - late)
        quick, late = quick + step * (output - passed) / fast, late + step * passed / slow
    assert apnoea_rise_two_stores_mmhg(5.0, output, fast, slow, conductance) == pytest.approx(quick, rel=1e-4)
