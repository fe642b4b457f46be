"""One table of units: name suffix, label, UCUM code, conversion. The only place a number changes unit.

Exact factors: UCUM (ucum-essence.xml, 2024): 1 m[H2O] = 9.80665 kPa, 1 m[Hg] = 133.3220 kPa,
1 atm = 101.325 kPa. Note that UCUM's millimetre of mercury is 133.3220 Pa.
"""

from dataclasses import dataclass

from lungeline.errors import UnitError


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit as it ends a name (`suffix`), as a person reads it (`label`), and as UCUM writes it.

    A value v in this unit is `v * factor + offset` in the base unit of its quantity.
    """

    suffix: str
    label: str
    ucum: str
    quantity: str
    factor: float = 1.0
    offset: float = 0.0


_TABLE = (
    Unit("l", "L", "L", "volume"),
    Unit("ml", "mL", "mL", "volume", 1e-3),
    Unit("l_s", "L/s", "L/s", "flow"),
    Unit("l_min", "L/min", "L/min", "flow", 1 / 60),
    Unit("ml_min", "mL/min", "mL/min", "flow", 1e-3 / 60),
    Unit("ml_h", "mL/h", "mL/h", "flow", 1e-3 / 3600),
    Unit("cmh2o", "cmH2O", "cm[H2O]", "pressure", 0.0980665),
    Unit("mmhg", "mmHg", "mm[Hg]", "pressure", 0.133322),
    Unit("kpa", "kPa", "kPa", "pressure"),
    Unit("bar", "bar", "bar", "pressure", 100.0),
    Unit("mbar", "mbar", "mbar", "pressure", 0.1),
    Unit("psi", "psi", "[psi]", "pressure", 6.894757293168),
    Unit("l_cmh2o", "L/cmH2O", "L/cm[H2O]", "compliance"),
    Unit("ml_cmh2o", "mL/cmH2O", "mL/cm[H2O]", "compliance", 1e-3),
    Unit("ml_cmh2o_kg", "mL/cmH2O/kg", "mL/cm[H2O]/kg", "compliance per weight"),
    Unit("cmh2o_s_l", "cmH2O·s/L", "cm[H2O].s/L", "resistance"),
    Unit("cmh2o_s2_l2", "cmH2O·s²/L²", "cm[H2O].s2/L2", "turbulent resistance"),
    Unit("per_min", "/min", "/min", "rate", 1 / 60),
    Unit("per_s", "1/s", "/s", "rate"),
    Unit("hz", "Hz", "Hz", "rate"),
    Unit("per_s_cmh2o", "1/s/cmH2O", "/s/cm[H2O]", "rate per pressure"),
    Unit("s", "s", "s", "time"),
    Unit("min", "min", "min", "time", 60.0),
    Unit("minutes", "min", "min", "time", 60.0),
    Unit("h", "h", "h", "time", 3600.0),
    Unit("hours", "h", "h", "time", 3600.0),
    Unit("years", "years", "a", "age"),
    Unit("kg", "kg", "kg", "mass"),
    Unit("g", "g", "g", "mass", 1e-3),
    Unit("mg", "mg", "mg", "mass", 1e-6),
    Unit("lb", "lb", "[lb_av]", "mass", 0.45359237),
    Unit("m", "m", "m", "length"),
    Unit("cm", "cm", "cm", "length", 1e-2),
    Unit("mm", "mm", "mm", "length", 1e-3),
    Unit("deg", "°", "deg", "angle"),
    Unit("c", "°C", "Cel", "temperature", 1.0, 273.15),
    Unit("k", "K", "K", "temperature"),
    Unit("per_c", "1/°C", "/K", "per temperature"),
    Unit("fraction", "1", "1", "fraction"),
    Unit("percent", "%", "%", "fraction", 1e-2),
    Unit("multiple", "multiple", "1", "multiple"),
    Unit("ratio", "ratio", "1", "ratio"),
    Unit("number", "1", "1", "number"),
    Unit("ph", "pH", "[pH]", "acidity"),
    Unit("mmol_l", "mmol/L", "mmol/L", "concentration"),
    Unit("g_dl", "g/dL", "g/dL", "mass concentration", 10.0),
    Unit("g_ml", "g/mL", "g/mL", "mass concentration", 1000.0),
    Unit("kg_m3", "kg/m³", "kg/m3", "mass concentration"),
    Unit("g_mol", "g/mol", "g/mol", "molar mass"),
    Unit("l_l", "L/L", "L/L", "content"),
    Unit("ml_dl", "mL/dL", "mL/dL", "content", 1e-2),
    Unit("ml_g", "mL/g", "mL/g", "volume per mass"),
    Unit("l_kg", "L/kg", "L/kg", "volume per mass"),
    Unit("ml_kg", "mL/kg", "mL/kg", "volume per mass", 1e-3),
    Unit("l_100g", "L/100 g", "L/(100.g)", "volume per mass", 10.0),
    Unit("ml_ml", "mL/mL", "mL/mL", "vapour yield"),
    Unit("ml_kg_min", "mL/kg/min", "mL/kg/min", "flow per mass"),
    Unit("ml_kg_mmhg", "mL/kg/mmHg", "mL/kg/mm[Hg]", "store per mass"),
    Unit("ml_kg_min_mmhg", "mL/kg/min/mmHg", "mL/kg/min/mm[Hg]", "conductance per mass"),
    Unit("ml_kg_min075", "mL/kg^0.75/min", "mL/min", "flow per metabolic mass"),
    Unit("ug_kg_min", "µg/kg/min", "ug/kg/min", "dose rate"),
    Unit("mg_kg", "mg/kg", "mg/kg", "dose"),
    Unit("mmhg_min_l", "mmHg·min/L", "mm[Hg].min/L", "vascular resistance"),
    Unit("mmhg_min", "mmHg/min", "mm[Hg]/min", "pressure change"),
    Unit("ppm", "ppm", "[ppm]", "fraction", 1e-6),
    Unit("pa_s", "Pa·s", "Pa.s", "viscosity"),
    Unit("l_psi", "L/psi", "L/[psi]", "volume per pressure"),
    Unit("cmh2o_s2_l", "cmH2O·s²/L", "cm[H2O].s2/L", "inertance"),
    Unit("l_mol", "L/mol", "L/mol", "volume per amount"),
    Unit("kj_mol", "kJ/mol", "kJ/mol", "energy per amount"),
    Unit("k_m", "K/m", "K/m", "temperature gradient"),
    Unit("c_h", "°C/h", "Cel/h", "temperature change"),
    Unit("kg_ml", "kg/mL", "kg/mL", "mass concentration", 1e6),
    Unit("mg_m3", "mg/m³", "mg/m3", "mass concentration", 1e-6),
    Unit("kg_h", "kg/h", "kg/h", "mass flow"),
    Unit("ml_min_100g", "mL/min/100 g", "mL/min/(100.g)", "flow per mass", 10.0),
    Unit("ug_kg", "µg/kg", "ug/kg", "dose", 1e-3),
    Unit("ug_kg_h", "µg/kg/h", "ug/kg/h", "dose rate", 1 / 60),
    Unit("mg_kg_h", "mg/kg/h", "mg/kg/h", "dose rate", 1000 / 60),
    Unit("j", "J", "J", "energy"),
    Unit("j_min", "J/min", "J/min", "power", 1 / 60),
    Unit("f", "°F", "[degF]", "temperature", 5 / 9, 459.67 * 5 / 9),
    Unit("ft", "ft", "[ft_i]", "length", 0.3048),
    Unit("cmh2o_min", "cmH2O/min", "cm[H2O]/min", "pressure change", 0.0980665 / 0.133322),
    Unit("ug", "µg", "ug", "mass", 1e-9),
    Unit("mg_ml", "mg/mL", "mg/mL", "mass concentration"),
    Unit("mg_h", "mg/h", "mg/h", "mass flow", 1e-6),
    Unit("ml_kg_h", "mL/kg/h", "mL/kg/h", "flow per mass", 1 / 60),
    Unit("cmh2o_l", "cmH2O/L", "cm[H2O]/L", "elastance"),
    Unit("cmh2o_l2", "cmH2O/L²", "cm[H2O]/L2", "elastance per volume"),
    Unit("cost", "currency", "1", "money"),
)

UNITS: dict[str, Unit] = {unit.suffix: unit for unit in _TABLE}
_BY_LENGTH = sorted(UNITS, key=len, reverse=True)


def unit_of(name: str) -> Unit | None:
    """Return the unit a name carries at its end, or None where it carries none.

    >>> unit_of("set_tidal_volume_l").label
    'L'
    >>> unit_of("compliance_l_cmh2o").label
    'L/cmH2O'
    >>> unit_of("priming.minutes").label
    'min'
    >>> unit_of("species") is None
    True
    """
    last = name.rpartition(".")[2]
    for suffix in _BY_LENGTH:
        if last == suffix or last.endswith(f"_{suffix}"):
            return UNITS[suffix]
    return None


def convert(value: float, from_suffix: str, to_suffix: str) -> float:
    """Convert a value between two units of one quantity.

    value: in the unit `from_suffix`. Returns the value in `to_suffix`.
    Raises UnitError for an unknown suffix or another quantity.

    >>> round(convert(30.0, "cmh2o", "kpa"), 3)
    2.942
    """
    for suffix in (from_suffix, to_suffix):
        if suffix not in UNITS:
            raise UnitError(
                where="unit", given=suffix, allowed=", ".join(UNITS), do="Take a suffix from the table."
            )
    source, target = UNITS[from_suffix], UNITS[to_suffix]
    if source.quantity != target.quantity:
        raise UnitError(
            where="unit",
            given=f"{source.label} to {target.label}",
            allowed=f"units of {source.quantity}",
            do="Convert within one quantity only.",
        )
    return (value * source.factor + source.offset - target.offset) / target.factor
