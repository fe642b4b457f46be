"""Published studies: as printed, and when a number of ours agrees."""

import math
from pathlib import Path

import pytest

from lungeline import reference
from lungeline.errors import InputError, UnknownNameError
from lungeline.reference import PublishedValue
from lungeline.units import UNITS, unit_of

SOURCES = '[sources.smith2020]\ncitation = "Smith 2020"\n'
HEAD = '[studies.smith]\ntitle = "t"\ncitation = "smith2020"\nseen = "abstract"\nset_up = "s"\n'


def published(
    *, sd: float | None = None, sem: float | None = None, low: float | None = None, high: float | None = None
) -> PublishedValue:
    return PublishedValue(
        name="pao2_mmhg", published=100.0, unit="mmhg", as_printed="100", sd=sd, sem=sem, low=low, high=high
    )


@pytest.mark.parametrize(
    ("spread", "inside", "outside", "rule"),
    [
        ({"sd": 20.0}, (80.0, 120.0), (79.9, 120.1), "printed SD"),
        ({"low": 90.0, "high": 150.0}, (90.0, 150.0), (89.9, 150.1), "printed range"),
        ({}, (85.0, 115.0), (84.9, 115.1), "15%"),
        ({"sem": 5.0}, (90.0, 110.0), (89.9, 110.1), "twice the printed SEM"),
    ],
)
def test_what_agrees(
    spread: dict[str, float], inside: tuple[float, float], outside: tuple[float, float], rule: str
) -> None:
    value = published(**spread)
    assert all(map(value.accepts, inside))
    assert not any(map(value.accepts, outside))
    assert rule in value.rule


def test_a_standard_error_becomes_a_standard_deviation_where_the_number_is_known() -> None:
    """SD = SEM x root n, by definition of the standard error."""
    value = PublishedValue(
        name="pao2_mmhg", published=100.0, unit="mmhg", as_printed="100 ± 5", sem=5.0, animals=16
    )
    assert value.limits == pytest.approx((100.0 - 5.0 * math.sqrt(16), 120.0))
    assert "16 animals" in value.rule


def test_a_fall_printed_as_a_mean_is_accepted_either_way_round() -> None:
    """Minus 19 % within 15 %: from -21.85 to -16.15; arithmetic."""
    value = PublishedValue(name="shunt_change_percent", published=-19.0, unit="percent", as_printed="-19 %")
    assert value.limits == pytest.approx((-21.85, -16.15))


def test_not_a_number_never_agrees() -> None:
    assert not published(sd=20.0).accepts(math.nan)


SHIPPED = reference.studies()

PRINTED = [
    # study, what, arm, published, an accepted number, a refused one
    ("tucker2022", "pao2_mmhg", "horizontal", 437.0, 400.0, 390.0),  # Tucker 2022: 437 (395-445)
    (
        "flow-controlled-expiration",
        "pao2_fio2_mmhg",
        "dorsal, conventional",
        198.0,
        310.0,
        311.0,
    ),  # 198 ± 112
    ("brandly2023", "closing_pressure_cmh2o", "conventional", 11.0, 12.5, 12.6),  # Brandly 2023: 11.0 ± 1.5
    ("ambrosio2013", "shunt_percent", "titration", 13.5, 7.0, 6.9),  # VAA 2013: 7-20
    ("nyman1987", "pao2_kpa", "lateral, spontaneous", 32.3, 37.1, 37.2),  # Nyman 1987: 32.3, mean only
    ("wilson1990", "cardiac_output_l_min", "PEEP 30", 5.62, 6.74, 6.75),  # 5.62 ± 0.56 SEM, n not printed
    ("hopster2011", "pao2_mmhg", "recruitment and PEEP 10", 432.0, 533.0, 533.1),  # Hopster 2011: 432 ± 101
    ("steffey2005des", "mac_percent", "", 8.06, 9.06, 9.07),  # 8.06 ± 0.41 SEM, 6 horses: SD 1.004
    ("hannover-calves", "tidal_volume_l", "isoflurane", 0.30, 0.33, 0.34),  # thesis: 0.27 to 0.33 L
    ("moens1989", "gap_kpa", "", 1.6, 2.4, 2.41),  # Moens 1989: 1.6 ± 0.8 kPa
    ("khanna1995", "paco2_mmhg", "mild", 59.1, 62.6, 62.7),  # Khanna 1995: 59.1 ± 3.5
    ("gorenberg2025", "cardiac_output_l_min", "anaesthetised", 21.0, 19.0, 18.9),  # Gorenberg 2025: 21 ± 2
]


@pytest.mark.parametrize("row", PRINTED, ids=lambda row: f"{row[0]}-{row[1]}")
def test_shipped_studies(row: tuple[str, str, str, float, float, float]) -> None:
    key, name, arm, printed, agrees, differs = row
    value = SHIPPED[key].value(name, arm)
    assert value.published == pytest.approx(printed)
    assert value.accepts(agrees)
    assert not value.accepts(differs)


def test_every_published_value_has_a_unit_and_its_printed_text() -> None:
    for study in SHIPPED.values():
        assert study.set_up
        assert study.citation in reference.sources()
        for value in study.values:
            carried = unit_of(value.name)
            assert value.unit in UNITS
            assert carried is None or carried.suffix == value.unit
            assert value.as_printed
            assert value.accepts(value.published), (study.key, value.name)


def test_a_study_without_numbers_tells_its_findings() -> None:
    for study in SHIPPED.values():
        assert study.values or study.findings, study.key


def test_an_unknown_value_is_told_the_nearest() -> None:
    with pytest.raises(UnknownNameError, match="horizontal"):
        SHIPPED["tucker2022"].value("pao2_mmhg", "horizontl")


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (HEAD.replace("smith2020", "nobody"), "nobody"),
        (HEAD.replace('"abstract"', '"dreamt"'), "dreamt"),
        (f'{HEAD}[[studies.smith.values]]\nname = "pao2_mmhg"\nas_printed = "?"', "published"),
        (
            f'{HEAD}[[studies.smith.values]]\nname = "pao2_mmhg"\npublished = 1\nlow = 0\nas_printed = "1"',
            "low",
        ),
        (f'{HEAD}[[studies.smith.values]]\nname = "pao2"\npublished = 1\nas_printed = "1"', "unit"),
        (f'{HEAD}[[studies.smith.values]]\nname = "pao2_mmhg"\npublished = 1', "as_printed"),
        (f'{HEAD}[[studies.smith.values]]\nname = "x_l"\npublished = 1\nsdd = 2\nas_printed = "1"', "sdd"),
        (f'{HEAD}values = "many"', "list"),
        (
            HEAD + '[[studies.smith.values]]\nname = "x_l"\npublished = 1\nas_printed = "1"\n' * 2,
            "each name once",
        ),
    ],
)
def test_a_wrong_study_is_refused(tmp_path: Path, content: str, told: str) -> None:
    (tmp_path / "sources.toml").write_text(SOURCES, encoding="utf-8")
    (tmp_path / "studies.toml").write_text(content, encoding="utf-8")
    with pytest.raises(InputError, match=told):
        reference.studies(tmp_path)
