"""The nouns of one anaesthetic: frozen records, the rules of thumb that complete them, and their files."""

from lungeline.case.animal import Animal
from lungeline.case.breath import BREATH_KEYS, Breath
from lungeline.case.case import Case
from lungeline.case.change import Change
from lungeline.case.equipment import Equipment
from lungeline.case.fault_event import FaultEvent
from lungeline.case.finding import SEVERITIES, Finding, Severity, gravest_first
from lungeline.case.json_form import case_from_json, case_to_json
from lungeline.case.manoeuvre import (
    DeepBreath,
    DemandValve,
    Disconnect,
    ExpiratoryHold,
    Flush,
    HandVentilation,
    InspiratoryHold,
    Manoeuvre,
    Recruitment,
)
from lungeline.case.place import Place
from lungeline.case.procedure import Procedure
from lungeline.case.profile import Profile, SignedDose, load_profile, profile_from_toml
from lungeline.case.reading import Block, Reading
from lungeline.case.reasoned import Reasoned, from_figure
from lungeline.case.settings import Settings
from lungeline.case.start import Start
from lungeline.case.supply import Cylinder, Supply
from lungeline.case.tables import case_from_tables
from lungeline.case.timeline import Stretch
from lungeline.case.toml import case_from_toml, case_to_toml, load_case

__all__ = [
    "BREATH_KEYS",
    "SEVERITIES",
    "Animal",
    "Block",
    "Breath",
    "Case",
    "Change",
    "Cylinder",
    "DeepBreath",
    "DemandValve",
    "Disconnect",
    "Equipment",
    "ExpiratoryHold",
    "FaultEvent",
    "Finding",
    "Flush",
    "HandVentilation",
    "InspiratoryHold",
    "Manoeuvre",
    "Place",
    "Procedure",
    "Profile",
    "Reading",
    "Reasoned",
    "Recruitment",
    "Settings",
    "Severity",
    "SignedDose",
    "Start",
    "Stretch",
    "Supply",
    "case_from_json",
    "case_from_tables",
    "case_from_toml",
    "case_to_json",
    "case_to_toml",
    "from_figure",
    "gravest_first",
    "load_case",
    "load_profile",
    "profile_from_toml",
]
