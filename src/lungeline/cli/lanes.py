"""What the picture of a course shows: lanes, one a scale, and the lines in each.

Colours are the set of Okabe & Ito 2008, told apart by nearly everybody; each line has its own dash too.
"""

from dataclasses import dataclass

from lungeline.units import UNITS

_BLACK, _ORANGE, _SKY, _GREEN = "#000000", "#E69F00", "#56B4E9", "#009E73"
_BLUE, _VERMILION, _PURPLE = "#0072B2", "#D55E00", "#CC79A7"


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One quantity of a lane: key of the breath, words of the legend, colour and dash."""

    key: str
    words: str
    colour: str
    dash: str = "-"


@dataclass(frozen=True, slots=True, kw_only=True)
class Lane:
    """Quantities that share a scale, in the unit of the suffix `shown_in`; `limits` are settings."""

    title: str
    shown_in: str
    lines: tuple[Line, ...]
    limits: tuple[Line, ...] = ()

    @property
    def unit(self) -> str:
        """The unit as it reads."""
        return UNITS[self.shown_in].label


LANES = (
    Lane(
        title="airway pressure",
        shown_in="cmh2o",
        lines=(
            Line(key="peak_pressure_cmh2o", words="peak", colour=_VERMILION),
            Line(key="plateau_pressure_cmh2o", words="plateau", colour=_BLUE, dash="--"),
            Line(key="end_expiratory_pressure_cmh2o", words="PEEP", colour=_GREEN, dash="-."),
        ),
        limits=(Line(key="pressure_limit_cmh2o", words="limit set", colour=_BLACK, dash=":"),),
    ),
    Lane(
        title="tidal volume",
        shown_in="l",
        lines=(
            Line(key="set_tidal_volume_l", words="set", colour=_BLACK, dash=":"),
            Line(key="tidal_volume_inspired_l", words="in", colour=_BLUE),
            Line(key="tidal_volume_expired_l", words="out", colour=_ORANGE, dash="--"),
        ),
    ),
    Lane(
        title="carbon dioxide",
        shown_in="mmhg",
        lines=(
            Line(key="paco2_mmhg", words="arterial", colour=_VERMILION),
            Line(key="etco2_mmhg", words="end-tidal", colour=_BLUE, dash="--"),
            Line(key="fico2_mmhg", words="inspired", colour=_GREEN, dash=":"),
        ),
    ),
    Lane(
        title="arterial oxygen",
        shown_in="mmhg",
        lines=(Line(key="pao2_mmhg", words="arterial", colour=_VERMILION),),
    ),
    Lane(
        title="inspired oxygen",
        shown_in="percent",
        lines=(Line(key="fio2_fraction", words="inspired", colour=_BLUE),),
    ),
    Lane(
        title="agent",
        shown_in="percent",
        lines=(
            Line(key="inspired_agent_fraction", words="inspired", colour=_BLUE),
            Line(key="end_tidal_agent_fraction", words="end-tidal", colour=_PURPLE, dash="--"),
        ),
    ),
    Lane(
        title="spare volume",
        shown_in="l",
        lines=(Line(key="spare_volume_l", words="spare", colour=_SKY),),
    ),
    Lane(
        title="mean arterial pressure",
        shown_in="mmhg",
        lines=(Line(key="map_mmhg", words="MAP", colour=_VERMILION),),
    ),
)
