"""What a vaporiser gives at this altitude, the liquid it uses for it, and the dial that gives a fraction."""

from dataclasses import dataclass
from typing import Self

from lungeline.case import Case, Profile, Reasoned
from lungeline.figure import Figure
from lungeline.physics.agent_use import agent_liquid_from_carrier_ml_h, vapour_yield_ml_ml
from lungeline.physics.constants import STANDARD_PRESSURE_MMHG
from lungeline.physics.gas_laws import molar_volume_l_mol
from lungeline.physics.vapour import bypass_output_fraction
from lungeline.physiology.closed_circuit import (
    arterial_content_lowe1981_ml_dl,
    cumulative_uptake_lowe1981_ml,
    output_lowe1981_l_min,
)
from lungeline.physiology.mac import mac_at_pressure_percent, mac_at_temperature_percent
from lungeline.plan.derive import Reason, derived
from lungeline.reference import figure
from lungeline.simulate.setup import (
    MAC_FALL_PER_C,
    MAC_TEMPERATURE_C,
    PRESSURISED_AGENTS,
    barometric_pressure_mmhg,
)
from lungeline.units import convert

ROOM_C = 20.0  # flowmeters are marked for it
BODY_C = 37.0
# Highest mark of common vaporisers, from memory.
HIGHEST_DIAL_PERCENT = {"isoflurane": 5.0, "sevoflurane": 8.0, "desflurane": 18.0, "halothane": 5.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class Vaporiser:
    """One agent's vaporiser at one ambient pressure."""

    agent: str
    barometric_mmhg: float

    @classmethod
    def of(cls, case: Case) -> Self:
        """Return the vaporiser of a case."""
        return cls(agent=case.settings.agent, barometric_mmhg=barometric_pressure_mmhg(case))

    def published(self, name: str) -> Figure:
        """Return a figure of the agent."""
        return figure(f"agents.{self.agent}.{name}")

    @property
    def _thinner(self) -> float:
        """How much more vapour the same carrier takes up here, against sea level."""
        vapour_mmhg = self.published("saturated_vapour_pressure_20c_mmhg").value
        return (STANDARD_PRESSURE_MMHG - vapour_mmhg) / (self.barometric_mmhg - vapour_mmhg)

    def delivered_fraction(self, dial_percent: float) -> float:
        """Return the agent in the fresh gas at a dial."""
        dial = convert(dial_percent, "percent", "fraction")
        if self.agent in PRESSURISED_AGENTS:
            return dial
        vapour_mmhg = self.published("saturated_vapour_pressure_20c_mmhg").value
        return float(bypass_output_fraction(dial, vapour_mmhg, self.barometric_mmhg))

    def dial_percent(self, fraction: float) -> float:
        """Return the dial that gives a fraction: `delivered_fraction`, turned round."""
        if self.agent in PRESSURISED_AGENTS or fraction <= 0.0:
            return convert(fraction, "fraction", "percent")
        at_sea_level = fraction / (1.0 - fraction) / self._thinner
        return convert(at_sea_level / (1.0 + at_sea_level), "fraction", "percent")

    @property
    def vapour_yield_ml_ml(self) -> float:
        """Vapour from a millilitre of liquid, at 20 °C and this pressure."""
        return self._yield(ROOM_C)

    def _yield(self, temperature_c: float) -> float:
        return float(
            vapour_yield_ml_ml(
                self.published("density_g_ml").value,
                self.published("molar_mass_g_mol").value,
                float(molar_volume_l_mol(temperature_c, self.barometric_mmhg)),
            )
        )

    def liquid_ml_h(self, flow_l_min: float, dial_percent: float) -> float:
        """Return the liquid used at a flow by the flowmeters and a dial."""
        fraction = self.delivered_fraction(dial_percent)
        return float(agent_liquid_from_carrier_ml_h(flow_l_min, fraction, self.vapour_yield_ml_ml))

    def liquid_of_body_vapour_ml(self, vapour_ml: float) -> float:
        """Return the liquid that vapour at body temperature was."""
        return vapour_ml / self._yield(BODY_C)

    def body_to_room(self, volume: float) -> float:
        """Return a volume of vapour at body temperature as one at 20 °C."""
        room, body = (float(molar_volume_l_mol(t, self.barometric_mmhg)) for t in (ROOM_C, BODY_C))
        return volume * room / body


def wanted_percent(case: Case, profile: Profile) -> Reasoned:
    """Return the agent wanted in alveolar gas, per cent here, less what infusions lend."""
    animal, vaporiser = case.animal, Vaporiser.of(case)
    mac = vaporiser.published(f"mac_{animal.species}_percent")
    lent = case.settings.injectable_mac_multiple
    here = mac_at_temperature_percent(mac.value, MAC_TEMPERATURE_C, animal.temperature_c, MAC_FALL_PER_C)
    here = float(mac_at_pressure_percent(float(here), vaporiser.barometric_mmhg))
    depth = max(profile.mac_multiple - lent, 0.0)
    reason = Reason(
        formula="(depth wanted - depth by infusion) × MAC at this temperature and pressure",
        parts=(mac,),
        given={
            "mac_multiple": profile.mac_multiple,
            "injectable_mac_multiple": lent,
            "temperature_c": animal.temperature_c,
            "barometric_pressure_mmhg": vaporiser.barometric_mmhg,
        },
        sources=("profile",),
        note=mac.note,
    )
    per_mac = here / mac.value
    return derived(
        "schedule.wanted_percent",
        depth * here,
        reason,
        low=depth * mac.low * per_mac,
        high=depth * mac.high * per_mac,
    )


def body_uptake_ml(case: Case, wanted: Reasoned, minutes: float) -> float:
    """Return the vapour blood and tissues have taken by a time, as gas at 37 °C [mL].

    By the square root of time (Lowe & Ernst); a lower bound of what any technique must deliver.
    """
    blood_gas = figure(f"agents.{case.settings.agent}.blood_gas_{case.animal.species}_ratio").value
    content = arterial_content_lowe1981_ml_dl(1.0, wanted.value or 0.0, blood_gas)
    output = output_lowe1981_l_min(case.animal.weight_kg)
    return float(cumulative_uptake_lowe1981_ml(float(content), float(output), minutes))
