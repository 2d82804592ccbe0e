"""All descriptors fitted; those read of the same draws share their columns."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import pandas as pd
import threadpoolctl

from ..array_types import Codes, Vector
from ..under_way import Stage, step
from .evidence import Evidence, EvidenceFitter
from .factors import Covariate
from .note_model import NoteFitter, NoteModel
from .power import foretold_without, with_inflation
from .searched import Search, Searched, digest_of_ground, digest_of_readings, search_anew
from .separate import Separation
from .settings import InfluenceSettings
from .shape import Shape, check_shape
from .terms import Levels


@dataclass(frozen=True)
class NoteFit:
    """One descriptor: its model, and the draws it stands on row by row.

    `residual` is of the readings foretold without their cask. Fits of one `pattern` have the
    same draws and columns. `common` is the variance of the error that all readings share:
    nothing that is foretold of a cask can be surer.
    """

    note: NoteModel
    draws: pd.DataFrame
    casks: Codes
    batches: Codes
    residual: Vector
    shape: Shape
    evidence: Evidence
    pattern: int
    common: float = 0.0

    @property
    def reading(self) -> Vector:
        """What was read of each draw."""
        return self.note.centre + self.note.models[0].y


def fit_all(
    readings: pd.DataFrame,
    known: pd.DataFrame,
    descriptors: Collection[str],
    apart: Separation,
    settings: InfluenceSettings,
    search: Search = search_anew,
) -> tuple[tuple[NoteFit, ...], dict[str, str]]:
    """Fit some descriptors; returns their fits, and why others have none."""
    reading = _wide(readings, known, "reading")
    noise = _wide(readings, known, "noise_variance")
    grounds: dict[bytes, _Shared] = {}
    fits: list[NoteFit] = []
    reasons: dict[str, str] = {}
    with threadpoolctl.threadpool_limits(limits=1, user_api="blas"):
        names = sorted(set(readings["descriptor"].unique()) & set(descriptors))
        for done, name in enumerate(names):
            step(Stage.INFLUENCES, done, len(names))
            here = reading[name].notna().to_numpy()
            n_casks = known.loc[here, "cask"].nunique()
            if n_casks < settings.least_casks:
                reasons[name] = f"scored on {n_casks} casks only: {settings.least_casks} at least"
                continue
            if here.tobytes() not in grounds:
                some = known[here].reset_index(drop=True)
                grounds[here.tobytes()] = _Shared(some, apart, settings, search)
            shared = grounds[here.tobytes()]
            y, r = (part[name].to_numpy(dtype=np.float64)[here] for part in (reading, noise))
            fits.append(shared.fit(name, y, r, list(grounds).index(here.tobytes())))
    step(Stage.INFLUENCES, len(names), len(names))
    return tuple(fits), reasons


class _Shared:
    """The draws that some descriptors were read of."""

    def __init__(
        self,
        draws: pd.DataFrame,
        apart: Separation,
        settings: InfluenceSettings,
        search: Search,
    ) -> None:
        self.draws, self.settings, self.search = draws, settings, search
        self.age_is_lost = apart.find(Covariate.AGE, "") is not None
        self.fitters: dict[bool, NoteFitter] = {}
        self.ages = draws["age_years"].to_numpy(dtype=np.float64)
        self.casks = pd.factorize(draws["cask"])[0].astype(np.intp)
        self.batches = _joined(self.casks, pd.factorize(draws["batch"])[0].astype(np.intp))

    def fit(self, name: str, y: Vector, r: Vector, pattern: int) -> NoteFit:
        """Fit one descriptor, age read from the better evidence."""
        digest, solved = digest_of_readings(self.digest, y, r), list[NoteModel]()
        found = self.search(digest, lambda: self._searched(name, y, r, solved.append))
        vintage = self._by_vintage(found.evidence)
        note = (solved or [self._fitter(vintage=vintage).fit(name, y, r, found.likeliest)])[0]
        return NoteFit(
            note=with_inflation(note, found.residual, found.variance),
            draws=self.draws,
            casks=self.casks,
            batches=self.batches,
            residual=found.residual,
            shape=check_shape(self.ages, found.residual, found.variance),
            evidence=replace(found.evidence, descriptor=name),
            pattern=2 * pattern + int(vintage),
        )

    @cached_property
    def digest(self) -> str:
        """Of all that is searched in but the readings."""
        return digest_of_ground(self.draws, self.settings, age_is_lost=self.age_is_lost)

    @cached_property
    def evidence(self) -> EvidenceFitter:
        """The draws laid out for the two slopes."""
        return EvidenceFitter(self.draws, self.settings)

    def _searched(
        self, name: str, y: Vector, r: Vector, solved: Callable[[NoteModel], None]
    ) -> Searched:
        """Search in one descriptor, and hand on the model that comes of it."""
        evidence = self.evidence.fit(name, y, r)
        fitter = self._fitter(vintage=self._by_vintage(evidence))
        likeliest = fitter.search(y, r)
        note = fitter.fit(name, y, r, likeliest)
        solved(note)
        without = foretold_without(note, self.casks)
        return Searched(evidence, likeliest, *without)

    def _by_vintage(self, evidence: Evidence) -> bool:
        return evidence.prefers_again or (self.age_is_lost and evidence.again is not None)

    def _fitter(self, *, vintage: bool) -> NoteFitter:
        if vintage not in self.fitters:
            levels = Levels.of(self.draws, vintage=vintage)
            self.fitters[vintage] = NoteFitter(self.draws, levels, self.settings)
        return self.fitters[vintage]


def _wide(readings: pd.DataFrame, known: pd.DataFrame, value: str) -> pd.DataFrame:
    wide = readings.pivot(index="sample", columns="descriptor", values=value)
    return wide.reindex(known["sample"])


def _joined(casks: Codes, batches: Codes) -> Codes:
    """Batches in whole casks: those that share a cask (refilled) count as one."""
    joined = batches.copy()
    for cask in np.flatnonzero(np.bincount(casks) > 1):
        mine = np.unique(joined[casks == cask])
        joined[np.isin(joined, mine)] = mine[0]
    return np.unique(joined, return_inverse=True)[1].astype(np.intp)
