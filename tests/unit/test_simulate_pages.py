"""The pages written from the simulated animal: its faults and its parameters, all of them and as they are."""

import re

import pytest

from lungeline.case import case_from_toml
from lungeline.reference import parameters, sources
from lungeline.simulate.faults import FAULTS
from lungeline.simulate.faults_page import faults_page
from lungeline.simulate.parameters_page import parameters_page

FAULTS_PAGE, PARAMETERS_PAGE = faults_page(), parameters_page()
_FROM_SIGN = "## From sign to cause"


def rows(page: str) -> list[list[str]]:
    """Return the cells of every row of a table."""
    lines = [line for line in page.splitlines() if line.startswith("| ")]
    return [[cell.strip() for cell in re.split(r"(?<!\\)\|", line)[1:-1]] for line in lines]


def test_every_fault_stands_on_its_page_once_with_its_severity_and_signs() -> None:
    listed = {
        row[1].strip("`"): row for row in rows(FAULTS_PAGE.partition(_FROM_SIGN)[0])[1:] if row[1] != "code"
    }
    assert listed.keys() == FAULTS.keys()
    for code, fault in FAULTS.items():
        title, _, severity, signs, missing = listed[code]
        assert (title, severity) == (fault.title, fault.severity_law)
        assert re.findall(r"`(\w+)`", signs) == list(fault.signs)
        assert missing.endswith(fault.missing)


def test_every_sign_leads_back_to_its_causes() -> None:
    words = {"up": "up", "down": "down", "equal": "as before"}
    found = {(row[0], row[1]): row[2] for row in rows(FAULTS_PAGE.partition(_FROM_SIGN)[2])[1:]}
    told = [(key, words[sign], code) for code, fault in FAULTS.items() for key, sign in fault.signs.items()]
    assert all(f"`{code}`" in found[f"`{key}`", sign] for key, sign, code in told)
    assert sum(cell.count("`") // 2 for cell in found.values()) == len(told)


def test_the_example_on_the_page_is_a_fault_of_a_case() -> None:
    (example,) = re.findall(r"```toml\n(.*?)```", FAULTS_PAGE, flags=re.DOTALL)
    case = case_from_toml(f'[animal]\nspecies = "horse"\nweight_kg = 500\n{example}')
    assert [event.code for event in case.faults] == ["circuit_leak"]


@pytest.mark.parametrize("page", [FAULTS_PAGE, PARAMETERS_PAGE], ids=["faults", "parameters"])
def test_the_rows_of_a_table_have_the_cells_of_its_head(page: str) -> None:
    for table in re.findall(r"(?:^\|.*\n)+", page, flags=re.MULTILINE):
        assert len({len(re.findall(r"(?<!\\)\|", line)) for line in table.splitlines()}) == 1


def test_every_parameter_stands_under_its_species_with_its_value() -> None:
    for name, parameter in parameters("animal").items():
        if "." not in name:
            continue
        species, _, own = name.partition(".")
        section = PARAMETERS_PAGE.partition(f"## {species.capitalize()},")[2].partition("\n## ")[0]
        (row,) = [row for row in rows(section) if row[0] == f"`{own}`"]
        assert float(row[1].split()[0]) == parameter.figure.value
        assert row[3] == (f"{parameter.weight_exponent:g}" if parameter.weight_exponent else "")
        assert row[4] == (f"{parameter.spread_log_sd:g}" if parameter.spread_log_sd else "")


def test_every_parameter_names_a_source_of_the_figures() -> None:
    named = set(re.findall(r"\(figures\.md#source-([a-z0-9-]+)\)", PARAMETERS_PAGE))
    assert named
    assert named <= sources().keys()
