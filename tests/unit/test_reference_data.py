"""The shipped data as a whole: every figure has a unit, a source, a range, and says how it was seen."""

import json
import re
import subprocess
import sys
import tomllib
from itertools import pairwise
from pathlib import Path

import pytest

from lungeline import reference
from lungeline.figure import Figure
from lungeline.units import UNITS, unit_of

SPECIES = ("horse", "pony", "donkey", "foal", "cattle", "calf")
AGENTS = ("isoflurane", "sevoflurane", "desflurane", "halothane")
FIGURES = reference.figures()
SOURCES = reference.sources()
PUBLISHED_CASES = Path(__file__).resolve().parents[1] / "published" / "vignettes.toml"
CHECKLISTS = [*Path(str(reference.__file__)).parents[1].glob("check/checklists/*.toml")]

DEFAULT_NAMES = (
    "tidal_volume_ml_kg",
    "respiratory_rate_per_min",
    "inspiratory_time_s",
    "pause_s",
    "peep_cmh2o",
    "inspiratory_pressure_cmh2o",
    "pressure_limit_cmh2o",
    "pressure_limit_margin_cmh2o",
    "trigger_flow_l_min",
    "apnoea_backup_s",
    "fresh_gas_flow_ml_kg_min",
    "fresh_gas_flow_induction_ml_kg_min",
    "fresh_gas_flow_least_l_min",
    "fresh_gas_oxygen_fraction",
    "vaporiser_percent",
    "vaporiser_isoflurane_percent",
    "vaporiser_sevoflurane_percent",
    "vaporiser_desflurane_percent",
    "vaporiser_halothane_percent",
    "vaporiser_priming_isoflurane_percent",
    "spare_volume_multiple",
    "spare_volume_induction_multiple",
)


def test_every_figure_names_a_listed_source_and_a_unit() -> None:
    assert FIGURES
    for name, figure in FIGURES.items():
        assert figure.name == name
        assert figure.source in SOURCES, name
        assert figure.unit in UNITS, name
        carried = unit_of(name.rpartition(".")[2])
        assert carried is None or carried.suffix == figure.unit, name


def test_every_source_says_something() -> None:
    for key, source in SOURCES.items():
        assert source.key == key
        assert len(source.citation) > len("from memory"), key


def cited_by_checklists() -> set[str]:
    steps = (line for file in CHECKLISTS for line in file.read_text(encoding="utf-8").splitlines())
    return {
        it for line in steps if line.startswith("source = ") for it in re.findall(r"[a-z][a-z-]*\d{4}", line)
    }


def cited_by_published_cases() -> set[str]:
    tables = tomllib.loads(PUBLISHED_CASES.read_text(encoding="utf-8"))["vignettes"]
    return {table["source"] for table in tables.values()}


def test_what_published_cases_cite_is_a_source() -> None:
    assert cited_by_published_cases() <= SOURCES.keys()


def test_what_checklists_cite_is_a_source() -> None:
    assert len(CHECKLISTS) >= 2
    assert cited_by_checklists() <= SOURCES.keys()


def test_no_source_is_left_unused() -> None:
    cited = {figure.source for figure in FIGURES.values()}
    cited |= {study.citation for study in reference.studies().values()}
    cited |= cited_by_published_cases()
    cited |= cited_by_checklists()
    assert SOURCES.keys() - cited <= {"project-fit"}  # project-fit waits for fitted parameters


def test_a_figure_from_memory_is_flagged_in_both_places() -> None:
    """Whatever cites nothing but memory must show as such."""
    for name, figure in FIGURES.items():
        if figure.source == "memory" or figure.basis == "memory":
            assert figure.seen == "memory", name
        assert figure.rests_on_memory == ("memory" in (figure.basis, figure.seen)), name


@pytest.mark.parametrize(
    ("source", "basis", "seen"),
    [
        ("common-practice", "consensus", "not applicable"),
        ("project-assumption", "assumption", "not applicable"),
        ("project-arithmetic", "derived", "computed"),
    ],
)
def test_what_is_no_publication_never_passes_for_measured(source: str, basis: str, seen: str) -> None:
    found = [figure for figure in FIGURES.values() if figure.source == source]
    assert found
    for figure in found:
        assert figure.basis in {basis, "derived"}, figure.name
        assert figure.seen in {seen, "memory"}, figure.name


def test_common_practice_is_shown_as_having_no_source() -> None:
    assert SOURCES["common-practice"].citation == "common practice, no source"


def test_what_was_seen_second_hand_or_in_an_abstract_has_a_place_to_look() -> None:
    """Nothing that claims to have been seen may cite an entry that says nothing was opened."""
    for name, figure in FIGURES.items():
        if figure.seen in {"full text", "abstract"}:
            assert figure.source not in {"memory", "secondary-page", "project-assumption"}, name


@pytest.mark.parametrize("species", SPECIES)
@pytest.mark.parametrize("name", DEFAULT_NAMES)
def test_every_species_has_every_default(species: str, name: str) -> None:
    figure = reference.figure(f"defaults.{species}.{name}")
    assert figure.value >= 0.0


@pytest.mark.parametrize("species", SPECIES)
def test_a_default_breath_fits_its_cycle(species: str) -> None:
    """Expiration must last at least as long as inspiration and pause; arithmetic."""
    rate, inspiration, pause = (
        reference.figure(f"defaults.{species}.{name}").value
        for name in ("respiratory_rate_per_min", "inspiratory_time_s", "pause_s")
    )
    assert 60.0 / rate - inspiration - pause >= inspiration + pause


@pytest.mark.parametrize("species", SPECIES)
@pytest.mark.parametrize("agent", AGENTS)
def test_every_agent_has_mac_and_solubility_for_every_species(species: str, agent: str) -> None:
    mac = reference.figure(f"agents.{agent}.mac_{species}_percent")
    solubility = reference.figure(f"agents.{agent}.blood_gas_{species}_ratio")
    assert 0.5 < mac.value < 10.0
    assert 0.4 < solubility.value < 2.5


@pytest.mark.parametrize("agent", AGENTS)
@pytest.mark.parametrize(
    "name",
    [
        "molar_mass_g_mol",
        "density_g_ml",
        "antoine_a_number",
        "antoine_b_k",
        "antoine_c_k",
        "vapour_yield_ml_ml",
        "vessel_rich_gas_ratio",
        "muscle_gas_ratio",
        "fat_gas_ratio",
        "vessel_poor_gas_ratio",
        "blood_gas_temperature_per_c",
        "rubber_gas_ratio",
        "polyethylene_gas_ratio",
        "pvc_gas_ratio",
        "gwp100_ar6_ratio",
        "carbon_dioxide_equivalent_kg_ml",
    ],
)
def test_every_agent_has_the_same_set(agent: str, name: str) -> None:
    assert reference.figure(f"agents.{agent}.{name}").value != 0.0


@pytest.mark.parametrize("species", SPECIES)
def test_every_weight_in_use_has_a_tube(species: str) -> None:
    """The choices of a species leave no gap over the weights it is listed for; each size is in the table.

    Horses below 300 kg are ponies by size; the pony's choices reach there.
    """
    weight = reference.figure(f"species.{species}.weight_kg")
    choices = _tube_choices(species)
    assert choices[0][0] <= max(weight.low, 30.0)
    assert choices[-1][1] >= weight.high
    for (_, end_kg, _), (start_kg, _, _) in pairwise(choices):
        assert start_kg == end_kg
    for _, _, diameter in choices:
        assert f"tubes.size.id_{diameter.value:g}mm.k1_cmh2o_s_l" in FIGURES


def _tube_choices(species: str) -> list[tuple[float, float, Figure]]:
    tables = {
        name.rpartition(".")[0]
        for name in FIGURES
        if name.startswith(f"tubes.choice.{species}_") and name.endswith(".internal_diameter_mm")
    }
    found = [
        (
            FIGURES[f"{table}.from_weight_kg"].value,
            FIGURES[f"{table}.to_weight_kg"].value,
            FIGURES[f"{table}.internal_diameter_mm"],
        )
        for table in tables
    ]
    return sorted(found, key=lambda choice: choice[0])


@pytest.mark.parametrize("species", SPECIES)
def test_every_species_says_how_far_it_is_validated(species: str) -> None:
    status = reference.species_status(species)
    assert status.validated == (species == "horse")
    assert status.reason


@pytest.mark.parametrize("species", ["donkey", "foal", "cattle", "calf"])
def test_what_is_not_validated_says_so(species: str) -> None:
    assert reference.species_status(species).reason.startswith("Not validated")


def test_figures_go_to_json_and_back() -> None:
    for figure in FIGURES.values():
        assert Figure(**json.loads(json.dumps(figure.as_json()))) == figure


def test_reading_all_data_loads_no_numerical_library() -> None:
    code = "import sys; from lungeline import reference; reference.figures(); reference.studies();"
    code += "print(sorted({'numpy', 'numba', 'matplotlib'} & sys.modules.keys()))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
