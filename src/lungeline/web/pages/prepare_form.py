"""What the page asks to plan by: five questions first, the rest where somebody wants it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, get_args

from lungeline.case.animal import Animal, Condition, Position, Species
from lungeline.case.equipment import Equipment
from lungeline.case.fields import described
from lungeline.case.place import Place
from lungeline.case.procedure import Procedure, ProcedureKind
from lungeline.case.settings import Agent
from lungeline.case.supply import Cylinder, DriveGas, OxygenSource, Supply
from lungeline.reference import figures

_RECORDS = {
    "animal": Animal,
    "place": Place,
    "equipment": Equipment,
    "procedure": Procedure,
    "supply": Supply,
    "cylinders": Cylinder,
}
# Asked under "more", in the order of the work: the animal, the job, the machine, the place, what must last.
_MORE: Mapping[str, tuple[str, ...]] = {
    "animal": ("animal.age_years", "animal.girth_cm", "animal.length_cm", "animal.head_up_deg"),
    "procedure": ("procedure.expected_min", "procedure.off_circuit_min", "procedure.recovery_min"),
    "equipment": (
        "equipment.tube_internal_diameter_mm",
        "equipment.circle_volume_l",
        "equipment.leak_at_30_cmh2o_ml_min",
        "equipment.sample_flow_l_min",
        "equipment.flow_ceiling_l_s",
    ),
    "place": ("place.altitude_m", "place.barometric_pressure_mmhg"),
    "supply": (
        "supply.agent_liquid_ml",
        "equipment.absorbent_kg",
        "equipment.absorbent_used_fraction",
    ),
}
_SIZES_BEGIN, _WATER = "cylinders.", ".water_l"


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One number to type. name: its place in a case; value: as known already; usual: where left empty."""

    name: str
    field: str
    word: str
    value: float | None
    usual: float | None


def asked(tables: Mapping[str, Any]) -> dict[str, Any]:
    """Return everything the form shows, with what is known of the case in it."""
    return {
        "weight": _number("animal.weight_kg", tables),
        "reservoir": _number("equipment.reservoir_capacity_l", tables),
        "species": _choices("animal.species", get_args(Species), tables, "horse", words="cases."),
        "positions": _choices("animal.position", get_args(Position), tables, "dorsal", words="cases."),
        "procedures": _choices("procedure.kind", get_args(ProcedureKind), tables, "elective surgery"),
        "conditions": _choices("animal.condition", get_args(Condition), tables, "healthy"),
        "oxygen": _choices("supply.oxygen", get_args(OxygenSource), tables, "pipeline"),
        "drives": _choices("supply.drive_gas", get_args(DriveGas), tables, "none", words="prepare.drive_"),
        "agents": _choices("settings.agent", get_args(Agent), tables, "isoflurane"),
        "more": {group: [_number(name, tables) for name in names] for group, names in _MORE.items()},
        "cylinder_sizes": cylinder_sizes(),
        "cylinder_numbers": [
            _number(f"cylinders.{name}", {}) for name in ("gauge_bar", "count_number", "temperature_c")
        ],
    }


def cylinder_sizes() -> list[dict[str, str]]:
    """Return the sizes of cylinders there are figures for, and how they are called."""
    found = {
        name.removeprefix(_SIZES_BEGIN).partition(".")[0]
        for name in figures()
        if name.startswith(_SIZES_BEGIN) and (name.endswith(_WATER) or "metric" in name)
    }
    return [{"size": size, "called": _called(size)} for size in sorted(found)]


def _called(size: str) -> str:
    """Return a size as it stands on a cylinder.

    >>> _called("us_h"), _called("metric_10l")
    ('US H', '10 L')
    """
    kind, _, name = size.partition("_")
    return f"{name.removesuffix('l')} L" if kind == "metric" else f"{kind.upper()} {name.upper()}"


def _number(name: str, tables: Mapping[str, Any]) -> Asked:
    section, _, field = name.partition(".")
    record = _RECORDS[section]
    usual = record.__dataclass_fields__[field].default  # type: ignore[attr-defined]  # all are dataclasses
    table = tables.get(section, {})
    value = table.get(field) if isinstance(table, Mapping) else None
    doc = described(record)[field]
    known = usual if isinstance(usual, int | float) and not doc.required else None
    return Asked(
        name=name,
        field=field,
        word=f"prepare.{field}",
        value=None if value == known else value,
        usual=known,
    )


def _choices(
    name: str, values: tuple[str, ...], tables: Mapping[str, Any], usual: str, *, words: str = "prepare."
) -> list[dict[str, Any]]:
    section, _, field = name.partition(".")
    chosen = tables.get(section, {}).get(field) or usual
    return [
        {
            "name": name,
            "value": each,
            "word": f"{words}{each.replace(' ', '_')}",
            "chosen": each == chosen,
        }
        for each in values
    ]
