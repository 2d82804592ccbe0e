"""How the effects of a fit make up what the standing panel would be expected to score."""

from __future__ import annotations

import numpy as np

from ..array_types import Codes, Vector
from .equations import Equations, assessor_share
from .layout import sums
from .terms import ASSESSOR_SAMPLE


class PanelWeights:
    """How the effects make up the panel's mean.

    Attributes
    ----------
    assessor
        Weight of each assessor; `cell` of each cell's.
    share, own
        See `assessor_share`.
    scale
        Mean scale of the panel.
    """

    def __init__(self, system: Equations, panel: Codes) -> None:
        self.system, lay = system, system.layout
        self.n_panel = len(panel)
        self.assessor = np.zeros(lay.glasses.n_assessors)
        self.assessor[panel] = 1.0 / self.n_panel
        self.share, self.own = assessor_share(system)
        self.scale = float(self.assessor @ system.scale)
        self.cell = self.assessor[lay.cell_assessor]

    def unasked(self) -> Vector:
        """Disagreement of panel members who have not nosed a sample."""
        sys, lay = self.system, self.system.layout
        asked = sums(lay.cell_sample, self.cell > 0.0, sys.n)
        ratio = sys.ratios.get(ASSESSOR_SAMPLE, 0.0)
        found: Vector = (self.n_panel - asked) * ratio / self.n_panel**2
        return found
