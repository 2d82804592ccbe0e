"""Rank casks by how surely they suit a target."""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
import scipy.special
from numpy.typing import NDArray

from analysis.errors import FrameError, UnknownDescriptorError
from analysis.profile.result import Profile
from analysis.target.result import CaskMatch, LeftOut, Match
from analysis.target.target import Target
from analysis.target.verdict import Sureness, sure_sentence

_FIRST = 8
_SURE = 0.9
Matrix = NDArray[np.float64]


@dataclass(frozen=True)
class _Candidates:
    """Casks with an estimate on every line of the target, shape (casks, lines)."""

    about: pd.DataFrame
    estimate: Matrix
    se: Matrix
    n_scores: NDArray[np.int64]


def match_casks(
    profile: Profile,
    target: Target,
    *,
    casks: pd.DataFrame | None = None,
    top: int | None = None,
    draws: int = 2000,
    seed: int = 1,
) -> Match:
    """Rank nosed casks by the chance that they are within every tolerance of a target.

    Of each cask the latest draw of its current filling counts. Ranked by probability, then by
    expected distance: the nearest estimate alone would reward casks that were nosed little.

    Parameters
    ----------
    profile
        What the samples are.
    target
        Aims, tolerances and weights on the 0-100 line.
    casks
        A casks frame (see :mod:`analysis`); it says which filling is current. Without it the
        filling nosed last is taken for current.
    top
        Show so many casks only; all by default.
    draws, seed
        Draws from the estimates behind the sentence on how sure the list is, and their seed.

    Returns
    -------
    Match
        Casks that lack a descriptor of the target are listed apart with the reason, as are
        those in sessions that nothing ties to the others.

    Raises
    ------
    UnknownDescriptorError
        When the target names a descriptor without any score; with the nearest names.
    FrameError
        When the casks frame lacks ``cask`` or ``filling``.

    Notes
    -----
    With estimates m, standard errors s, aims t, tolerances h and weights w (made to add up to
    one), the distance is ``sum w ((m - t)^2 + s^2) / h^2``, the expectation of the weighted
    squared distance in tolerances. The probability is the product over descriptors of
    ``Phi((t + h - m)/s) - Phi((t - h - m)/s)``; what the normal has beyond an end of the line
    counts as lying on that end.

    Examples
    --------
    >>> from analysis.profile import estimate_profile
    >>> from analysis.target import TargetLine
    >>> rng = np.random.default_rng(3)
    >>> rows = [
    ...     {"session": "S1", "assessor": a, "sample": s, "cask": f"cask {s}", "replicate": r,
    ...      "descriptor": "smoke", "score": level + rng.normal(0, 3)}
    ...     for a in "ABCDEF" for s, level in [("x", 20), ("y", 45), ("z", 70)] for r in (1, 2)
    ... ]
    >>> profile = estimate_profile(pd.DataFrame(rows))
    >>> found = match_casks(profile, Target("Fen", (TargetLine("smoke", 44, 6),)))
    >>> [part.cask for part in found.casks], found.casks[0].probability > 0.9
    (['cask y', 'cask z', 'cask x'], True)
    """
    _known(profile, target)
    samples, left_out = _latest(profile.estimates, casks)
    candidates, lacking = _complete(profile, samples, target)
    found = _rank(candidates, target)
    shown = found if top is None else found[:top]
    sure = _sureness(candidates, target, found, draws, seed)
    sentence, action = sure_sentence(sure)
    some = sure.best is not None
    return Match(
        target=target.name,
        sentence=sentence,
        next_action=action,
        casks=tuple(shown),
        left_out=tuple(sorted([*left_out, *lacking], key=lambda part: (part.cask, part.sample))),
        n_ranked=len(found),
        best_is_best=sure.best_is_best if some else None,
        first_hold_best=sure.first_hold_best if some else None,
        n_distinguishable=sure.n_distinguishable if some else None,
        seed=seed,
    )


def _known(profile: Profile, target: Target) -> None:
    names = list(profile.descriptors)
    unknown = [line.descriptor for line in target.lines if line.descriptor not in names]
    if unknown:
        lower = {name.lower(): name for name in names}
        nearest = {
            name: [lower[hit] for hit in difflib.get_close_matches(name.lower(), lower, 3, 0.5)]
            for name in unknown
        }
        raise UnknownDescriptorError(target.name, nearest)


def _latest(
    estimates: pd.DataFrame, casks: pd.DataFrame | None
) -> tuple[pd.DataFrame, list[LeftOut]]:
    """The latest draw of each cask's current filling, and the casks whose filling is gone."""
    about = ["sample", "cask", "filling", "drawn_on", "last_nosed"]
    samples = estimates.loc[estimates["cask"].notna(), about].drop_duplicates("sample")
    samples = samples.sort_values(
        ["drawn_on", "last_nosed", "sample"], na_position="first", kind="stable"
    )
    left_out: list[LeftOut] = []
    if casks is not None:
        samples, left_out = _current(samples, casks)
    latest = samples.drop_duplicates("cask", keep="last")
    return latest.sort_values("cask", ignore_index=True), left_out


def _current(samples: pd.DataFrame, casks: pd.DataFrame) -> tuple[pd.DataFrame, list[LeftOut]]:
    missing = [name for name in ("cask", "filling") if name not in casks.columns]
    if missing:
        raise FrameError("casks", [f"Missing columns: {', '.join(missing)}. Add them."])
    fillings = set(casks["filling"].astype("str"))
    is_current = samples["filling"].isna() | samples["filling"].astype("str").isin(fillings)
    gone = samples[~is_current & ~samples["cask"].isin(samples.loc[is_current, "cask"])]
    left_out = [
        LeftOut(
            cask=str(row.cask),
            sample=str(row.sample),
            reason=f"nosed as filling {row.filling}, which is no longer in it: draw it again",
        )
        for row in gone.drop_duplicates("cask", keep="last").itertuples()
    ]
    return samples[is_current], left_out


def _complete(
    profile: Profile, samples: pd.DataFrame, target: Target
) -> tuple[_Candidates, list[LeftOut]]:
    """Casks with an estimate on every line, and those without."""
    names = [line.descriptor for line in target.lines]
    rows = profile.estimates
    rows = rows[rows["sample"].isin(samples["sample"]) & rows["descriptor"].isin(names)]
    wide = {
        value: rows.pivot(index="sample", columns="descriptor", values=value).reindex(
            index=samples["sample"], columns=names
        )
        for value in ("estimate", "se", "component", "n_scores", "reason")
    }
    estimate, se, part, n = (
        wide[value].to_numpy(dtype=np.float64)
        for value in ("estimate", "se", "component", "n_scores")
    )
    known = ~(np.isnan(estimate) | np.isnan(se))
    tied = part == _largest_part(part[known.all(axis=1)])
    usable = known.all(axis=1) & tied.all(axis=1)
    lacking = [
        LeftOut(str(row.cask), str(row.sample), _why(names, wide["reason"], position, known))
        for position, row in enumerate(samples.itertuples())
        if not usable[position]
    ]
    kept = samples[usable].reset_index(drop=True)
    counts = np.nansum(n[usable], axis=1).astype(np.int64)
    return _Candidates(kept, estimate[usable], se[usable], counts), lacking


def _largest_part(parts: Matrix) -> Matrix:
    """For each line the tied part of the sessions that holds most of the casks."""
    if not len(parts):
        return np.zeros(parts.shape[1])
    return np.array([np.bincount(column.astype(np.intp)).argmax() for column in parts.T], float)


def _why(
    names: Sequence[str],
    reasons: pd.DataFrame,
    position: int,
    known: NDArray[np.bool_],
) -> str:
    unscored = [name for name, here in zip(names, known[position], strict=True) if not here]
    if not unscored:
        return (
            "nosed only in sessions that share no glass with the others: pour it once more "
            "beside the reference"
        )
    row = reasons.iloc[position]
    given = [row[name] for name in unscored if isinstance(row[name], str)]
    because = f" ({given[0]})" if given else ""
    return f"no estimate of {', '.join(unscored)}{because}"


def _rank(candidates: _Candidates, target: Target) -> list[CaskMatch]:
    aim, tolerance, weight = _lines(target)
    off = (candidates.estimate - aim) / tolerance
    distance = (off**2 + (candidates.se / tolerance) ** 2) @ weight
    chance = _within(candidates, aim, tolerance).prod(axis=1)
    worst = np.abs(off).argmax(axis=1)
    order = np.lexsort((candidates.about["cask"].to_numpy(dtype=str), distance, -chance))
    rows = list(candidates.about.itertuples())
    return [
        CaskMatch(
            cask=str(rows[i].cask),
            filling=None if pd.isna(rows[i].filling) else str(rows[i].filling),
            sample=str(rows[i].sample),
            probability=float(chance[i]),
            distance=float(distance[i]),
            worst_descriptor=target.lines[worst[i]].descriptor,
            worst_off=float(off[i, worst[i]]),
            n_scores=int(candidates.n_scores[i]),
            last_nosed=None if pd.isna(rows[i].last_nosed) else rows[i].last_nosed.date(),
        )
        for i in order
    ]


def _lines(target: Target) -> tuple[Matrix, Matrix, Matrix]:
    weight = np.array([line.weight for line in target.lines])
    return (
        np.array([line.aim for line in target.lines]),
        np.array([line.tolerance for line in target.lines]),
        weight / weight.sum(),
    )


def _within(candidates: _Candidates, aim: Matrix, tolerance: Matrix) -> Matrix:
    """Chance of each line being within its tolerance; tails beyond an end lie on the end."""
    high, low = aim + tolerance, aim - tolerance
    se = np.maximum(candidates.se, 1e-9)
    above = scipy.special.ndtr((high - candidates.estimate) / se)
    below = scipy.special.ndtr((low - candidates.estimate) / se)
    found: Matrix = np.where(high >= 100.0, 1.0, above) - np.where(low <= 0.0, 0.0, below)
    return found


def _sureness(
    candidates: _Candidates,
    target: Target,
    found: Sequence[CaskMatch],
    draws: int,
    seed: int,
) -> Sureness:
    """Draw the casks from their estimates and see how the order holds."""
    if not found:
        return Sureness(target.name, 0, 0, None, 0.0, 0.0, 0.0, 0, "")
    aim, tolerance, weight = _lines(target)
    place = {name: i for i, name in enumerate(candidates.about["cask"])}
    order = [place[part.cask] for part in found]
    rng = np.random.default_rng(seed)
    distance = np.empty((draws, len(order)))
    for d in range(draws):
        drawn = rng.normal(candidates.estimate[order], candidates.se[order])
        distance[d] = ((np.clip(drawn, 0.0, 100.0) - aim) / tolerance) ** 2 @ weight
    nearest = distance.argmin(axis=1)
    first = min(_FIRST, len(order))
    further = (distance[:, 1:first] > distance[:, :1]).mean(axis=0)
    return Sureness(
        target=target.name,
        n_first=first,
        n_ranked=len(found),
        best=found[0].cask,
        best_probability=found[0].probability,
        best_is_best=float((nearest == 0).mean()),
        first_hold_best=float((nearest < first).mean()),
        n_distinguishable=int((further >= _SURE).sum()),
        worst_descriptor=found[0].worst_descriptor,
    )
