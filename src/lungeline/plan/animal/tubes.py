"""Tracheal tubes around the usual size: what each costs in pressure, and which fit this animal."""

from dataclasses import dataclass
from typing import Any

from lungeline.case import Animal, Case, Finding, Reasoned
from lungeline.figure import Figure
from lungeline.physics.constants import STANDARD_PRESSURE_MMHG
from lungeline.physics.tubes import tube_drop_cmh2o, tube_volume_ml
from lungeline.plan.derive import Reason, by_last_name, derived, number
from lungeline.reference import figure, figures
from lungeline.simulate.setup import barometric_pressure_mmhg

SIZES_EACH_SIDE = 2  # of the usual one, in the list of sizes
_ML_PER_L = 1000.0
# Of two tubes the narrower is worth a word when it costs this much more pressure: assumption.
_DEAR_CMH2O = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TubeOption:
    """One size. fits: whether it lies in the range for this animal; `why` says what speaks against it."""

    internal_diameter_mm: Reasoned
    length_cm: Reasoned
    volume_l: Reasoned
    pressure_cmh2o: Reasoned
    resistance_cmh2o_s_l: Reasoned
    fits: bool
    why: str = ""

    @property
    def numbers(self) -> tuple[Reasoned, ...]:
        """Every number of it."""
        return (
            self.internal_diameter_mm,
            self.length_cm,
            self.volume_l,
            self.pressure_cmh2o,
            self.resistance_cmh2o_s_l,
        )

    def as_json(self) -> dict[str, Any]:
        """Return the size as it stands in a plan."""
        return {**by_last_name(self.numbers), "fits": self.fits, "why": self.why}


@dataclass(frozen=True, slots=True, kw_only=True)
class Tubes:
    """What to lay out. expected_diameter_mm: the usual size with its range; options: narrowest first."""

    expected_diameter_mm: Reasoned
    flow_l_s: Reasoned
    options: tuple[TubeOption, ...]
    findings: tuple[Finding, ...] = ()

    @property
    def numbers(self) -> tuple[Reasoned, ...]:
        """Every number, those of the options too."""
        found = [self.expected_diameter_mm, self.flow_l_s]
        for option in self.options:
            found.extend(option.numbers)
        return tuple(found)

    def as_json(self) -> dict[str, Any]:
        """Return the tubes as they stand in a plan."""
        own = by_last_name((self.expected_diameter_mm, self.flow_l_s))
        return {**own, "options": [option.as_json() for option in self.options]}


def tubes(case: Case, flow_l_s: float | None = None) -> Tubes:
    """Return tube sizes around the usual one, with what each costs at the mean inspiratory flow.

    flow_l_s: planned mean inspiratory flow, tidal volume over inspiratory time of the case where None.
    """
    choice, gap_kg = _choice(case.animal)
    flow = _flow(case, flow_l_s)
    chosen_mm = case.equipment.tube_internal_diameter_mm
    offered = [_option(case, mm, flow, choice) for mm in _diameters_mm(choice, chosen_mm)]
    findings = [*_outside(case.animal, choice, gap_kg)]
    if chosen_mm is not None:
        findings += _about_chosen(case, chosen_mm, choice, offered)
    expected = derived(
        "tubes.expected_diameter_mm",
        choice.value,
        Reason(formula="usual for species and weight", parts=(choice,), note=choice.note,
               given={"weight_kg": case.animal.weight_kg, "species": case.animal.species}),
        low=choice.low,
        high=choice.high,
    )  # fmt: skip
    return Tubes(
        expected_diameter_mm=expected, flow_l_s=flow, options=tuple(offered), findings=tuple(findings)
    )


def _choice(animal: Animal) -> tuple[Figure, float]:
    """Return the sizes for this species and weight, and how far [kg] the weight lies outside their range."""
    groups = sorted(
        {name.split(".")[2] for name in figures() if name.startswith(f"tubes.choice.{animal.species}_")}
    )
    gaps_kg = {group: _gap_kg(group, animal.weight_kg) for group in groups}
    best = min(groups, key=lambda group: gaps_kg[group])
    return figure(f"tubes.choice.{best}.internal_diameter_mm"), gaps_kg[best]


def _gap_kg(group: str, weight_kg: float) -> float:
    low = figure(f"tubes.choice.{group}.from_weight_kg").value
    high = figure(f"tubes.choice.{group}.to_weight_kg").value
    return max(low - weight_kg, weight_kg - high, 0.0)


def _sizes_mm() -> list[float]:
    ending = ".internal_diameter_mm"
    return sorted(
        each.value
        for name, each in figures().items()
        if name.startswith("tubes.size.") and name.endswith(ending)
    )


def _diameters_mm(choice: Figure, chosen_mm: float | None) -> list[float]:
    """Return listed sizes around the usual one, and the chosen one with them."""
    sizes = _sizes_mm()
    middle = min(range(len(sizes)), key=lambda place: abs(sizes[place] - choice.value))
    around = sizes[max(middle - SIZES_EACH_SIDE, 0) : middle + SIZES_EACH_SIDE + 1]
    return sorted({*around, *([] if chosen_mm is None else [chosen_mm])})


def _flow(case: Case, flow_l_s: float | None) -> Reasoned:
    if flow_l_s is not None:
        return derived(
            "tubes.flow_l_s", flow_l_s, Reason(formula="planned mean inspiratory flow", sources=("case",))
        )
    s = case.settings
    reason = Reason(
        formula="tidal volume ÷ inspiratory time",
        given={"tidal_volume_l": s.tidal_volume_l, "inspiratory_time_s": s.inspiratory_time_s},
        sources=("case",),
    )
    return derived("tubes.flow_l_s", s.tidal_volume_l / s.inspiratory_time_s, reason)


def _option(case: Case, diameter_mm: float, flow: Reasoned, choice: Figure) -> TubeOption:
    place = f"tubes.id_{diameter_mm:g}mm".replace(".", "_").replace("tubes_", "tubes.")
    bore = derived(
        f"{place}.internal_diameter_mm", diameter_mm, Reason(formula="size", sources=("project-arithmetic",))
    )
    length = _length(case, diameter_mm, place)
    shape = (diameter_mm, number(length))
    volume_l = float(tube_volume_ml(*shape)) / _ML_PER_L
    pressure = _pressure(case, place, bore, length, flow)
    resistance = number(pressure) / number(flow) if number(flow) > 0.0 else None
    fits = choice.low <= diameter_mm <= choice.high
    too_wide = diameter_mm > choice.high
    why = "" if fits else ("wider than is used at this weight" if too_wide else "narrower than is used")
    return TubeOption(
        internal_diameter_mm=bore,
        length_cm=length,
        volume_l=derived(
            f"{place}.volume_l", volume_l, Reason(formula="volume of the bore", parts=(bore, length))
        ),
        pressure_cmh2o=pressure,
        resistance_cmh2o_s_l=derived(
            f"{place}.resistance_cmh2o_s_l",
            resistance,
            Reason(formula="pressure ÷ flow, at this flow only", parts=(pressure, flow)),
        ),
        fits=fits,
        why=why,
    )


def _length(case: Case, diameter_mm: float, place: str) -> Reasoned:
    given_cm = case.equipment.tube_length_cm
    if given_cm is not None and diameter_mm == case.equipment.tube_internal_diameter_mm:
        return derived(f"{place}.length_cm", given_cm, Reason(formula="as given", sources=("case",)))
    nearest_mm = min(_sizes_mm(), key=lambda listed: abs(listed - diameter_mm))
    listed = figure(f"tubes.size.id_{nearest_mm:g}mm.length_cm")
    return derived(f"{place}.length_cm", listed.value, Reason(formula="usual for this bore", parts=(listed,)))


def _pressure(case: Case, place: str, bore: Reasoned, length: Reasoned, flow: Reasoned) -> Reasoned:
    density = figure("tubes.method.oxygen_density_kg_m3")
    viscosity = figure("tubes.method.oxygen_viscosity_pa_s")
    heads = figure("tubes.method.dynamic_heads_number")
    thinner = barometric_pressure_mmhg(case) / STANDARD_PRESSURE_MMHG
    drop = tube_drop_cmh2o(
        number(flow),
        number(bore),
        number(length),
        density.value * thinner,
        viscosity.value,
        heads.value,
    )
    reason = Reason(
        formula="friction on the wall by Blasius + dynamic heads, at the mean inspiratory flow",
        parts=(bore, length, flow, density, viscosity, heads),
        note="Computed: no resistance of large tubes has been measured. A kink or mucus costs far more.",
    )
    return derived(f"{place}.pressure_cmh2o", float(drop), reason)


def _outside(animal: Animal, choice: Figure, gap_kg: float) -> list[Finding]:
    if gap_kg <= 0.0:
        return []
    told: dict[str, float | str | None] = {
        "weight_kg": animal.weight_kg, "species": animal.species, "expected_mm": choice.value
    }  # fmt: skip
    return [
        Finding(
            code="tube_weight_outside", severity="advice", about="tubes.expected_diameter_mm", figures=told
        )
    ]


def _about_chosen(case: Case, chosen_mm: float, choice: Figure, offered: list[TubeOption]) -> list[Finding]:
    told: dict[str, float | str | None] = {
        "tube_mm": chosen_mm, "low_mm": choice.low, "high_mm": choice.high, "species": case.animal.species,
        "weight_kg": case.animal.weight_kg,
    }  # fmt: skip
    about = "equipment.tube_internal_diameter_mm"
    found = []
    if chosen_mm > choice.high:
        young = case.animal.species in {"foal", "calf"}
        found.append(
            Finding(code="tube_adult_size", severity="stop", about=about, figures=told)
            if young
            else Finding(code="tube_too_wide", severity="caution", about=about, figures=told)
        )
    if _injures(case.animal, chosen_mm):
        found.append(Finding(code="tube_wide_injures", severity="caution", about=about, figures=told))
    dearer = _pressure_of(offered, chosen_mm) - _pressure_of(offered, choice.value)
    if chosen_mm < choice.low or dearer >= _DEAR_CMH2O:
        more = {**told, "dearer_cmh2o": dearer, "expected_mm": choice.value}
        found.append(Finding(code="tube_narrow", severity="advice", about=about, figures=more))
    return found


def _injures(animal: Animal, chosen_mm: float) -> bool:
    """Whether the tube is one that injured tracheas of average horses (Burns 2020, abstract)."""
    average_kg = figure("species.horse.weight_kg").value
    wide_mm = figure("tubes.seen.adult_horses_mm").value
    return animal.species == "horse" and chosen_mm >= wide_mm and animal.weight_kg <= average_kg


def _pressure_of(offered: list[TubeOption], diameter_mm: float) -> float:
    nearest = min(offered, key=lambda option: abs(number(option.internal_diameter_mm) - diameter_mm))
    return number(nearest.pressure_cmh2o)
