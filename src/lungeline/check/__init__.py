"""Is the breathing system sound? Leak tests, verdict, guided check, equipment, trends."""

from lungeline.check.checklist import Checklist, Form, Notice, Outcome, Step
from lungeline.check.checklist_file import checklist_from_tables, load_checklist, standard_checklist
from lungeline.check.circuit import Circuit
from lungeline.check.compensating_flow import HeldFlow, compensating_flow
from lungeline.check.judging import Given
from lungeline.check.leak_found import LeakTest
from lungeline.check.limits import LeakLimits, PublishedLimit, limits_of_profile, published_limits
from lungeline.check.meaning import LeakInUse, PlannedBreaths, breaths_of, leak_in_use
from lungeline.check.pressure_decay import DecayLook, pressure_decay
from lungeline.check.readings import Instruments
from lungeline.check.register import (
    Item,
    PastLeakTest,
    against_before,
    due,
    item_from_json,
    past_from_json,
    trend_of,
    worse,
)
from lungeline.check.rise_and_fall import RiseAndFall, rise_and_fall
from lungeline.check.trace import decay_of_trace, rise_and_fall_of_trace
from lungeline.check.trace_file import Trace, trace_from_text, trace_of
from lungeline.check.trace_line import Part
from lungeline.check.trend import Trend, trend
from lungeline.check.two_pressures import two_pressures
from lungeline.check.ventilator_lung import LungTest, LungTestResult, ventilator_on_lung
from lungeline.check.verdict import Judged, judge_leak
from lungeline.check.walk import Answer, Walk, answered
from lungeline.check.walk_file import answer_line, forms_offered, head_line, walk_from_lines
from lungeline.check.warmth import Filling

__all__ = [
    "Answer",
    "Checklist",
    "Circuit",
    "DecayLook",
    "Filling",
    "Form",
    "Given",
    "HeldFlow",
    "Instruments",
    "Item",
    "Judged",
    "LeakInUse",
    "LeakLimits",
    "LeakTest",
    "LungTest",
    "LungTestResult",
    "Notice",
    "Outcome",
    "Part",
    "PastLeakTest",
    "PlannedBreaths",
    "PublishedLimit",
    "RiseAndFall",
    "Step",
    "Trace",
    "Trend",
    "Walk",
    "against_before",
    "answer_line",
    "answered",
    "breaths_of",
    "checklist_from_tables",
    "compensating_flow",
    "decay_of_trace",
    "due",
    "forms_offered",
    "head_line",
    "item_from_json",
    "judge_leak",
    "leak_in_use",
    "limits_of_profile",
    "load_checklist",
    "past_from_json",
    "pressure_decay",
    "published_limits",
    "rise_and_fall",
    "rise_and_fall_of_trace",
    "standard_checklist",
    "trace_from_text",
    "trace_of",
    "trend",
    "trend_of",
    "two_pressures",
    "ventilator_on_lung",
    "walk_from_lines",
    "worse",
]
