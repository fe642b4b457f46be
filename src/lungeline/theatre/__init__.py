"""The theatre: conducts one anaesthetic, from opening its record to the signature under it."""

from lungeline.theatre.anonymised import anonymised
from lungeline.theatre.case_clock import CaseClock, case_clock, moment_told
from lungeline.theatre.cases import SIMULATED, CaseNow, Cases
from lungeline.theatre.completeness import missing
from lungeline.theatre.controlled import Reconciled, reconciled
from lungeline.theatre.copies import back_up_all, export_case, restore
from lungeline.theatre.desk import Desk, this_author, this_device
from lungeline.theatre.people import NEEDS, RIGHTS, Device, Person, Pin, Right, Role, new_pin, read_people
from lungeline.theatre.phases import NEXT, check_phase
from lungeline.theatre.planned import DoseBesidePlan, doses_beside_plan, plan_body
from lungeline.theatre.signing import Version, as_signed, findings_before_signing, sign, versions
from lungeline.theatre.totals import InfusionSoFar, Totals, totals

__all__ = [
    "NEEDS",
    "NEXT",
    "RIGHTS",
    "SIMULATED",
    "CaseClock",
    "CaseNow",
    "Cases",
    "Desk",
    "Device",
    "DoseBesidePlan",
    "InfusionSoFar",
    "Person",
    "Pin",
    "Reconciled",
    "Right",
    "Role",
    "Totals",
    "Version",
    "anonymised",
    "as_signed",
    "back_up_all",
    "case_clock",
    "check_phase",
    "doses_beside_plan",
    "export_case",
    "findings_before_signing",
    "missing",
    "moment_told",
    "new_pin",
    "plan_body",
    "read_people",
    "reconciled",
    "restore",
    "sign",
    "this_author",
    "this_device",
    "totals",
    "versions",
]
