"""A clinic's own choices: bands, limits, margins, prices and doses, signed by whoever answers for them.

Read from a TOML file; what it does not say stays as the program brings it, and is then unsigned.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Any, Literal, get_args

from lungeline.case.checks import check_record, checked_table
from lungeline.case.fields import choice, described, number, text
from lungeline.case.refusals import shown
from lungeline.case.unknown_keys import Hints
from lungeline.errors import InputError, MissingError, OutOfRangeError

Language = Literal["en", "de"]
_LARGEST_FILE_BYTES = 1_000_000
_MOST_DOSES = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class SignedDose:
    """One dose a clinic has chosen.

    drug: name in the formulary; use: what for, as the formulary says, such as "premedication".
    value_text: dose with its unit, as in "0.6 mg/kg"; route: such as "IV".
    strength_text: strength of the bottle, as in "100 mg/mL".
    signed_by, signed_on: who answers for it, and since when (a date).
    """

    drug: str = field(metadata=text(60, "drug"))
    use: str = field(metadata=text(60, "use"))
    dose: str = field(metadata=text(40, "dose"))
    strength: str = field(default="", metadata=text(40, "strength"))
    route: str = field(default="", metadata=text(30, "route"))
    species: str = field(default="", metadata=text(30, "species, every one where empty"))
    signed_by: str = field(default="", metadata=text(80, "signed by"))
    signed_on: str = field(default="", metadata=text(20, "signed on"))

    def __post_init__(self) -> None:
        """Refuse what cannot be read."""
        check_record(self, "doses")


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """The choices a plan is made by. All have a default; `signed_by` empty means nobody answers for them.

    Tidal volume, rate, inspiratory time and PEEP are None to follow the species' rule of thumb.
    """

    name: str = field(default="unsigned defaults", metadata=text(80, "name of the profile"))
    signed_by: str = field(default="", metadata=text(80, "signed by"))
    signed_on: str = field(default="", metadata=text(20, "signed on"))
    language: Language = field(default="en", metadata=choice(get_args(Language), "language"))

    tidal_volume_ml_kg: float | None = field(default=None, metadata=number(4, 25, "tidal volume"))
    respiratory_rate_per_min: float | None = field(default=None, metadata=number(2, 60, "rate"))
    inspiratory_time_s: float | None = field(default=None, metadata=number(0.3, 5, "inspiratory time"))
    peep_cmh2o: float | None = field(default=None, metadata=number(0, 30, "PEEP"))
    paco2_low_mmhg: float = field(default=45.0, metadata=number(25, 90, "lowest PaCO2 wanted"))
    paco2_high_mmhg: float = field(default=60.0, metadata=number(30, 110, "highest PaCO2 wanted"))
    least_pao2_mmhg: float = field(default=80.0, metadata=number(40, 400, "lowest PaO2 accepted"))
    least_map_mmhg: float = field(default=70.0, metadata=number(40, 120, "lowest arterial pressure"))
    mac_multiple: float = field(default=1.2, metadata=number(0.3, 2.5, "depth wanted"))
    circle_oxygen_fraction: float = field(
        default=0.9, metadata=number(0.21, 1, "oxygen wanted in the circle")
    )
    accepted_peak_cmh2o: float = field(default=35.0, metadata=number(10, 80, "peak pressure accepted"))
    pressure_limit_margin_cmh2o: float = field(default=10.0, metadata=number(0, 30, "margin of the limit"))
    pressure_limit_cap_cmh2o: float = field(default=60.0, metadata=number(15, 100, "highest limit"))
    highest_peep_cmh2o: float = field(default=15.0, metadata=number(0, 30, "highest PEEP tried"))
    expiration_time_constants_number: float = field(
        default=3.0, metadata=number(1, 10, "time constants to breathe out")
    )
    spare_to_begin_multiple: float = field(default=2.0, metadata=number(0, 6, "spare to begin with"))
    spare_settled_multiple: float = field(default=0.9, metadata=number(0, 6, "spare once settled"))
    first_breath_multiple: float = field(default=2.0, metadata=number(1, 5, "first own breath allowed for"))
    settled_after_min: float = field(default=15.0, metadata=number(2, 120, "time until settled"))
    priming_flow_l_min: float = field(default=10.0, metadata=number(1, 60, "priming flow"))
    priming_vaporiser_percent: float = field(default=0.0, metadata=number(0, 18, "dial while priming"))
    mixing_number: float = field(default=1.1, metadata=number(0.3, 1.5, "mixing of the circle"))
    reserve_fraction: float = field(default=0.25, metadata=number(0, 0.9, "oxygen kept in reserve"))
    recovery_oxygen_l_min: float = field(default=15.0, metadata=number(0, 60, "oxygen in recovery"))
    gauge_valid_min: float = field(default=60.0, metadata=number(1, 1440, "how long a gauge reading holds"))
    off_circuit_limit_min: float = field(default=3.0, metadata=number(0.5, 15, "longest off the circle"))
    oxygen_price_per_1000l: float | None = field(
        default=None, metadata=number(0, 1e5, "price of 1000 L oxygen")
    )
    agent_price_per_100ml: float | None = field(
        default=None, metadata=number(0, 1e6, "price of 100 mL agent")
    )
    absorbent_price_per_kg: float | None = field(
        default=None, metadata=number(0, 1e5, "price of 1 kg absorbent")
    )
    currency: str = field(default="", metadata=text(10, "currency"))
    leak_pass_ml_min: float | None = field(default=None, metadata=number(0, 20000, "leak that passes"))
    leak_fail_ml_min: float | None = field(default=None, metadata=number(0, 50000, "leak that fails"))
    leak_caution_of_fresh_gas_fraction: float | None = field(
        default=None, metadata=number(0, 1, "share of fresh gas at which a leak cautions")
    )
    leak_fail_of_fresh_gas_fraction: float | None = field(
        default=None, metadata=number(0, 1, "share of fresh gas at which a leak fails")
    )
    leak_fail_of_tidal_volume_fraction: float | None = field(
        default=None, metadata=number(0, 1, "share of a breath at which a leak fails")
    )
    leak_limits_reason: str = field(default="", metadata=text(300, "why these limits for a leak"))
    doses: tuple[SignedDose, ...] = ()

    def __post_init__(self) -> None:
        """Refuse values nobody could mean, and bands upside down."""
        check_record(self, "profile")
        if self.paco2_low_mmhg >= self.paco2_high_mmhg:
            raise OutOfRangeError(
                where="profile.paco2_low_mmhg",
                given=f"{self.paco2_low_mmhg:g} with paco2_high_mmhg = {self.paco2_high_mmhg:g}",
                allowed="a lower end below the upper end",
                do="Correct one of the two.",
            )

    @property
    def signed(self) -> bool:
        """Whether somebody answers for it."""
        return bool(self.signed_by and self.signed_on)

    def as_json(self) -> dict[str, Any]:
        """Return everything in force, as a plain object."""
        told: dict[str, Any] = {
            item.name: getattr(self, item.name) for item in fields(self) if item.name != "doses"
        }
        told["doses"] = [
            {item.name: getattr(dose, item.name) for item in fields(dose)} for dose in self.doses
        ]
        return {"schema": SCHEMA, **told}


SCHEMA = "lungeline.profile/1"


def load_profile(path: str | Path) -> Profile:
    """Return the profile written in a TOML file. Raises InputError for the first thing that is wrong."""
    try:
        content = Path(path).read_bytes()
        written = content.decode("utf-8-sig")
    except FileNotFoundError:
        raise MissingError(
            where="profile file", given=str(path), allowed="a file that exists", do="Check name and folder."
        ) from None
    except (OSError, ValueError) as error:
        raise InputError(
            where="profile file", given=str(path), allowed="readable text in UTF-8", do="Save it as text."
        ) from error
    if len(content) > _LARGEST_FILE_BYTES:
        raise InputError(
            where="profile file", given=str(path), allowed="at most 1 MB", do="Give a profile only."
        )
    return profile_from_toml(written)


def profile_from_toml(written: str) -> Profile:
    """Return the profile of a TOML text. Raises InputError for the first thing that is wrong.

    >>> profile_from_toml("tidal_volume_ml_kg = 12").tidal_volume_ml_kg
    12.0
    """
    try:
        tables = tomllib.loads(written)
    except (ValueError, RecursionError) as error:
        raise InputError(
            where="profile file", given=str(error), allowed="lines of key = value", do="Correct that line."
        ) from None
    return profile_from_tables(tables)


def profile_from_tables(tables: Mapping[str, object]) -> Profile:
    """Return the profile a mapping describes."""
    given = {key: value for key, value in tables.items() if key not in {"doses", "schema"}}
    hints = Hints(sections=dict.fromkeys(described(SignedDose), "[[doses]]"))
    values = checked_table(described(Profile), given, "profile", hints)
    return Profile(**values, doses=tuple(_doses(tables.get("doses", []))))


def _doses(given: object) -> list[SignedDose]:
    if not isinstance(given, list) or len(given) > _MOST_DOSES:
        raise InputError(
            where="profile.doses",
            given=shown(given),
            allowed=f"a list of tables, at most {_MOST_DOSES}",
            do="Head each with [[doses]].",
        )
    found = []
    for place, row in enumerate(given, start=1):
        if not isinstance(row, dict):
            raise InputError(
                where=f"profile.doses[{place}]", given=shown(row), allowed="a table", do="Head it [[doses]]."
            )
        found.append(SignedDose(**checked_table(described(SignedDose), row, f"profile.doses[{place}]")))
    return found
