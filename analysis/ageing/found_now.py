"""What a match goes by, beside the curve of a cask."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np
import pandas as pd

from ..house_line import on_the_line
from .on_day import NotesOnDay
from .result import Curve


def with_found(curves: Iterable[Curve], notes: NotesOnDay, stock: pd.DataFrame) -> Iterator[Curve]:
    """Give each cask's curve what its last draw was found to be, moved to the date asked.

    A curve takes all draws of a cask and its like together, one note by itself; the last draw is
    read with all notes together. So the two differ, by a point or some.

    Parameters
    ----------
    stock
        Casks at their age on the date of the notes.
    """
    fillings = [str(name) for name in stock["filling"]]
    places = np.array([notes.places[name] for name in fillings], dtype=np.intp)
    ages = stock["age_years"].to_numpy(dtype=np.float64)[:, None]
    found = on_the_line(notes.moves.at(ages, places).mean[:, 0])
    row = {name: at for at, name in enumerate(fillings)}
    column = {name: at for at, name in enumerate(notes.moves.descriptors)}
    for curve in curves:
        there = curve.filling in row and curve.descriptor in column
        if there and curve.n_draws:
            value = float(found[row[str(curve.filling)], column[curve.descriptor]])
            yield replace(curve, found_now=value)
        else:
            yield curve
