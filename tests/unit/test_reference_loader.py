"""The loader on small folders of its own: what it accepts, what it refuses, and in which words."""

from pathlib import Path

import pytest

from lungeline import reference
from lungeline.errors import InputError, OutOfRangeError, UnknownNameError

SOURCES = '[sources.smith2020]\ncitation = "Smith 2020"\nidentifier = "doi:1"\n'
LEAF = 'basis = "measured"\nsource = "smith2020"\nseen = "abstract"\n'


def folder_with(folder: Path, content: str, stem: str = "lungs", sources: str = SOURCES) -> Path:
    (folder / "sources.toml").write_text(sources, encoding="utf-8")
    (folder / f"{stem}.toml").write_text(content, encoding="utf-8")
    return folder


def test_a_figure_is_read_with_its_path_as_name(tmp_path: Path) -> None:
    text = f'[lungs.horse.volume_l]\nvalue = 5\nlow = 4\nhigh = 6.5\nplace = "p. 3"\nnote = "n"\n{LEAF}'
    figure = reference.figure("lungs.horse.volume_l", folder_with(tmp_path, text))
    assert figure.as_json() == {
        "name": "lungs.horse.volume_l",
        "value": 5.0,
        "unit": "l",
        "low": 4.0,
        "high": 6.5,
        "basis": "measured",
        "source": "smith2020",
        "place": "p. 3",
        "seen": "abstract",
        "note": "n",
    }


def test_a_range_left_out_is_the_value(tmp_path: Path) -> None:
    folder = folder_with(tmp_path, f"[lungs.volume_l]\nvalue = 5\n{LEAF}")
    figure = reference.figure("lungs.volume_l", folder)
    assert (figure.low, figure.high) == (5.0, 5.0)


def test_a_unit_may_be_written_beside_a_name_without_one(tmp_path: Path) -> None:
    folder = folder_with(tmp_path, f'[lungs.width]\nvalue = 5\nunit = "cm"\n{LEAF}')
    assert reference.figure("lungs.width", folder).unit == "cm"


def test_sources_are_read(tmp_path: Path) -> None:
    folder = folder_with(tmp_path, "")
    source = reference.sources(folder)["smith2020"]
    assert (source.key, source.citation, source.identifier) == ("smith2020", "Smith 2020", "doi:1")


REFUSED = [
    (f"[lungs.width]\nvalue = 5\n{LEAF}", "lungs.width", "unit"),
    (f'[lungs.width]\nvalue = 5\nunit = "furlong"\n{LEAF}', "lungs.width", "furlong"),
    (f'[lungs.volume_l]\nvalue = 5\nunit = "cm"\n{LEAF}', "lungs.volume_l.unit", "cm"),
    (
        '[lungs.volume_l]\nvalue = 5\nbasis = "measured"\nsource = "nobody"\nseen = "abstract"',
        "lungs.volume_l.source",
        "nobody",
    ),
    ('[lungs.volume_l]\nvalue = 5\nbasis = "measured"\nseen = "abstract"', "lungs.volume_l.source", "None"),
    (
        '[lungs.volume_l]\nvalue = 5\nbasis = "hearsay"\nsource = "smith2020"\nseen = "abstract"',
        "lungs.volume_l.basis",
        "hearsay",
    ),
    (
        '[lungs.volume_l]\nvalue = 5\nbasis = "measured"\nsource = "smith2020"\nseen = "dreamt"',
        "lungs.volume_l.seen",
        "dreamt",
    ),
    (f"[lungs.volume_l]\nvalue = 5\nlow = 6\n{LEAF}", "lungs.volume_l", "low <= value"),
    (f'[lungs.volume_l]\nvalue = "five"\n{LEAF}', "lungs.volume_l.value", "five"),
    (f"[lungs.volume_l]\nvalue = true\n{LEAF}", "lungs.volume_l.value", "True"),
    (f"[lungs.volume_l]\nvalue = nan\n{LEAF}", "lungs.volume_l", "finite"),
    (f'[lungs.volume_l]\nvalue = 5\nsorce = "x"\n{LEAF}', "lungs.volume_l.sorce", "sorce"),
    (f"[lungs.volume_l]\n{LEAF}", "lungs.volume_l", "value"),
    (f"[hearts.volume_l]\nvalue = 5\n{LEAF}", "lungs.toml", "hearts"),
    ("[lungs.volume_l\nvalue = 5", "lungs.toml", "TOML"),
    (f"[lungs.volume_l]\nvalue = 5\nweight_exponent = 1\n{LEAF}", "lungs.volume_l", "reference_weight_kg"),
]


@pytest.mark.parametrize(("content", "where", "told"), REFUSED)
def test_a_wrong_file_is_refused_and_the_place_named(
    tmp_path: Path, content: str, where: str, told: str
) -> None:
    folder = folder_with(tmp_path, content)
    with pytest.raises(InputError) as caught:
        reference.figures(folder)
    assert caught.value.where == where
    assert told in str(caught.value)
    assert caught.value.do


def test_a_source_without_citation_is_refused(tmp_path: Path) -> None:
    folder = folder_with(tmp_path, "", sources='[sources.smith2020]\nidentifier = "doi:1"\n')
    with pytest.raises(InputError, match="citation"):
        reference.sources(folder)


def test_a_folder_without_sources_is_refused(tmp_path: Path) -> None:
    (tmp_path / "lungs.toml").write_text(f"[lungs.volume_l]\nvalue = 5\n{LEAF}", encoding="utf-8")
    with pytest.raises(InputError, match=r"sources\.toml"):
        reference.figures(tmp_path)


def test_an_unknown_figure_is_told_its_nearest_name() -> None:
    with pytest.raises(UnknownNameError) as caught:
        reference.figure("defaults.horse.tidal_volum_ml_kg")
    assert '"defaults.horse.tidal_volume_ml_kg"' in caught.value.do
    assert caught.value.allowed.count(",") < 12


def test_a_name_like_nothing_is_told_the_groups() -> None:
    with pytest.raises(UnknownNameError) as caught:
        reference.figure("zzz")
    assert {"agents", "defaults", "tubes"} <= set(caught.value.allowed.split(", "))


@pytest.mark.parametrize("name", ["", "sources.tucker2022", "studies.tucker2022", "../agents", "agents"])
def test_what_is_no_figure_is_refused(name: str) -> None:
    with pytest.raises(UnknownNameError):
        reference.figure(name)


def test_an_unknown_species_is_told_the_nearest() -> None:
    with pytest.raises(UnknownNameError, match='"horse"'):
        reference.species_status("hors")


def test_a_changed_copy_leaves_the_figures_alone() -> None:
    reference.figures().clear()
    reference.sources().clear()
    reference.studies().clear()
    assert reference.figures()
    assert reference.sources()
    assert reference.studies()


SCALING = f"""
[animal.horse.reference_weight_kg]
value = 500
{LEAF}
[animal.horse.volume_l]
value = 40
weight_exponent = 1
spread_log_sd = 0.15
{LEAF}
[animal.horse.resistance_cmh2o_s_l]
value = 0.3
weight_exponent = -0.7
{LEAF}
[animal.horse.threshold_mmhg]
value = 56
{LEAF}
[animal.horse.lung.depth_cm]
value = 50
weight_exponent = 0.333
reference_weight_kg = 400
{LEAF}
"""


def test_parameters_scale_with_weight(tmp_path: Path) -> None:
    """Closed form: value x (weight / reference weight) ^ exponent."""
    found = reference.parameters("animal.horse", folder_with(tmp_path, SCALING, stem="animal"))
    assert list(found) == [
        "reference_weight_kg",
        "volume_l",
        "resistance_cmh2o_s_l",
        "threshold_mmhg",
        "lung.depth_cm",
    ]
    assert found["volume_l"].at_weight(250.0) == pytest.approx(20.0)
    assert found["volume_l"].spread_log_sd == 0.15
    assert found["resistance_cmh2o_s_l"].at_weight(250.0) == pytest.approx(0.3 * 0.5**-0.7)
    assert found["threshold_mmhg"].at_weight(250.0) == 56.0
    assert found["lung.depth_cm"].at_weight(400.0) == pytest.approx(50.0)
    assert found["lung.depth_cm"].figure.name == "animal.horse.lung.depth_cm"


def test_parameters_refuse_no_weight_and_no_such_prefix(tmp_path: Path) -> None:
    folder = folder_with(tmp_path, SCALING, stem="animal")
    with pytest.raises(OutOfRangeError):
        reference.parameters("animal.horse", folder)["threshold_mmhg"].at_weight(0.0)
    with pytest.raises(UnknownNameError):
        reference.parameters("animal.cow", folder)


@pytest.mark.parametrize(
    ("content", "told"),
    [
        ('[species_status.horse]\nvalidated = "yes"\nreason = "r"', "true or false"),
        ("[species_status.horse]\nvalidated = true", "reason"),
        ('[species_status.horse]\nvalidated = true\nreason = "r"\nwhy = "w"', "why"),
    ],
)
def test_a_wrong_status_is_refused(tmp_path: Path, content: str, told: str) -> None:
    (tmp_path / "species_status.toml").write_text(content, encoding="utf-8")
    with pytest.raises(InputError, match=told):
        reference.species_status("horse", tmp_path)
