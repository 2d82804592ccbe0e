"""What wood, previous contents, fill, age, peat, strength, warehouse and make do to each note."""

from analysis.influences.estimate import estimate_influences
from analysis.influences.evidence import Evidence, Rests, Slope
from analysis.influences.factors import Covariate, Factor
from analysis.influences.fits import Fits, fit_profile, fit_readings
from analysis.influences.foretold import Foretold, foretell_casks
from analysis.influences.foretold_errors import JointForetold
from analysis.influences.note_fits import NoteFit
from analysis.influences.pls_map import Map, Place
from analysis.influences.result import Effect, Influences, NoteInfluences
from analysis.influences.separate import Inseparable, Separation
from analysis.influences.settings import InfluenceSettings

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
