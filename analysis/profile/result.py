"""What a profile says: estimates with their uncertainty, people, and how the fits went."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Annotated

import numpy as np
import pandas as pd

from ..array_types import Floats
from ..as_json import AsJson, Json, as_json
from ..errors import UnlinkedError
from ..readable import Readable
from .camps import NoteCamps, read_two_ways
from .compared import Compared
from .ends import ReadAs
from .links import Link
from .one_order import OneOrder, place_or_cask
from .posterior import Posterior, places
from .rows import AssessorRow, EstimateRow, public_row
from .words import not_comparable, profile_lines, unlinked


@dataclass(frozen=True)
class DescriptorFit:
    """The fit of one descriptor; variances in squared points of the 0-100 line.

    Attributes
    ----------
    variances
        Component of each term in the model, zero among them.
    residual
        Noise variance of the typical assessor; None when there was no fit.
    log_likelihood
        Restricted, of the plain model only; None otherwise.
    left_out
        Terms that could not be estimated, each with its reason.
    panel
        The assessors whose mean score the estimates are.
    reason
        Why there was no fit.
    between
        Variance between samples, what covariates explain with it.
    reliability
        Panel reliability of one visit: the share of the variance of the panel's mean that is
        the samples'.
    inflation
        By how much the error variances were widened.
    rounds
        Rounds until the fit settled.
    reading, reading_reason
        How scores at the ends of the line were read (see :mod:`analysis.profile.ends`), and why
        they were taken at their word where their number asks for more.
    slips
        Share of the glasses that seem to be slips, where scores at the ends were read.
    scale, noise, spread
        Of each assessor, as the fit used them: points for each point of the panel, noise
        variance over `residual`, squared scale of the Student noise.
    level_edges, level_noise
        Where bins of the level meet, in points about the mean sample, and the factor of the
        noise variance in each.
    effects, effects_covariance
        Of the covariates, in points for one unit of each.
    order, order_se
        What the order of serving does: points a glass further on (`place`) and points for one of
        smoke in the glass before (`smoke_before`), with their standard errors; empty where no
        places are on record.
    """

    descriptor: str
    n_scores: int
    variances: Mapping[str, float]
    residual: float | None
    log_likelihood: float | None
    left_out: Mapping[str, str]
    panel: tuple[str, ...]
    reason: str | None = None
    between: float | None = None
    reliability: float | None = None
    inflation: float | None = None
    rounds: int = 0
    reading: ReadAs = ReadAs.AS_WRITTEN
    reading_reason: str | None = None
    slips: float | None = None
    scale: Mapping[str, float] = field(default_factory=dict)
    noise: Mapping[str, float] = field(default_factory=dict)
    spread: Mapping[str, float] = field(default_factory=dict)
    level_edges: tuple[float, ...] = ()
    level_noise: tuple[float, ...] = ()
    effects: Mapping[str, float] = field(default_factory=dict)
    effects_covariance: tuple[tuple[float, ...], ...] = ()
    order: Mapping[str, float] = field(default_factory=dict)
    order_se: Mapping[str, float] = field(default_factory=dict)

    json_keys = (
        *("descriptor", "n_scores", "variances", "residual", "log_likelihood", "left_out", "panel"),
        *("reason", "between", "reliability", "inflation", "rounds", "level_edges", "level_noise"),
        *("effects", "reading", "reading_reason", "slips", "order", "order_se"),
    )


@dataclass(frozen=True, repr=False)
class Profile(AsJson, Readable):
    """What each sample is, over all sessions.

    Attributes
    ----------
    estimates
        One row a sample and descriptor: `sample, cask, filling, kind, drawn_on, age_years,
        descriptor, estimate, se, low, high, raw_mean, n_scores, n_found, found_at_most, n_sessions,
        last_nosed, component, reason`. `estimate` is the mean score the standing panel would be
        expected to give, in points of the 0-100 line, no session's mood in it; `se` the standard
        error of its prediction for that panel and `low` to `high` the band that holds it 95 times
        in 100 (one-sided where it would cross an end of the line); all three missing with `reason`
        where there are none. `n_found` counts scores above 0; of a note that nearly every glass
        lacks, `found_at_most` is the share of glasses that at most would show it (else missing).
        Samples of different `component` were never tied together by a common glass: do not compare
        them.
    fits
        One a descriptor.
    links
        The sessions that hang together, with their samples and what ties them; more than one
        means that not all samples can be compared.
    as_of
        Only sessions held on or before were used.
    left_out
        Scores not used, by reason.
    assessors
        One row an assessor and descriptor: `assessor, descriptor, in_panel, n_scores, offset,
        offset_se, scale, scale_low, scale_high, noise, noise_low, noise_high, signal_share,
        p_flat, p_reversed`. `p_flat` near one says that somebody cannot smell a note: a
        health-like fact, for the person and the lead only.
    posterior
        Joint posterior of the samples.
    camps
        Notes that the panel read two ways, which no estimate can show; filled in by who asks.
    one_order
        Samples that stood in one place only; filled in by who asks.
    compared
        The part of the stock that is compared; None where all of it hangs together.
    """

    estimates: Annotated[pd.DataFrame, EstimateRow]
    fits: tuple[DescriptorFit, ...]
    links: tuple[Link, ...]
    as_of: date | None
    n_scores: int
    left_out: Mapping[str, int]
    assessors: Annotated[pd.DataFrame, AssessorRow] = field(default_factory=pd.DataFrame)
    posterior: Posterior | None = None
    camps: tuple[NoteCamps, ...] = ()
    one_order: OneOrder | None = None
    compared: Compared | None = None

    json_keys = (
        *("as_of", "n_scores", "left_out", "note", "camps", "one_order", "links", "fits"),
        *("assessors", ("estimates", "samples")),
    )
    json_sometimes = ()

    @property
    def descriptors(self) -> tuple[str, ...]:
        """Names of the descriptors, sorted."""
        return tuple(fit.descriptor for fit in self.fits)

    @property
    def note(self) -> str | None:
        """What to know before samples are compared; None where all can be."""
        return self.note_on(None)

    def note_on(self, names: Collection[str] | None) -> str | None:
        """What to know before samples are compared on these notes, or on all."""
        said = (
            unlinked(self.links, self._reference),
            self.compared.sentence if self.compared else None,
            read_two_ways(self.camps, names),
            place_or_cask(self.one_order),
        )
        return " ".join(part for part in said if part) or None

    def fit(self, descriptor: str) -> DescriptorFit:
        """Fit of one descriptor."""
        return self.fits[self.descriptors.index(descriptor)]

    def bands(self, level: float = 0.9) -> pd.DataFrame:
        """Bands that hold the panel's expected score in a share `level` of cases.

        Returns
        -------
        pandas.DataFrame
            `sample, descriptor, low, high`, a row for each estimate.

        Raises
        ------
        KeyError
            For a profile without what its samples were estimated as.
        """
        if self.posterior is None or self.posterior.latent is None:
            raise KeyError("this profile holds no posterior")
        names, latent = np.array(self.posterior.samples, dtype=object), self.posterior.latent
        parts = [
            pd.DataFrame(
                {
                    "sample": names[latent.rows[k]],
                    "descriptor": fit.descriptor,
                    **dict(zip(("low", "high"), latent.band(k, level), strict=True)),
                }
            )
            for k, fit in enumerate(self.fits)
            if fit.reason is None
        ]
        if not parts:
            return pd.DataFrame(columns=["sample", "descriptor", "low", "high"])
        return pd.concat(parts, ignore_index=True)

    def draws(
        self,
        samples: Sequence[str],
        descriptors: Sequence[str] | None = None,
        n: int = 2000,
        seed: int = 1,
    ) -> Floats:
        """Draw what the samples may truly be, all descriptors together.

        Returns
        -------
        numpy.ndarray
            Shape (n, samples, descriptors), in points, held to the line.

        Raises
        ------
        KeyError
            For a sample or descriptor that is not in the profile.
        """
        names = self.descriptors if descriptors is None else descriptors
        if self.posterior is None:
            raise KeyError("this profile holds no posterior")
        return self.posterior.draws(samples, names, n, seed)

    def compare(self, first: str, second: str) -> pd.DataFrame:
        """Difference of two samples, `first` less `second`, with its standard error.

        Returns
        -------
        pandas.DataFrame
            `descriptor, difference, se`.

        Raises
        ------
        UnlinkedError
            When nothing ties the two together; with what would.
        KeyError
            For a sample that is not in the profile.
        """
        if self.posterior is None:
            raise KeyError("this profile holds no posterior")
        parts = [
            {i for i, link in enumerate(self.links) if s in link.samples} for s in (first, second)
        ]
        if parts[0].isdisjoint(parts[1]) and all(parts):
            raise UnlinkedError(not_comparable(first, second, self.links, self._reference))
        rows = places(self.posterior.samples, (first, second), "sample")
        mean = self.posterior.mean[rows]
        return pd.DataFrame(
            {
                "descriptor": self.posterior.descriptors,
                "difference": mean[0] - mean[1],
                "se": np.sqrt(self.posterior.apart(first, second)),
            }
        )

    def to_dict(self, *, private: bool = False) -> Json:
        """Plain values, ready for JSON; a quantity without a value is None.

        Unless `private`, the scale of an assessor who probably cannot smell a note is left
        out, and so are those probabilities.
        """
        found = super().to_dict()
        if not private:
            found["assessors"] = [public_row(row) for row in found["assessors"]]
        return found

    def rows_of_people(self) -> list[Json]:
        """How each assessor uses the line, ready for JSON, without what nears their health."""
        return [public_row(row) for row in as_json(self.assessors)]

    @property
    def _reference(self) -> str | None:
        known = self.estimates.loc[self.estimates["kind"] == "reference", "sample"]
        return None if known.empty else str(known.iloc[0])

    def said(self) -> Iterator[str]:
        """Give what there is, and what to know before samples are compared."""
        return profile_lines(self)

    def to_frame(self) -> pd.DataFrame:
        """The estimates: one row a sample and note."""
        return self.estimates.copy()
