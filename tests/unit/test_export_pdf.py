"""Sheets for print: their pages, their words, no STOP lost, nothing a person typed obeyed."""

import io
import json
import re
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any, cast

import pytest
from pypdf import PdfReader

from lungeline.case import Animal, Case, Equipment, Finding, Profile, SignedDose, Supply
from lungeline.errors import InputError, MissingError, UnknownNameError
from lungeline.export.pdf import PAGES, plan_pdf
from lungeline.export.pdf.plan_pdf import Paper, plan_content
from lungeline.export.pdf.told_findings import of_drugs, told
from lungeline.export.pdf.typeset import FONTS, TEMPLATES, typeset, typeset_images
from lungeline.plan import Plan, make_plan
from lungeline.plan.drugs.dose_text import dose_text
from lungeline.reference.formulary import drugs
from lungeline.words import number_text, wordings

pytestmark = pytest.mark.slow  # runs the compiled kernel
MARKUP = '#panic("x") $a_b$ *bold* [[x]] \\ #import "@preview/a:1.0.0" `raw` <lbl> @ref // c /* d */ {{x}} µ'
PAPERS: tuple[Paper, ...] = ("a4", "letter")
# width by height in points, 72 an inch: A4 is 210 × 297 mm (ISO 216), Letter 8.5 × 11 in (ANSI Y14.1)
SIZES = {"a4": (595.3, 841.9), "letter": (612.0, 792.0)}
CAUTIONS = (
    "not a medical device",
    "attending veterinarian decides",
    "Local codes and licensed practice come first",
    "Oxygen feeds fire",
    "Scavenge waste gas",
)


def tenfold() -> tuple[SignedDose, ...]:
    """A clinic that slipped by a point in every dose it signed."""
    found = []
    for drug in drugs().values():
        for use in drug.uses_for("horse"):
            dose = next(each for each in drug.doses if (each.use, each.species) == (use, "horse")).figure
            written = dose_text(dose.value * 10.0, dose.unit)
            found.append(
                SignedDose(drug=drug.name, use=use, dose=written, signed_by="A", signed_on="2025-01-01")
            )
    return tuple(found)


@pytest.fixture(scope="module")
def plans() -> dict[str, Plan]:
    """A horse; a foal; a pony with STOPs; a horse with a STOP for every dose, and the longest names."""
    horse = Animal(species="horse", weight_kg=550.0, condition="colic")
    little = Equipment(reservoir_capacity_l=5.0, leak_at_30_cmh2o_ml_min=3000.0, flow_ceiling_l_s=0.5)
    cylinders = Supply(oxygen="cylinders")
    long_names = Profile(name="N" * 80, signed_by="S" * 80, signed_on="2025-01-01", doses=tenfold())
    return {
        "horse": make_plan(Case(animal=horse, title="Colic 12"), animals=4),
        "foal": make_plan(Case(animal=Animal(species="foal", weight_kg=50.0)), animals=4),
        "pony": make_plan(
            Case(
                animal=Animal(species="pony", weight_kg=180.0),
                equipment=little,
                supply=cylinders,
                title=MARKUP,
            ),
            animals=4,
        ),
        "slips": make_plan(
            Case(
                animal=horse, equipment=Equipment(reservoir_capacity_l=6.0), supply=cylinders, title="W" * 200
            ),
            long_names,
            animals=4,
        ),
    }


def worded(plan: Plan) -> Plan:
    """The plan without findings that have no wording yet."""
    return replace(plan, findings=tuple(each for each in plan.findings if each.code in wordings()))


def words(pdf: bytes) -> str:
    """All text of a PDF, blanks and line ends made one, so that a broken line still reads."""
    text = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)
    return " ".join(text.replace("\u200b", "").split())


def pages_of(pdf: bytes) -> int:
    """How many pages a PDF has."""
    return len(PdfReader(io.BytesIO(pdf)).pages)


# --- pages ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", ["horse", "foal", "pony", "slips"])
def test_the_plan_is_one_page_whatever_it_has_to_say(plans: dict[str, Plan], name: str, paper: Paper) -> None:
    assert pages_of(plan_pdf(worded(plans[name]), paper, ("plan",))) == 1


@pytest.mark.parametrize("paper", PAPERS)
def test_many_more_findings_are_counted_and_no_page_is_added(plans: dict[str, Plan], paper: Paper) -> None:
    plan = worded(plans["pony"])
    pdf = plan_pdf(replace(plan, findings=plan.findings * 4), paper, ("plan",))
    assert pages_of(pdf) == 1
    assert re.search(r"and \d+ more: see --json", words(pdf))


@pytest.mark.parametrize("paper", PAPERS)
def test_paper_has_its_size_and_the_chart_lies_across(plans: dict[str, Plan], paper: Paper) -> None:
    for sheet, across in (("plan", False), ("chart", True)):
        box = PdfReader(io.BytesIO(plan_pdf(worded(plans["horse"]), paper, (sheet,)))).pages[0].mediabox
        wanted = SIZES[paper][::-1] if across else SIZES[paper]
        assert (float(box.width), float(box.height)) == pytest.approx(wanted, abs=0.1)


@pytest.mark.parametrize("name", ["horse", "foal", "pony"])
def test_the_emergency_card_is_one_page(plans: dict[str, Plan], name: str) -> None:
    for paper in PAPERS:
        assert pages_of(plan_pdf(worded(plans[name]), paper, ("emergency",))) == 1


def test_a_chart_for_each_two_hours(plans: dict[str, Plan]) -> None:
    plan = worded(plans["horse"])
    job = replace(plan.case.procedure, expected_min=250.0)  # three times two hours hold it
    longer = replace(plan, case=replace(plan.case, procedure=job))
    pdf = plan_pdf(longer, pages=("chart",))
    assert pages_of(pdf) == 3
    assert "355" in words(pdf)  # arithmetic: 3 × 120 - 5


def test_sheets_come_in_the_order_asked_for_and_once_each(plans: dict[str, Plan]) -> None:
    content = plan_content(worded(plans["horse"]), pages=("chart", "plan", "chart"))
    assert [page["kind"] for page in content["pages"]] == ["chart", "plan"]


def test_the_same_plan_gives_the_same_bytes(plans: dict[str, Plan]) -> None:
    plan, at = worded(plans["horse"]), datetime(2025, 3, 1, 14, 5, tzinfo=UTC)
    assert plan_pdf(plan) == plan_pdf(plan)
    assert plan_pdf(plan, printed_at=at) == plan_pdf(plan, printed_at=at)
    assert plan_pdf(plan, printed_at=at) != plan_pdf(plan)


@pytest.mark.parametrize("sheet", PAGES)
def test_what_is_not_real_bears_its_mark_on_every_page(plans: dict[str, Plan], sheet: str) -> None:
    marked, real = (plan_pdf(plans["horse"], pages=(sheet,), mark=mark) for mark in ("NOT REAL", ""))
    assert all("NOT REAL" in page.extract_text() for page in PdfReader(io.BytesIO(marked)).pages)
    assert "NOT REAL" not in words(real)


def test_a_label_that_is_cut_out_still_says_that_it_is_not_real(plans: dict[str, Plan]) -> None:
    plan = plans["horse"]
    told = words(plan_pdf(plan, pages=("labels",), mark="NOT REAL"))
    assert told.count("NOT REAL") > len(plan.labels)


def test_the_time_of_printing_is_told_only_where_it_is_given(plans: dict[str, Plan]) -> None:
    plan, at = worded(plans["horse"]), datetime(2025, 3, 1, 14, 5, tzinfo=UTC)
    assert "printed 2025-03-01 14:05" in words(plan_pdf(plan, pages=("plan",), printed_at=at))
    undated = plan_pdf(plan, pages=("plan",))
    assert "printed" not in words(undated)
    assert PdfReader(io.BytesIO(undated)).metadata.get("/CreationDate") is None  # type: ignore[union-attr]  # a PDF of ours has metadata: its title


# --- words ----------------------------------------------------------------------------------------------


def test_key_numbers_stand_on_the_plan(plans: dict[str, Plan]) -> None:
    plan = plans["horse"]
    told_words = words(plan_pdf(worded(plan), pages=("plan",)))
    settings, spare = plan.settings, plan.spare
    for name, value in (
        ("weight_kg", 550.0),
        ("tidal_volume_l", settings.tidal_volume_l),
        ("respiratory_rate_per_min", settings.respiratory_rate_per_min),
        ("pressure_limit_cmh2o", settings.pressure_limit_cmh2o),
        ("peep_cmh2o", settings.peep_cmh2o),
        ("needed_l", spare.value("needed_l")),
        ("ceiling_l", spare.value("ceiling_l")),
        ("peak_pressure_cmh2o", plan.expected.numbers["peak_pressure_cmh2o"].value),
        ("minutes", plan.priming.minutes.value),
        ("oxygen_needed_l", plan.supplies.oxygen.need.needed_l.value),
        ("off_circuit_limit_minutes", plan.profile.off_circuit_limit_min),
    ):
        assert number_text(name, cast("float", value)) in told_words, name
    assert "SIMULATED" in told_words
    assert "NOBODY HAS SIGNED IT" in told_words
    assert "Colic 12" in told_words


@pytest.mark.parametrize("sheet", PAGES)
def test_every_sheet_bears_the_cautions_and_the_animal(plans: dict[str, Plan], sheet: str) -> None:
    told_words = words(plan_pdf(worded(plans["foal"]), pages=(sheet,)))
    for caution in CAUTIONS:
        assert caution in told_words
    assert "foal, 50 kg" in told_words


@pytest.mark.parametrize("name", ["foal", "pony"])
def test_every_stop_is_told_in_full_where_there_is_room(plans: dict[str, Plan], name: str) -> None:
    plan = worded(plans[name])
    told_words = words(plan_pdf(plan, pages=("plan",)))
    stops = [each for each in plan.findings if each.severity == "stop"]
    assert stops
    assert "DO NOT BEGIN" in told_words
    for stop in stops:
        said = told(stop, "en")
        assert said["says"] in told_words
        assert said["do"] in told_words


def test_of_forty_stops_each_drug_use_and_dose_is_named(plans: dict[str, Plan]) -> None:
    plan = plans["slips"]
    stops = [each for each in plan.findings if each.severity == "stop" and of_drugs(each)]
    assert len(stops) >= 30
    for paper in PAPERS:
        told_words = words(plan_pdf(worded(plan), paper, ("plan",)))
        for stop in stops:
            drug, use = stop.about.split(".")[1:3]
            dose = str(stop.figures["dose"]).replace("µg", "microgram")
            names = (f"{drug} {use}", f"{drug} for {use}")  # short, or the first of its code in full
            assert any(name.replace("_", " ") in told_words for name in names)
            assert dose in told_words


def test_a_stopped_dose_is_told_with_its_drug_and_without_a_volume(plans: dict[str, Plan]) -> None:
    content = plan_content(worded(plans["slips"]), pages=("drugs",))
    rows = [row for table in content["pages"][0]["tables"] for row in table["rows"]]
    stopped = [row for row in rows if row["status"] == "stopped"]
    assert stopped
    for row in stopped:
        assert row["volume"]["value"] == row["total"]["value"] == "\N{EN DASH}"
        assert row["details"] == []
        assert any(
            remark["severity"] == "stop" and row["drug"] in remark["says"] for remark in row["remarks"]
        )
    assert "STOPPED" in words(typeset(content))


@pytest.mark.parametrize(("name", "validated"), [("horse", True), ("foal", False), ("pony", False)])
def test_a_species_that_is_not_validated_is_told_so(
    plans: dict[str, Plan], name: str, *, validated: bool
) -> None:
    plan = worded(plans[name])
    assert ("NOT VALIDATED" in words(plan_pdf(plan, pages=("plan",)))) is not validated
    assert ("NOT VALIDATED" in words(plan_pdf(plan, pages=("chart",)))) is not validated


def test_doses_stand_per_kilogram_in_milligram_and_millilitre(plans: dict[str, Plan]) -> None:
    told_words = words(plan_pdf(worded(plans["horse"]), pages=("drugs",)))
    # arithmetic: 20 microgram/kg × 550 kg = 11 mg; ÷ 10 mg/mL = 1.1 mL
    assert re.search(r"detomidine premedication.{0,40}20 microgram/kg 11 mg 1\.1 mL 10 mg/mL", told_words)
    assert "µ" not in told_words
    for dose in plans["horse"].drugs.doses:
        assert f"{dose.chosen.drug.name}".replace("_", " ") in told_words


def test_a_strength_still_to_choose_gives_no_volume(plans: dict[str, Plan]) -> None:
    content = plan_content(worded(plans["horse"]), pages=("drugs",))
    rows = {(row["drug"], row["use"]): row for row in content["pages"][0]["tables"][0]["rows"]}
    xylazine = rows["xylazine", "premedication"]
    assert xylazine["strength"] == {"known": "", "choices": ["20 mg/mL", "100 mg/mL"]}
    assert xylazine["volume"]["value"] == "\N{EN DASH}"


def test_labels_tell_class_in_words_beside_the_colour(plans: dict[str, Plan]) -> None:
    plan = worded(plans["horse"])
    content = plan_content(plan, pages=("labels",))["pages"][0]
    assert len(content["labels"]) == len(plan.labels)
    told_words = words(plan_pdf(plan, pages=("labels",)))
    for label in plan.labels:
        assert label.class_title in told_words
        assert label.drug in told_words
    strengths = {(label["drug"], label["use"]): label["strength"] for label in content["labels"]}
    assert strengths["calcium gluconate", "hypocalcaemia"] == ""  # two are about: to be written by hand
    assert strengths["crystalloid", "maintenance"] == "as it comes"
    assert {label["colour"] for label in content["labels"]} >= {"#F9E300", "#71C5E8"}  # label_classes.toml


def test_the_emergency_card_gives_each_strength_its_volume(plans: dict[str, Plan]) -> None:
    told_words = words(plan_pdf(worded(plans["horse"]), pages=("emergency",)))
    # arithmetic: 0.01 mg/kg × 550 kg = 5.5 mg; ÷ 0.1 mg/mL = 55 mL; ÷ 1 mg/mL = 5.5 mL
    assert re.search(r"0\.01 mg/kg IV.{0,30}5\.5 mg 55 mL of 0\.1 mg/mL 5\.5 mL of 1 mg/mL", told_words)
    assert told_words.count("NOT SIGNED") == len(plans["horse"].emergency.lines) + 1


def test_a_signed_emergency_dose_stands_alone() -> None:
    signed = SignedDose(
        drug="adrenaline", use="arrest", dose="0.01 mg/kg", strength="1 mg/mL",
        signed_by="Dr Y", signed_on="2025-01-01",
    )  # fmt: skip
    plan = make_plan(
        Case(animal=Animal(species="horse", weight_kg=500.0)), Profile(doses=(signed,)), animals=1
    )
    lines = plan_content(worded(plan), pages=("emergency",))["pages"][0]["lines"]
    line = next(each for each in lines if each["drug"] == "adrenaline")
    assert line["signed"] == "signed Dr Y, 2025-01-01"
    (dose,) = line["doses"]
    # arithmetic: 0.01 mg/kg × 500 kg = 5 mg = 5 mL of 1 mg/mL
    assert (dose["total"], dose["volumes"]) == (
        {"value": "5", "unit": "mg"},
        [{"value": "5", "unit": "mL", "of": "1 mg/mL"}],
    )


def test_the_chart_bears_every_row_and_the_planned_values(plans: dict[str, Plan]) -> None:
    plan = worded(plans["horse"])
    told_words = words(plan_pdf(plan, pages=("chart",)))
    for row in (
        "Heart rate", "Mean arterial pressure", "Respiratory rate", "Tidal volume", "Peak pressure", "PEEP",
        "EtCO2", "FiO2", "Fresh gas", "isoflurane, dial", "SpO2", "Temperature", "Spare gas", "Drugs",
        "Fluids", "Remarks", "clock time",
    ):  # fmt: skip
        assert row in told_words
    rows = {row["label"]: row["planned"] for row in plan_content(plan, pages=("chart",))["pages"][0]["rows"]}
    assert rows["Tidal volume"] == f"{plan.settings.tidal_volume_l:.3g}"
    assert rows["Spare gas"] == f"{plan.settings.spare_volume_l:.3g}"
    assert rows["Temperature"] == ""
    assert "Planned later: after 15 min" in told_words


# --- what a person typed ----------------------------------------------------------------------------------


@pytest.mark.parametrize("sheet", PAGES)
def test_markup_in_a_title_is_printed_not_obeyed(plans: dict[str, Plan], sheet: str) -> None:
    told_words = words(plan_pdf(worded(plans["pony"]), pages=(sheet,)))
    assert '#panic("x") $a_b$ *bold* [[x]] \\ #import' in told_words


def test_markup_in_a_finding_and_a_profile_is_printed_not_obeyed(plans: dict[str, Plan]) -> None:
    told_it = {"species": MARKUP}
    stop = Finding(code="species_not_validated", severity="stop", about="settings", figures=told_it)
    profile = replace(plans["horse"].profile, name="#strong[x] $1$ */")
    plan = replace(worded(plans["horse"]), findings=(stop,), profile=profile)
    told_words = words(plan_pdf(plan, pages=("plan",)))
    assert '#import "@preview/a:1.0.0" `raw` <lbl> @ref // c /* d */ {{x}}' in told_words
    assert "#strong[x] $1$ */" in told_words


def test_templates_fetch_nothing_and_hold_no_words_of_the_plan() -> None:
    templates = list(TEMPLATES.glob("*.typ"))
    assert {path.stem for path in templates} >= set(PAGES)
    for path in templates:
        source = path.read_text(encoding="utf-8")
        assert "@preview" not in source
        assert "eval(" not in source
        imported = re.findall(r'#import "([^"]+)"', source)
        assert all((TEMPLATES / name).is_file() for name in imported)


def type_of(pdf: bytes) -> tuple[set[float], set[str]]:
    """The sizes [points] and faces of all type in a PDF."""
    sizes, faces = set[float](), set[str]()

    def seen(text: str, *how: Any) -> None:  # noqa: ANN401  what pypdf tells of a piece of text
        page, line, face, points = how
        if text.strip() and face:
            sizes.add(round(points * abs(line[3]) * abs(page[3]), 2))
            faces.add(str(face["/BaseFont"]))

    for page in PdfReader(io.BytesIO(pdf)).pages:
        page.extract_text(visitor_text=seen)
    return sizes, faces


@pytest.mark.parametrize("sheet", PAGES)
def test_all_type_is_ours_and_none_too_small(plans: dict[str, Plan], sheet: str) -> None:
    sizes, faces = type_of(plan_pdf(worded(plans["horse"]), pages=(sheet,)))
    assert min(sizes) >= 7.5
    assert max(sizes) >= 11.0 or sheet == "chart"
    assert all("DejaVuSansCondensed" in face for face in faces), faces
    assert (FONTS / "LICENSE.txt").read_text(encoding="utf-8").startswith("Fonts are (c) Bitstream")


# --- errors ---------------------------------------------------------------------------------------------


def test_another_paper_or_sheet_is_refused_with_the_nearest(plans: dict[str, Plan]) -> None:
    plan = plans["horse"]
    with pytest.raises(UnknownNameError, match='Did you mean "letter"'):
        plan_pdf(plan, cast("Paper", "leter"))
    with pytest.raises(UnknownNameError, match='Did you mean "labels"'):
        plan_pdf(plan, pages=("label",))
    with pytest.raises(MissingError, match="Ask for one at least"):
        plan_pdf(plan, pages=())


def test_content_that_cannot_be_set_says_what_to_do_instead() -> None:
    with pytest.raises(InputError, match="--json"):
        typeset({"paper": "a4", "pages": []})


def test_each_page_can_be_looked_at_as_a_picture(plans: dict[str, Plan]) -> None:
    images = typeset_images(
        plan_content(worded(plans["foal"]), pages=("plan", "chart")), pixels_per_inch=50.0
    )
    assert [image[:8] for image in images] == [b"\x89PNG\r\n\x1a\n"] * 2


def test_content_is_plain_data(plans: dict[str, Plan]) -> None:
    content = plan_content(worded(plans["horse"]))
    assert json.loads(json.dumps(content, allow_nan=False))["paper"] == "a4"
