"""Published figures: TOML files and their loaders. No logic of the work lives here."""

from lungeline.reference.folder import FOLDER
from lungeline.reference.loader import figure, figures, parameters, sources
from lungeline.reference.page import figures_page
from lungeline.reference.scaling import Parameter
from lungeline.reference.status import SpeciesStatus, species_status
from lungeline.reference.study import PublishedValue, Study
from lungeline.reference.study_file import studies

__all__ = [
    "FOLDER",
    "Parameter",
    "PublishedValue",
    "SpeciesStatus",
    "Study",
    "figure",
    "figures",
    "figures_page",
    "parameters",
    "sources",
    "species_status",
    "studies",
]
