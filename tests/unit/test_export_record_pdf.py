"""The lanes of the printed record, and signs that its type does not have."""

import re
from datetime import UTC, datetime
from typing import Any

from lungeline.export.pdf.record_glyphs import printable
from lungeline.export.pdf.record_pdf import handover_pdf, lane_sheets, record_pdf
from lungeline.export.pdf.record_sheets import Bar, Flag, Lane, Mark, Point, RecordSheets, Section, Series
from lungeline.export.pdf.strokes import LEFT, RIGHT, WIDTH

BEGAN = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)
INK = {"#000", "#fff", "#888", "#999", "#bbb", "none"}  # black, paper, and greys for lines of the axes alone


def _sheets(points: list[Point], **more: Any) -> RecordSheets:  # noqa: ANN401  any field of the sheets
    steps = (("limit", (Point(at_min=5, value=30), Point(at_min=10, value=35))),)
    series = (Series(label="peak", shape="dot", points=points),)
    lane = Lane(title="Pressure", unit="cmH2O", low=0, high=40, series=series, steps=steps)
    told: dict[str, Any] = {
        "title": "Anaesthetic record",
        "animal": "Star",
        "mark": "",
        "facts": ("case 1",),
        "began": BEGAN,
        "minutes": 700.0,
        "set_until_min": 200.0,
        "lanes": (lane,),
        **more,
    }
    return RecordSheets(**told)


def _said(svg: str) -> list[str]:
    return re.findall(r">([^<>]+)</text>", svg)


def test_a_sheet_is_drawn_for_the_hours_in_which_something_was_and_no_other() -> None:
    sheets = lane_sheets(_sheets([Point(at_min=6, value=20), Point(at_min=615, value=22)]))
    assert len(sheets) == 2
    assert "09:00" in _said(sheets[0])
    assert "19:00" in _said(sheets[1])  # arithmetic: minute 615 lies in the two hours from minute 600 on


def test_what_was_set_earlier_still_stands_on_a_later_sheet() -> None:
    points = [Point(at_min=6, value=20), Point(at_min=130, value=22), Point(at_min=250, value=22)]
    first, second, third = lane_sheets(_sheets(points))
    assert _said(first).count("30") == 1
    assert "35" in _said(second)
    assert "30" not in _said(second)
    assert "35" not in _said(third)  # it held until minute 200; who breathes by itself is at no limit


def test_each_five_minutes_tell_their_last_number_and_an_artefact_tells_none() -> None:
    points = [
        Point(at_min=6, value=21.0),
        Point(at_min=8, value=23.0),
        Point(at_min=12, value=37.0, note="a"),
    ]
    (sheet,) = lane_sheets(_sheets(points))
    said = _said(sheet)
    assert "23" in said
    assert "21" not in said
    assert "37" not in said
    assert sheet.count("<circle") == 4  # three points and the sign beside the name: the artefact is drawn too


def test_a_mark_near_the_edge_and_many_at_once_stay_on_the_sheet_and_apart() -> None:
    crowd = [Mark(at_min=10, text=f"drug {place}") for place in range(6)]
    marks = [*crowd, Mark(at_min=119, text="a long word about what was done")]
    (sheet,) = lane_sheets(_sheets([Point(at_min=6, value=20)], marks=marks))
    placed = re.findall(
        r'<text x="([\d.]+)" y="([\d.]+)"[^>]*text-anchor="(\w+)">(drug \d|a long word[^<]*)<', sheet
    )
    assert len(placed) == len(marks)
    heights = [y for _, y, _, words in placed if words.startswith("drug")]
    assert len(set(heights)) == len(heights)
    for x, _, anchor, _ in placed:
        assert LEFT <= float(x) <= WIDTH - RIGHT
        assert anchor == ("end" if float(x) > WIDTH / 2 else "start")


def test_an_infusion_that_paused_is_broken_where_it_did() -> None:
    paused = Bar(label="dobutamine", from_min=10, to_min=60, notes=((10, "start"),), idle=((20, 40),))
    steady = Bar(label="dobutamine", from_min=10, to_min=60, notes=((10, "start"),))
    thick = 'stroke-width="5"'
    points = [Point(at_min=6, value=20)]
    (broken,) = lane_sheets(_sheets(points, infusions=(paused,)))
    (whole,) = lane_sheets(_sheets(points, infusions=(steady,)))
    assert broken.count(thick) == 2
    assert whole.count(thick) == 1


def test_what_holds_of_an_entry_is_said_in_words_and_only_where_it_holds() -> None:
    flags = (Flag(label="entered late", at_min=(6.0,)), Flag(label="estimated", at_min=(300.0,)))
    first, second = lane_sheets(_sheets([Point(at_min=6, value=20)], flags=flags))
    assert "entered late" in _said(first)
    assert "estimated" not in _said(first)
    assert "estimated" in _said(second)


def test_the_lanes_need_no_colour() -> None:
    flags = (Flag(label="corrected", at_min=(7.0,)),)
    points = [Point(at_min=6, value=20), Point(at_min=7, value=21, note="a")]
    (sheet,) = lane_sheets(_sheets(points, flags=flags, marks=(Mark(at_min=8, text="x"),)))
    assert set(re.findall(r'(?:fill|stroke)="([^"]+)"', sheet)) <= INK


def test_a_value_beyond_the_scale_stays_inside_its_lane() -> None:
    (sheet,) = lane_sheets(_sheets([Point(at_min=6, value=400)]))
    (top,) = re.findall(
        r'<rect x="430" y="([\d.]+)" width="2270" height="[\d.]+" fill="none" stroke="#000"', sheet
    )
    drawn = re.findall(r'<circle cx="[\d.]+" cy="([\d.]+)" r="8"', sheet)
    assert [float(y) for y in drawn] == [float(top)]


def test_a_sign_the_type_lacks_is_told_by_name_and_what_it_has_is_left() -> None:
    assert printable("Šárka נעמה عمر") == "Šárka נעמה عمر"
    assert printable("\N{HORSE FACE}") == "[horse face]"
    assert printable("\u9a6c") == "[U+9A6C]"
    assert printable({"a": ["5 \N{MICRO SIGN}g", 1, None]}) == {"a": ["5 microgram", 1, None]}


def test_names_in_any_script_print_and_one_record_gives_one_file() -> None:
    rows = [["\u200fנעמה", "عمر \N{HORSE FACE}", "x" * 400, "line\nline", '#eval("1") $x$ *b* \\']]
    section = Section(title="T", rows=rows, note="n \N{SNOWMAN}")
    sheets = _sheets([Point(at_min=6, value=20)], first=(section,), sections=(section,), animal="馬 \u202eנ")
    for made in (record_pdf, handover_pdf):
        once = made(sheets, printed_at=BEGAN)
        assert once.startswith(b"%PDF")
        assert once == made(sheets, printed_at=BEGAN)
