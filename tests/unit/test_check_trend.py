"""Is a machine getting worse: the rank test, and the log it is made over."""

import itertools

import pytest
from scipy.stats import kendalltau, theilslopes

from lungeline.check import (
    Circuit,
    HeldFlow,
    PastLeakTest,
    RiseAndFall,
    against_before,
    compensating_flow,
    past_from_json,
    rise_and_fall,
    trend,
    trend_of,
    worse,
)
from lungeline.check.register import past_of
from lungeline.check.trend import as_before
from lungeline.errors import InputError, OutOfRangeError


def test_two_points_are_no_trend() -> None:
    assert trend([0, 7], [150, 900]).course == "too few checks"
    assert trend([], []).course == "too few checks"
    assert trend([0, 1, 2, 3], [1, 2, 3, 4]).course == "too few checks"


@pytest.mark.parametrize(
    "values",
    [
        [150, 180, 210, 260, 300],
        [300, 260, 210, 180, 150],
        [150, 300, 180, 170, 220, 260, 240],
        [5, 1, 4, 2, 3, 9, 7, 8, 6, 10],
    ],
)
def test_chance_and_slope_are_those_of_an_independent_program(values: list[float]) -> None:
    days = list(range(0, 7 * len(values), 7))
    found = trend(days, values)
    tau = kendalltau(days, values, method="exact", alternative="greater")
    other = kendalltau(days, values, method="exact", alternative="less")
    assert found.chance_fraction == pytest.approx(min(tau.pvalue, other.pvalue), abs=1e-12)
    assert found.slope_per_day == pytest.approx(theilslopes(values, days).slope, rel=1e-12)


def test_the_chance_is_that_of_all_orders_counted() -> None:
    # counted: of all 120 orders of five values, how many have a score of 6 or more
    orders = list(itertools.permutations(range(5)))
    scores = [
        sum((later > first) - (later < first) for first, later in itertools.combinations(order, 2))
        for order in orders
    ]
    counted = sum(score >= 6 for score in scores) / len(orders)
    assert trend(range(5), [0, 2, 1, 4, 3]).chance_fraction == pytest.approx(counted, rel=1e-12)


def test_many_checks_and_ties_go_by_the_bell() -> None:
    rising = trend(range(20), [100 + 5 * n for n in range(20)])
    assert rising.course == "getting worse"
    assert trend(range(20), [100.0] * 20).course == "no trend shown"
    assert trend(range(20), [100 + 5 * n for n in range(20)], worse_up=False).course == "getting better"
    tied = trend(range(8), [1, 1, 2, 2, 3, 3, 4, 4])
    assert tied.course == "getting worse"


def test_it_matters_not_in_which_order_checks_come() -> None:
    days, values = [0, 7, 14, 21, 28, 35], [150, 140, 190, 210, 205, 260]
    mixed = sorted(zip(days, values, strict=True), key=lambda pair: pair[1] % 7)
    assert trend([day for day, _ in mixed], [value for _, value in mixed]) == trend(days, values)
    with pytest.raises(OutOfRangeError):
        trend([0, 1], [1])


# --- the log --------------------------------------------------------------------------------------------


def past(day: int, leak: float, machine: str = "A", half: float = 40.0) -> PastLeakTest:
    return PastLeakTest(
        machine=machine, at=f"2026-05-{day:02d}T07:40", leak_ml_min=leak, leak_low_ml_min=leak - half,
        leak_high_ml_min=leak + half,
    )  # fmt: skip


def test_a_machine_that_gets_worse_is_told_before_it_fails() -> None:
    log = [past(day, 120 + 5 * day) for day in (1, 8, 15, 22, 29)]
    assert all(test.leak_ml_min < 300 for test in log)
    (finding,) = worse(log, "A")
    assert finding.code == "machine_getting_worse"
    assert finding.severity == "caution"
    assert trend_of(log, "A").slope_per_day == pytest.approx(5.0)
    assert worse(log, "B") == ()
    assert worse(log[:4], "A") == ()


# root of the sum of squares: intervals of ±40 differ by ±56.6 (arithmetic)
@pytest.mark.parametrize(
    ("leak", "code"),
    [
        (200.0, "leak_as_before"),
        (256.0, "leak_as_before"),
        (257.0, "leak_more_than_before"),
        (143.0, "leak_less_than_before"),
    ],
)
def test_as_last_friday_or_not(leak: float, code: str) -> None:
    (finding,) = against_before(past(29, leak), [past(15, 900.0), past(22, 200.0), past(22, 900.0, "B")])
    assert finding.code == code
    assert finding.figures["before_at"] == "2026-05-22 07:40"
    assert as_before((leak, leak, leak), (leak, leak, leak)) == "as before"


def test_the_first_test_of_a_machine_has_nothing_to_compare_with() -> None:
    (finding,) = against_before(past(1, 200.0), [past(1, 200.0), past(2, 100.0)])
    assert finding.code == "leak_first_of_machine"


def test_a_past_test_comes_back_from_json() -> None:
    test = past(1, 200.0)
    assert past_from_json(test.as_json()) == test
    with pytest.raises(InputError, match=r"lungeline\.past_leak_test/1"):
        past_from_json({"schema": "lungeline.past_leak_test/9"})


def test_a_leak_test_goes_into_the_log_with_what_it_measured() -> None:
    held = compensating_flow(HeldFlow(pressure_cmh2o=30, flow_l_min=0.2, circuit=Circuit(volume_l=50)))
    entry = past_of(held, "A", "2026-05-31T07:40")
    assert entry.leak_ml_min == pytest.approx(200.0)
    assert entry.compliance_ml_cmh2o is None  # it was told, not measured
    risen = rise_and_fall(RiseAndFall(
        flow_l_min=2, rise_from_cmh2o=25, rise_to_cmh2o=35, rise_s=30, fall_from_cmh2o=31, fall_to_cmh2o=29,
        fall_s=30,
    ))  # fmt: skip
    assert past_of(risen, "A", "2026-05-31T07:40").interval("compliance_ml_cmh2o") is not None
    with pytest.raises(InputError, match="a time such as"):
        past_of(held, "A", "last Friday")
