"""What wood, previous contents, fill, age, peat, strength, warehouse and make do to each note."""

from .estimate import estimate_influences
from .evidence import Evidence, Rests, Slope
from .factors import Covariate, Factor
from .fits import Fits, fit_profile, fit_readings
from .foretold import Foretold, foretell_casks
from .foretold_errors import JointForetold
from .note_fits import NoteFit
from .pls_map import Map, Place
from .result import Effect, Influences, NoteInfluences
from .separate import Inseparable, Separation
from .settings import InfluenceSettings

__all__ = [
    "Covariate",
    "Effect",
    "Evidence",
    "Factor",
    "Fits",
    "Foretold",
    "InfluenceSettings",
    "Influences",
    "Inseparable",
    "JointForetold",
    "Map",
    "NoteFit",
    "NoteInfluences",
    "Place",
    "Rests",
    "Separation",
    "Slope",
    "estimate_influences",
    "fit_profile",
    "fit_readings",
    "foretell_casks",
]
