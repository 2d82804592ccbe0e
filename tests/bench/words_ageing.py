"""Rows: in which direction a note goes with age, in the houses that influences are judged by."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np
import pandas as pd

from analysis.ageing import Curve
from analysis.ageing.curves import style_curves, style_table
from analysis.ageing.estimate import moved_by_age
from analysis.ageing.settings import AgeingSettings
from analysis.influences import Factor, fit_readings
from analysis.influences.moves import claims_of
from panel.words.ageing_words import surely_moving
from tests.bench.bench_words_influences import HOUSES, N_NOTES, House
from tests.bench.word_rates import Row

WORD = "up, or down, with age"
RULES = {
    WORD: "the intervals of a style at the youngest and the oldest age nosed lie apart, and age "
    "may be said to move the note (as under *moves with*, over all notes and influences)",
}
SETTINGS = AgeingSettings()
_SMOKE, _GROWS = "0", "2"
"""Notes that do go with age where four things move: smoke, which fades, and one that grows."""
_HOUSES = (1, 2, 3, 7)


@dataclass(frozen=True)
class Styles:
    """An invented house, every style of which is drawn.

    Models are fitted only of the notes that age may be said to move: of the others nothing is said.
    """

    house: House

    def __call__(self, seed: int) -> list[Curve]:
        """Draw, fit, and keep the curves of which a direction is said."""
        rng = np.random.default_rng([seed, self.house.n_casks, self.house.makes])
        casks = self.house.casks(rng)
        parts = [self._read(note, casks, rng) for note in range(N_NOTES)]
        readings = pd.concat(parts, ignore_index=True)
        first = fit_readings(readings, casks, descriptors=[_SMOKE])
        held = claims_of(first.readings, first.draws, first.separation, first.settings)
        moved = [str(n) for n in range(N_NOTES) if held.holds(str(n), Factor.AGE)]
        if not moved:
            return []
        fits = fit_readings(readings, casks, descriptors=moved)
        styles = style_table(fits.draws)
        styles = styles[styles["n_casks"] >= SETTINGS.least_casks_a_style].reset_index(drop=True)
        curves = list(style_curves(fits.fits, styles, SETTINGS))
        return surely_moving(curves, moved_by_age(fits))

    def _read(self, note: int, casks: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
        reading, noise = self.house.reading(note, casks, rng)
        return casks[["sample"]].assign(descriptor=str(note), reading=reading, noise_variance=noise)


def any_direction(house: House, said: list[Curve]) -> Iterator[bool]:
    """Whether a direction is said of a note that does not go with age."""
    goes = {_SMOKE, _GROWS} if house.real else set()
    yield any(curve.descriptor not in goes for curve in said)


def grows(said: list[Curve]) -> Iterator[bool]:
    """Whether the note that grows is said to, in some style."""
    own = [curve for curve in said if curve.descriptor == _GROWS]
    yield any(curve.points[-1].estimate > curve.points[0].estimate for curve in own)


def rows() -> Iterator[Row]:
    """All rows on directions."""
    for at in _HOUSES:
        house = HOUSES[at]
        draw, read = Styles(house), partial(any_direction, house)
        where = f"of any note that does not: {house.name}"
        name = f"ageing-null-{at}"
        yield Row(name, WORD, where, 0.10, True, draw, read, 100, 400, "houses")
        if house.real:
            where = f"a note that grows by 15 in ten years: {house.name}"
            yield Row(
                f"ageing-grows-{at}", WORD, where, None, False, draw, grows, 100, 400, "houses"
            )
