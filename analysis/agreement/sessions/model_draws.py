"""What the one model over several sessions leaves open about a panel, as draws.

Variances are drawn as what the data say of them (a scaled inverse chi-square), scales as normal,
noises as log-normal. They are drawn apart from one another: a panel's line and its noise come
from different squares of the same scores.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from ...array_types import Matrix, Vector
from ...house_line import Z_95

if TYPE_CHECKING:
    from ...profile import Profile

_LEAST_KNOWN = 0.02
"""Share of a sample that is known at least; below it there is nothing to divide by."""
_DISAGREEMENT = "assessor_sample"
_FILLING = "filling"


@dataclass(frozen=True)
class PanelFit:
    """One descriptor as the one model has it, arrays by assessor; points of the 0-100 line.

    Attributes
    ----------
    names, in_panel
        Who scored it, and who of them the reliability is asked of.
    scale, scale_se, noise, noise_log_sd
        Points for each point of the panel, sd of a score, and how well both are known.
    flat, reversed_
        Chances that somebody cannot smell the note, or has it the wrong way round.
    signal_share
        Of the assessor's variance on unlike samples.
    between, between_noise, between_df
        Variance between samples, that of the error a sample is known with, and how many
        samples are free to tell.
    disagreement, disagreement_df
        Variance of lasting disagreement about a sample, and how many repeated cells tell.
    seated
        How many of them sit in one visit; None for all.
    """

    names: tuple[str, ...]
    in_panel: np.ndarray
    scale: Vector
    scale_se: Vector
    noise: Vector
    noise_log_sd: Vector
    flat: Vector
    reversed_: Vector
    signal_share: Vector
    between: float
    between_noise: float
    between_df: float
    disagreement: float
    disagreement_df: float
    seated: int | None = None

    @classmethod
    def of(
        cls, profile: Profile, descriptor: str, repeated_cells: int, seated: int | None = None
    ) -> PanelFit:
        """Read one descriptor of a profile in which descriptors stand alone."""
        people = profile.assessors[profile.assessors["descriptor"] == descriptor]
        numbers = {name: people[name].to_numpy(float) for name in _COLUMNS}
        fit = profile.fit(descriptor)
        between, dissent = float(fit.between or 0.0), fit.variances.get(_DISAGREEMENT, 0.0)
        in_panel = people["in_panel"].to_numpy(bool)
        known, df = _known(profile, descriptor, between + dissent / in_panel.sum())
        return cls(
            names=tuple(people["assessor"]),
            in_panel=in_panel,
            scale=numbers["scale"],
            scale_se=(numbers["scale_high"] - numbers["scale"]) / Z_95,
            noise=numbers["noise"],
            noise_log_sd=np.log(numbers["noise_high"] / numbers["noise"]) / Z_95,
            flat=numbers["p_flat"],
            reversed_=numbers["p_reversed"],
            signal_share=numbers["signal_share"],
            between=between,
            between_noise=between * (1.0 - known) / known,
            between_df=df,
            disagreement=dissent,
            disagreement_df=max(repeated_cells - 1.0, 1.0),
            seated=seated,
        )

    @property
    def n_visit(self) -> int:
        """How many of the panel sit in one visit."""
        n = int(self.in_panel.sum())
        return n if self.seated is None else min(self.seated, n)

    @property
    def weight(self) -> float:
        """``W = sum g_j^2 / (noise_j^2 + disagreement)`` over as many as sit in one visit."""
        each = self.scale**2 / (self.noise**2 + self.disagreement)
        return float(each[self.in_panel].mean()) * self.n_visit

    @property
    def reliability(self) -> float:
        """Of one visit."""
        told = self.between * self.weight
        return told / (1.0 + told)

    def typical(self, scale: Matrix) -> Vector:
        """Mean scale of the panel's members who follow the note, for each row of `scale`."""
        follows = (1.0 - self.flat - self.reversed_) * self.in_panel
        found: Vector = scale @ (follows / follows.sum())
        return found


_COLUMNS = (
    *("scale", "scale_high", "noise", "noise_high"),
    *("p_flat", "p_reversed", "signal_share"),
)


def _known(profile: Profile, descriptor: str, deviation: float) -> tuple[float, float]:
    """Mean share of a sample's deviation that is known, and the degrees of freedom of it.

    Draws of one filling tell of the filling together, so degrees of freedom are put together
    from fillings and draws as their variances are (Satterthwaite 1946).
    """
    rows = profile.estimates[profile.estimates["descriptor"] == descriptor]
    fit, posterior = profile.fit(descriptor), profile.posterior
    common = 0.0 if posterior is None else float(posterior.shared([descriptor])[0])
    errors = rows["se"].to_numpy(float) ** 2 - common
    known = np.clip(1.0 - errors / max(deviation, 1e-12), _LEAST_KNOWN, 0.9999)
    n = len(rows)
    df, of_filling = float(n - 1), fit.variances.get(_FILLING, 0.0)
    if of_filling > 0.0 and fit.between:
        own = rows["filling"].where(rows["filling"].notna(), rows["sample"])
        of_draw = fit.between - of_filling
        fillings = max(int(own.nunique()) - 1, 1)
        df = fit.between**2 / (of_filling**2 / fillings + of_draw**2 / df)
    return float(known.mean()), max(df, 1.0)


@dataclass(frozen=True)
class Draws:
    """Draws of everything a reliability or a signal share is made of, one row a draw."""

    between: Vector
    disagreement: Vector
    scale: Matrix
    noise: Matrix

    @property
    def signal_share(self) -> Matrix:
        """``g^2 v / (g^2 v + disagreement + noise^2)`` of each assessor."""
        heard = self.scale**2 * self.between[:, None]
        found: Matrix = heard / (heard + self.disagreement[:, None] + self.noise**2)
        return found


def drawn(fit: PanelFit, n: int, rng: np.random.Generator) -> Draws:
    """Draw `n` times what the one model leaves open.

    The fit keeps the variance between samples off zero by a penalty of ``-log``; it is taken
    back first: with v between and n of noise on q samples, the mean square that was seen is
    ``(v + n) (1 - (v + n) / (q v))``.
    """
    j = len(fit.names)
    total = fit.between + fit.between_noise
    penalty = total / (fit.between_df * fit.between) if fit.between > 0.0 else 0.0
    seen = total * max(1.0 - penalty, 0.0)
    within = 0.5 * float(np.mean(fit.noise**2))
    return Draws(
        between=_variance(seen, fit.between_noise, fit.between_df, n, rng),
        disagreement=_variance(fit.disagreement + within, within, fit.disagreement_df, n, rng),
        scale=fit.scale + fit.scale_se * rng.standard_normal((n, j)),
        noise=fit.noise * np.exp(fit.noise_log_sd * rng.standard_normal((n, j))),
    )


def _variance(
    mean_square: float, noise: float, df: float, n: int, rng: np.random.Generator
) -> Vector:
    """A component of variance whose mean square, with `noise` in it, has `df`."""
    found: Vector = np.maximum(mean_square * df / rng.chisquare(df, n) - noise, 0.0)
    return found


def reliability_low(fit: PanelFit, draws: Draws, rng: np.random.Generator) -> float:
    """Lower bound of the reliability of one visit, at most one time in ten above the truth.

    Parameters
    ----------
    fit
        The panel.
    draws
        What is open about it.
    rng
        For the redrawn panels.

    Returns
    -------
    float
        From 0 to 1.

    Notes
    -----
    ``R = v W / (1 + v W)`` with ``W = sum g_j^2 / (noise_j^2 + disagreement)`` over a panel
    redrawn with replacement from these assessors. It covers how few samples v was learned
    from, how well each scale and noise is known, and that another evening's panel may be other
    people of the same kind; for these very people it is on the safe side. It does not cover an
    error of the model itself. In made-up houses (`tests/bench/bench_over_sessions.py`) it lay
    above the truth in 0 to 6 of 100; where samples do not differ at all, it is a little above
    zero in a quarter of them, and far below any verdict.

    Examples
    --------
    >>> one = np.ones(6)
    >>> fit = PanelFit(tuple("ABCDEF"), one > 0, one, 0.1 * one, 5 * one, 0.1 * one, 0 * one,
    ...                0 * one, 0.8 * one, 100.0, 5.0, 20.0, 10.0, 10.0)
    >>> round(100 * fit.weight / (1 + 100 * fit.weight), 2)
    0.94
    >>> rng = np.random.default_rng(1)
    >>> 0.85 < reliability_low(fit, drawn(fit, 999, rng), rng) < 0.94
    True
    """
    each = draws.scale**2 / (draws.noise**2 + draws.disagreement[:, None])
    n = int(fit.in_panel.sum())
    times = rng.multinomial(fit.n_visit, fit.in_panel / n, size=len(each))
    told = draws.between * np.sum(each * times, axis=1)
    return float(np.quantile(told / (1.0 + told), 0.1, method="nearest"))


def repeated_cells(scores: pd.DataFrame) -> dict[str, int]:
    """How many times an assessor had a sample more than once, by descriptor."""
    n = scores.groupby(["descriptor", "assessor", "sample"]).size()
    found = (n > 1).groupby(level="descriptor").sum()
    return {str(name): int(count) for name, count in found.items()}
