"""The theatre: conducts one anaesthetic, from opening its record to the signature under it."""

from lungeline.theatre.anonymised import anonymised
from lungeline.theatre.backups import Backups, Round, Schedule
from lungeline.theatre.case_clock import CaseClock, case_clock, moment_told
from lungeline.theatre.case_list import CaseInList, Damaged
from lungeline.theatre.case_to_plan import case_to_plan
from lungeline.theatre.cases import SIMULATED, CaseNow, Cases
from lungeline.theatre.clinic_profile import PROFILE_FILE, clinic_profile
from lungeline.theatre.completeness import missing
from lungeline.theatre.controlled import Reconciled, reconciled
from lungeline.theatre.copies import back_up_all, export_case, restore
from lungeline.theatre.desk import Desk, this_author, this_device
from lungeline.theatre.people import (
    NEEDS,
    RIGHTS,
    Device,
    Person,
    Pin,
    Right,
    Role,
    check_right,
    new_pin,
    read_people,
)
from lungeline.theatre.phases import NEXT, check_phase
from lungeline.theatre.planned import DoseBesidePlan, doses_beside_plan, plan_body
from lungeline.theatre.signing import Version, as_signed, findings_before_signing, sign, versions
from lungeline.theatre.team import Attendance, team
from lungeline.theatre.totals import InfusionSoFar, Totals, totals

__all__ = [
    "NEEDS",
    "NEXT",
    "PROFILE_FILE",
    "RIGHTS",
    "SIMULATED",
    "Attendance",
    "Backups",
    "CaseClock",
    "CaseInList",
    "CaseNow",
    "Cases",
    "Damaged",
    "Desk",
    "Device",
    "DoseBesidePlan",
    "InfusionSoFar",
    "Person",
    "Pin",
    "Reconciled",
    "Right",
    "Role",
    "Round",
    "Schedule",
    "Totals",
    "Version",
    "anonymised",
    "as_signed",
    "back_up_all",
    "case_clock",
    "case_to_plan",
    "check_phase",
    "check_right",
    "clinic_profile",
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
    "team",
    "this_author",
    "this_device",
    "totals",
    "versions",
]
