"""The evidence: how a comparison judges, how runs are shared, how the page tells it. No simulation here."""

import math
import pickle
import runpy
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from lungeline.case import Breath
from lungeline.errors import MissingError, UnitError
from lungeline.evidence import COMPARISONS, Comparison, Course, Direction, Result, SharedRuns, evidence_page
from lungeline.evidence.comparison import told
from lungeline.evidence.measures import QUANTITIES, dynamic_compliance_ml_cmh2o, pao2_fio2_mmhg, plain
from lungeline.evidence.page import count_text, ours_text, published_text
from lungeline.evidence.reasons import REASONS
from lungeline.evidence.set_ups import HORSE, ventilated
from lungeline.evidence.solved import Knob
from lungeline.reference import PublishedValue

ROOT = Path(__file__).resolve().parents[2]


def comparison(ours: float, published: PublishedValue | Direction, key: str = "a") -> Comparison:
    return Comparison(
        key=key,
        study="tucker2022",
        quantity="PaO2",
        set_up="a horse",
        published=published,
        run=lambda _runs: ours,
    )


def result(ours: float, published: PublishedValue | Direction, key: str = "a") -> Result:
    return comparison(ours, published, key).result(SharedRuns())


RISE = Direction(name="pao2_mmhg", as_printed="rises", low=0.0)
MEAN = PublishedValue(name="pao2_mmhg", published=100.0, unit="mmhg", as_printed="100", sd=20.0)


# --- judging ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ours", "inside"),
    [(80.0, True), (79.9, False), (120.0, True), (120.1, False), (math.nan, False)],  # 100 +/- 20, arithmetic
)
def test_a_number_agrees_within_the_printed_sd(ours: float, inside: bool) -> None:  # noqa: FBT001  pytest gives it by name
    assert result(ours, MEAN).inside is inside


def test_the_deviation_is_one_at_either_end_of_what_agrees() -> None:
    found = [result(ours, MEAN).deviation_ratio for ours in (80.0, 100.0, 120.0)]
    assert found == pytest.approx([-1.0, 0.0, 1.0])  # (ours - 100)/20, arithmetic


def test_a_direction_has_an_open_end_and_no_deviation() -> None:
    assert result(0.1, RISE).inside
    assert not result(-0.1, RISE).inside
    assert result(0.1, RISE).deviation_ratio is None


def test_words_taken_as_a_number_agree_within_the_spread_given_or_15_percent() -> None:
    assert told("pao2_ratio", "the same", 1.0).limits == pytest.approx((0.85, 1.15))  # project rule
    assert told("pao2_change_percent", "no gain", 0.0, 15.0).limits == (-15.0, 15.0)


def test_a_name_without_a_unit_is_refused() -> None:
    with pytest.raises(UnitError, match="unit"):
        told("whatever", "the same", 1.0)


def test_an_experiment_that_cannot_be_run_counts_as_outside_and_says_so() -> None:
    def fails(_runs: SharedRuns) -> float:
        raise MissingError(where="here", given="nothing", allowed="something", do="Give it.")

    failed = Comparison(
        key="a", study="tucker2022", quantity="PaO2", set_up="", published=MEAN, run=fails
    ).result(SharedRuns())
    assert not failed.inside
    assert ours_text(failed) == "could not be simulated"
    assert failed.as_json()["ours"] is None


# --- the list -----------------------------------------------------------------------------------------


def test_every_comparison_has_a_key_of_its_own_and_a_study_that_exists() -> None:
    keys = [item.key for item in COMPARISONS]
    assert len(keys) == len(set(keys)) >= 60
    assert all(item.source.title and item.quantity and item.set_up for item in COMPARISONS)


def test_a_printed_number_is_taken_from_the_study_unchanged() -> None:
    printed = [
        item
        for item in COMPARISONS
        if isinstance(item.published, PublishedValue) and item.published in item.source.values
    ]
    assert len(printed) >= 50


def test_reasons_belong_to_comparisons_that_exist() -> None:
    assert set(REASONS) <= {item.key for item in COMPARISONS}


def test_what_the_fit_sees_is_marked_as_its_target() -> None:
    targets = set(fit_tool()["TARGETS"])
    assert targets <= {item.key for item in COMPARISONS if item.target_of_fit}


# --- reading ------------------------------------------------------------------------------------------

BREATH = Breath(
    time_s=0.0,
    tidal_volume_expired_l=6.0,
    peak_pressure_cmh2o=25.0,
    end_expiratory_pressure_cmh2o=5.0,
    pao2_mmhg=190.0,
    fio2_fraction=0.95,
    paco2_mmhg=50.0,
    etco2_mmhg=41.0,
    arterial_ph=7.4,
    shunt_fraction=0.2,
)


def test_measures_are_those_the_papers_define() -> None:
    assert dynamic_compliance_ml_cmh2o(BREATH) == pytest.approx(300.0)  # 6000 / (25 - 5), arithmetic
    assert pao2_fio2_mmhg(BREATH) == pytest.approx(200.0)  # 190 / 0.95, arithmetic
    assert QUANTITIES["gap_fraction"].measure(BREATH) == pytest.approx(0.18)  # (50 - 41) / 50, arithmetic
    assert QUANTITIES["shunt_percent"].measure(BREATH) == pytest.approx(20.0)
    # 0.95 * 713 - 50 * (0.95 + 0.05 / 0.8) - 190, the full alveolar gas equation by hand
    assert QUANTITIES["alveolar_arterial_oxygen_mmhg"].measure(BREATH) == pytest.approx(436.725)


def test_what_a_breath_lacks_is_not_a_number() -> None:
    assert math.isnan(plain("map_mmhg")(BREATH))


class Fixed(SharedRuns):
    """Runs whose every course shows a CO2 in inverse proportion to the rate."""

    def shown(self, course: Course, *_when: object) -> Breath:
        """Return 240 mmHg over the rate."""
        return Breath(time_s=0.0, paco2_mmhg=240.0 / course.case.settings.respiratory_rate_per_min)


def test_a_knob_is_turned_until_the_measure_is_as_wanted() -> None:
    knob = Knob(
        course_at=lambda rate: Course(case=ventilated(respiratory_rate_per_min=rate)),
        measure=plain("paco2_mmhg"),
        first=6.0,
        rises=False,
    )
    assert knob.solved(Fixed(), 60.0) == pytest.approx(4.0)  # 240 / 60, arithmetic


def test_shared_runs_travel_without_their_runs() -> None:
    there = pickle.loads(pickle.dumps(SharedRuns(0.05)))  # noqa: S301 - our own bytes, written just now
    assert isinstance(there, SharedRuns)
    assert there.step_s == pytest.approx(0.05)


def test_equal_courses_are_one() -> None:
    assert len({Course(case=ventilated(HORSE)), Course(case=ventilated(HORSE))}) == 1


# --- telling ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("published", "text"),
    [
        (MEAN, "100 ± 20 mmHg"),
        (PublishedValue(name="a_l", published=1.7, unit="l", as_printed="", sem=0.24), "1.7 ± 0.24 (SEM) L"),
        (PublishedValue(name="a_l", published=2.0, unit="l", as_printed="", low=1, high=4), "2 (1 to 4) L"),
        (RISE, "rises"),
        (told("pao2_ratio", "the same", 1.0), "the same"),
    ],
)
def test_a_published_number_reads_with_its_spread(published: PublishedValue | Direction, text: str) -> None:
    assert published_text(comparison(0.0, published)) == text


def test_the_page_tells_hits_and_misses_alike() -> None:
    results = [Result(comparison=item, ours=math.nan, inside=False) for item in COMPARISONS]
    page = evidence_page(results)
    assert page.count("**disagrees**") == len(COMPARISONS)
    assert page.startswith("# Evidence")
    assert f"0 of {len(COMPARISONS)} comparisons agree" in page
    assert "## Limits" in page


def test_the_count_keeps_targets_and_independent_ones_apart() -> None:
    assert count_text([result(100.0, MEAN), result(0.0, MEAN)]).startswith("1 of 2 comparisons agree: 0 of 0")


# --- the fit ------------------------------------------------------------------------------------------


def fit_tool() -> dict[str, Any]:
    return runpy.run_path(str(ROOT / "tools" / "fit.py"))


def test_the_search_finds_the_bottom_of_a_bowl_and_repeats_itself() -> None:
    strategy, found = fit_tool()["EvolutionStrategy"], []
    for _ in range(2):
        search = strategy([0.8, 0.2, 0.5], 0.2, seed=1)
        for _ in range(120):
            places = search.ask()
            search.tell(places, [float(((place - 0.3) ** 2).sum()) for place in places])
        found.append(search.mean)
    assert found[0] == pytest.approx(0.3, abs=1e-3)  # the bowl's bottom
    assert np.array_equal(found[0], found[1])


def test_bounds_lead_there_and_back() -> None:
    tool = fit_tool()
    for name, value in tool["started"](None).items():
        bound = tool["BOUNDS"][name]
        assert bound.from_unit(bound.to_unit(value)) == pytest.approx(value), name


def test_a_proposal_reaches_the_simulated_animal_and_goes_again() -> None:
    from lungeline.simulate.setup import animal_values

    tool, case = fit_tool(), ventilated()
    before = animal_values(case, case.settings)["shunt_open_fraction"]
    with tool["proposed"]({"shunt_open_fraction": 0.05}):
        assert animal_values(case, case.settings)["shunt_open_fraction"] == pytest.approx(0.05)
    assert animal_values(case, case.settings)["shunt_open_fraction"] == before
