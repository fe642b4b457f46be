"""The parameters of the simulated animal as one page of Markdown: the horse, then how others differ."""

from collections.abc import Iterable, Mapping

from lungeline.reference import Parameter, figure, parameters
from lungeline.reference.page import number_text, range_text, value_text

_REFERENCE_WEIGHT = "animal.reference_weight_kg"
_INTRODUCTION = """\
# Parameters of the simulated animal

What makes the [model](../model.md) a horse. *Exponent* says how a number follows weight: value times (weight
over {weight_kg:g} kg) to this power; it is left empty where weight does not matter. *Spread* is the standard
deviation of the natural logarithm between animals, from which a herd is drawn; it is left empty where all
animals share the number. *Basis* says how far to trust it: what is *fitted* was chosen so that published
studies come out (see [evidence](evidence.md)); *assumption* and *memory* are what they say.
"""
_HORSE = "horse"


def parameters_page() -> str:
    """Return the page."""
    everything = parameters("animal")
    species = dict.fromkeys(name.partition(".")[0] for name in everything if "." in name)
    weight_kg = figure(_REFERENCE_WEIGHT).value
    groups = (line for name in species for line in _group(name, everything, weight_kg))
    return "\n".join([_INTRODUCTION.format(weight_kg=weight_kg), *groups])


def _group(species: str, everything: Mapping[str, Parameter], weight_kg: float) -> Iterable[str]:
    heading = f"## {species.capitalize()}, reckoned for {weight_kg:g} kg"
    yield heading if species == _HORSE else f"{heading}, where it differs from the horse"
    yield from ("", *_table(_own(species, everything)), "")


def _own(species: str, everything: Mapping[str, Parameter]) -> dict[str, Parameter]:
    start = f"{species}."
    return {name.removeprefix(start): p for name, p in everything.items() if name.startswith(start)}


def _table(found: Mapping[str, Parameter]) -> list[str]:
    head = "| parameter | value | range | exponent | spread | basis | source | note |"
    return [head, "|" + "---|" * 8, *(_row(name, parameter) for name, parameter in found.items())]


def _row(name: str, parameter: Parameter) -> str:
    it = parameter.figure
    cells = (
        f"`{name}`",
        value_text(it),
        range_text(it),
        number_text(parameter.weight_exponent) if parameter.weight_exponent else "",
        number_text(parameter.spread_log_sd) if parameter.spread_log_sd else "",
        it.basis,
        f"[{it.source}](figures.md#source-{it.source})",
        it.note,
    )
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"
