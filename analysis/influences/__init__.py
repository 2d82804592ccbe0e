"""What wood, previous contents, fill, age, peat, strength, warehouse and make do to each note."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..when_asked import names_from

if TYPE_CHECKING:
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

__getattr__ = names_from(
    __name__,
    {
        "Covariate": "factors",
        "Effect": "result",
        "Evidence": "evidence",
        "Factor": "factors",
        "Fits": "fits",
        "Foretold": "foretold",
        "InfluenceSettings": "settings",
        "Influences": "result",
        "Inseparable": "separate",
        "JointForetold": "foretold_errors",
        "Map": "pls_map",
        "NoteFit": "note_fits",
        "NoteInfluences": "result",
        "Place": "pls_map",
        "Rests": "evidence",
        "Separation": "separate",
        "Slope": "evidence",
        "estimate_influences": "estimate",
        "fit_profile": "fits",
        "fit_readings": "fits",
        "foretell_casks": "foretold",
    },
)
