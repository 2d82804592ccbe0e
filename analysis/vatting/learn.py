"""What bench blends teach: how each note mixes, and how far the house's predictions are off."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, TypedDict

import numpy as np
import pandas as pd

from ..array_types import Floats
from ..as_json import AsJson
from ..digits import in_digits
from ..errors import FrameError, TooLittleError
from ..house_line import HIGH, on_the_line
from .mixing import RULE_SD, MixingRule

PART_COLUMNS = ("blend", "descriptor", "share_lpa", "estimate", "sd")
NOSED_COLUMNS = ("blend", "descriptor", "estimate", "se")
EXPONENT_SPREAD = 0.35
GAIN_SPREAD = 0.15
ERROR_SPREAD = 0.5
"""Spreads of the priors on the logarithms; house defaults that ten blends can move."""
LITTLE = 0.85
"""A posterior spread above this part of the prior's has learnt little."""
FEWEST = 3
"""Fewer blends may share one spilt drop."""
_EXPONENTS = np.exp(np.linspace(np.log(0.2), np.log(2.0), 61))
_GAINS = np.exp(np.linspace(-0.6, 0.6, 41))
_ERRORS = np.exp(np.linspace(np.log(0.2), np.log(20.0), 25))
_NODES = 9


@dataclass(frozen=True)
class NoteLearned:
    """One descriptor after the bench blends.

    Attributes
    ----------
    exponent, exponent_low, exponent_high
        Geometric posterior mean of the Stevens exponent, and its 90 % interval.
    gain, gain_low, gain_high
        By what factor blends were found stronger than the rule says.
    bias
        Mean of nosed less predicted by the old rule, points.
    learnt
        Whether the blends moved the exponent beyond what was believed before.
    sentence
        In words.
    """

    descriptor: str
    n_blends: int
    exponent: float
    exponent_low: float
    exponent_high: float
    gain: float
    gain_low: float
    gain_high: float
    bias: float
    learnt: bool
    sentence: str


class BlendRow(TypedDict):
    """A note of a nosed blend: predicted by the rule as it was, and nosed."""

    blend: str
    descriptor: str
    predicted: float | None
    nosed: float | None
    se: float | None


@dataclass(frozen=True)
class MixingLearned(AsJson):
    """What all bench blends say together.

    Attributes
    ----------
    notes
        One a descriptor.
    error_sd, error_low, error_high
        What a nosed blend may be off from its prediction beyond the uncertainty of both: panel
        and rule together, points; with its 90 % interval.
    blends
        Predicted by the old rule and nosed, one row a blend and descriptor.
    """

    notes: tuple[NoteLearned, ...]
    error_sd: float
    error_low: float
    error_high: float
    n_blends: int
    blends: Annotated[pd.DataFrame, BlendRow]
    sentence: str

    json_keys = ("sentence", "n_blends", "error_sd", "error_low", "error_high", "notes", "blends")

    @property
    def panel_sd(self) -> float:
        """What blends are off beyond what the rule is taken to be off by itself, points."""
        return float(np.sqrt(max(self.error_sd**2 - RULE_SD**2, 0.0)))


def learn_mixing(
    parts: pd.DataFrame, nosed: pd.DataFrame, rule: MixingRule | None = None
) -> MixingLearned:
    """Re-estimate exponents, gains and the common error from blends that were nosed blind.

    Parameters
    ----------
    parts
        One row a blend, part and descriptor: `blend, descriptor, share_lpa, estimate, sd`; the
        shares of a blend add up to 1.
    nosed
        One row a blend and descriptor: `blend, descriptor, estimate, se`.
    rule
        What was believed before; the priors lie around its exponents, and around gain 1.

    Returns
    -------
    MixingLearned

    Raises
    ------
    FrameError
        Columns are missing, or shares do not add up to 1.
    TooLittleError
        No blend was nosed on a note that is known of all its parts.

    Notes
    -----
    ``nosed = gain (sum share E[score^(1/n)])^n + e`` with ``e`` normal of variance
    ``se^2 + sum share^2 sd^2 + s^2``. Priors: log n normal around the old exponent (sd 0.35),
    log gain around 0 (0.15), log s around log 1.5 (0.5); s is common to all notes. The posterior
    is summed over a grid, so that few blends leave wide intervals instead of a wild estimate.
    Stevens' power law: Stevens 1957.

    Examples
    --------
    >>> parts = pd.DataFrame({"blend": ["b"] * 2, "descriptor": "smoke",
    ...     "share_lpa": [0.5, 0.5], "estimate": [10.0, 60.0], "sd": 1.0})
    >>> nosed = pd.DataFrame({"blend": ["b"], "descriptor": "smoke", "estimate": [35.0],
    ...     "se": [2.0]})
    >>> found = learn_mixing(parts, nosed)
    >>> found.n_blends, found.notes[0].learnt
    (1, False)
    """
    before = rule or MixingRule()
    _check(parts, nosed)
    data = _gather(parts, nosed)
    if not data:
        raise TooLittleError(
            "No bench blend was nosed whose casks are known on the same notes: mix one, nose it "
            "blind in a session, and reveal that."
        )
    surfaces = {
        name: _surface(blends, before.exponents.get(name, 1.0)) for name, blends in data.items()
    }
    errors = _error_posterior(surfaces)
    notes = tuple(
        _note(name, data[name], surfaces[name], errors, before) for name in sorted(surfaces)
    )
    sd, low, high = _summary(_ERRORS, errors)
    n_blends = nosed["blend"].nunique()
    return MixingLearned(
        notes, sd, low, high, n_blends, _rows(data, before), _sentence(n_blends, sd, notes)
    )


@dataclass(frozen=True)
class _Blend:
    name: str
    share: Floats
    estimate: Floats
    sd: Floats
    nosed: float
    se: float


def _check(parts: pd.DataFrame, nosed: pd.DataFrame) -> None:
    for frame, what, wanted in (
        (parts, "parts", PART_COLUMNS),
        (nosed, "nosed blends", NOSED_COLUMNS),
    ):
        missing = [name for name in wanted if name not in frame.columns]
        if missing:
            raise FrameError(what, [f"Missing columns: {', '.join(missing)}. Add them."])
    sums = parts.groupby(["blend", "descriptor"])["share_lpa"].sum()
    odd = sums[(sums - 1.0).abs() > 1e-6]
    if len(odd):
        blend, note = odd.index[0]
        text = (
            f"The shares of blend {blend} on {note} add up to "
            f"{in_digits(odd.iloc[0], '.4g')}, not to 1."
        )
        raise FrameError("parts", [text])


def _gather(parts: pd.DataFrame, nosed: pd.DataFrame) -> Mapping[str, list[_Blend]]:
    found: dict[str, list[_Blend]] = {}
    groups = {key: rows for key, rows in parts.groupby(["blend", "descriptor"])}
    for row in nosed.dropna(subset=["estimate", "se"]).to_dict("records"):
        rows = groups.get((row["blend"], row["descriptor"]))
        if rows is None or rows[["estimate", "sd"]].isna().any(axis=None):
            continue
        share, estimate, sd = (rows[name].to_numpy(dtype=np.float64) for name in PART_COLUMNS[2:])
        nosed_points, se = float(row["estimate"]), float(row["se"])
        blend = _Blend(str(row["blend"]), share, estimate, sd, nosed_points, se)
        found.setdefault(str(row["descriptor"]), []).append(blend)
    return found


def _predicted(blend: _Blend, exponents: Floats) -> Floats:
    """Prediction with gain 1 for several exponents, the parts' uncertainty counted in."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(_NODES)
    scores = on_the_line(blend.estimate[:, None] + blend.sd[:, None] * nodes)
    power = scores[None] ** (1.0 / exponents[:, None, None])
    amount = (power @ (weights / weights.sum())) @ blend.share
    found: Floats = amount**exponents
    return found


def _by_rule(name: str, blend: _Blend, rule: MixingRule) -> float:
    """Prediction by a rule with its gain; no score lies beyond the line."""
    exponent = np.array([rule.exponents.get(name, 1.0)])
    return min(rule.gains.get(name, 1.0) * float(_predicted(blend, exponent)[0]), HIGH)


def _surface(blends: list[_Blend], exponent: float) -> Floats:
    """Log posterior but for the error's prior, shape (errors, exponents, gains)."""
    prior = -0.5 * ((np.log(_EXPONENTS) - np.log(exponent)) / EXPONENT_SPREAD) ** 2
    gain_prior = -0.5 * (np.log(_GAINS) / GAIN_SPREAD) ** 2
    total: Floats = np.zeros((len(_ERRORS), len(_EXPONENTS), len(_GAINS)))
    total += prior[None, :, None] + gain_prior[None, None, :]
    total -= np.log(np.exp(prior).sum() * np.exp(gain_prior).sum())
    for blend in blends:
        expected = np.minimum(_predicted(blend, _EXPONENTS)[:, None] * _GAINS, 100.0)
        known = blend.se**2 + float((blend.share**2) @ (blend.sd**2))
        variance = (known + _ERRORS**2)[:, None, None]
        total += -0.5 * ((blend.nosed - expected)[None] ** 2 / variance + np.log(variance))
    return total


def _error_posterior(surfaces: Mapping[str, Floats]) -> Floats:
    """Posterior weights of the common error, all notes together."""
    log: Floats = -0.5 * ((np.log(_ERRORS) - np.log(RULE_SD)) / ERROR_SPREAD) ** 2
    for surface in surfaces.values():
        top = surface.max()
        log = log + top + np.log(np.exp(surface - top).sum(axis=(1, 2)))
    weight: Floats = np.exp(log - log.max())
    weight /= weight.sum()
    return weight


def _summary(values: Floats, weight: Floats) -> tuple[float, float, float]:
    """Geometric mean and the 90 % interval of a posterior on a grid."""
    mean = float(np.exp(weight @ np.log(values)))
    below = np.cumsum(weight) - 0.5 * weight
    low, high = np.interp([0.05, 0.95], below, values)
    return mean, float(low), float(high)


def _note(
    name: str, blends: list[_Blend], surface: Floats, errors: Floats, before: MixingRule
) -> NoteLearned:
    each = np.exp(surface - surface.max(axis=(1, 2), keepdims=True))
    each /= each.sum(axis=(1, 2), keepdims=True)
    joint = np.einsum("s,sng->ng", errors, each)
    by_exponent, by_gain = joint.sum(axis=1), joint.sum(axis=0)
    exponent, low, high = _summary(_EXPONENTS, by_exponent)
    gain, gain_low, gain_high = _summary(_GAINS, by_gain)
    spread = float(np.sqrt(by_exponent @ (np.log(_EXPONENTS) - np.log(exponent)) ** 2))
    bias = float(np.mean([blend.nosed - _by_rule(name, blend, before) for blend in blends]))
    learnt = len(blends) >= FEWEST and spread < LITTLE * EXPONENT_SPREAD
    words = _note_sentence(name, len(blends), (exponent, low, high), gain, bias, learnt=learnt)
    return NoteLearned(
        name, len(blends), exponent, low, high, gain, gain_low, gain_high, bias, learnt, words
    )


def _rows(data: Mapping[str, list[_Blend]], before: MixingRule) -> pd.DataFrame:
    rows = []
    for name, blends in data.items():
        rows += [
            {
                "blend": blend.name,
                "descriptor": name,
                "predicted": _by_rule(name, blend, before),
                "nosed": blend.nosed,
                "se": blend.se,
            }
            for blend in blends
        ]
    return pd.DataFrame(rows, columns=["blend", "descriptor", "predicted", "nosed", "se"])


def _note_sentence(
    name: str,
    n_blends: int,
    exponent: tuple[float, float, float],
    gain: float,
    bias: float,
    *,
    learnt: bool,
) -> str:
    blends = "1 blend" if n_blends == 1 else f"{n_blends} blends"
    middle, low, high = exponent
    found = (
        f"exponent {in_digits(middle, '.2f')} ({in_digits(low, '.2f')} to "
        f"{in_digits(high, '.2f')}), gain {in_digits(gain, '.2f')}"
    )
    side = "above" if bias >= 0 else "below"
    off = (
        f"nosed {in_digits(abs(bias), '.1f')} points {side} what was predicted, in "
        f"the mean of {blends}"
    )
    if not learnt:
        return f"{name}: too little yet to tell how it mixes ({off}); {found}."
    return f"{name}: {found}; {off}."


def _sentence(n_blends: int, error_sd: float, notes: tuple[NoteLearned, ...]) -> str:
    learnt = [note.descriptor for note in notes if note.learnt]
    blends = "1 bench blend says" if n_blends == 1 else f"{n_blends} bench blends say"
    told = f"how {', '.join(learnt)} mixes" if learnt else "too little yet of how any note mixes"
    return (
        f"{blends} {told}; beyond the known uncertainty a blend is off its prediction by "
        f"{in_digits(error_sd, '.1f')} points (standard deviation of panel and rule together)."
    )
