"""All comparisons, in groups with a heading."""

from lungeline.evidence import (
    breathing,
    carbon_dioxide,
    circle,
    circulation,
    expiration,
    ponies,
    posture,
    recruitment,
)
from lungeline.evidence.comparison import Comparison

GROUPS: dict[str, tuple[Comparison, ...]] = {
    "Expiration and closing": expiration.COMPARISONS,
    "Posture": posture.COMPARISONS,
    "PEEP and recruitment": recruitment.COMPARISONS,
    "Ponies": ponies.COMPARISONS,
    "Breathing for itself": breathing.COMPARISONS,
    "Carbon dioxide": carbon_dioxide.COMPARISONS,
    "Circulation": circulation.COMPARISONS,
    "Circle": circle.COMPARISONS,
}
COMPARISONS: tuple[Comparison, ...] = tuple(item for group in GROUPS.values() for item in group)
