"""The scores frame checked and laid out row by row, to compare the quick way with."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd

from analysis.array_types import Codes, Matrix, Names
from analysis.errors import FrameError
from analysis.frame_check import DEFAULTS, KEY, KINDS, REQUIRED, STATUSES
from analysis.order import is_smoke
from analysis.profile.table import ABOUT_SAMPLE, ScoreTable

_TEXT = ("session", "assessor", "sample", "descriptor", "kind", "status")
_NAMES = ("draw", "filling", "cask", "batch")
_DATES = ("held_on", "drawn_on")
_LISTED = 5


def plain_check(scores: pd.DataFrame, keep: Sequence[str] = ()) -> pd.DataFrame:
    """What :func:`analysis.frames.check_scores` says."""
    missing = [name for name in REQUIRED if name not in scores.columns]
    if missing:
        raise FrameError("scores", [f"Missing columns: {', '.join(missing)}. Add them."])
    frame = scores.reset_index(drop=True).copy()
    for name, value in DEFAULTS.items():
        if name not in frame.columns:
            frame[name] = value
    problems = _coerce(frame)
    if not problems:
        problems = [*_choices(frame), *_scale(frame), *_duplicates(frame, keep)]
    if problems:
        raise FrameError("scores", problems)
    return frame


def _coerce(frame: pd.DataFrame) -> list[str]:
    problems: list[str] = []
    for name in _TEXT:
        if frame[name].isna().any():
            problems.append(_at(frame, frame[name].isna(), f"has no {name}"))
        frame[name] = frame[name].astype("str")
    for name in _NAMES:
        frame[name] = frame[name].astype("object").where(frame[name].notna(), None)
    for name in ("replicate", "score", "scale_low", "scale_high", "age_years", "position"):
        problems += _numbers(frame, name)
    for name in ("replicate", "scale_low", "scale_high"):
        if frame[name].isna().any():
            problems.append(_at(frame, frame[name].isna(), f"has no {name}"))
    if not problems:
        problems += _whole_replicates(frame)
    for name in _DATES:
        problems += _dates(frame, name)
    return problems


def _numbers(frame: pd.DataFrame, name: str) -> list[str]:
    given = frame[name]
    numbers = pd.to_numeric(given, errors="coerce").astype("float64")
    frame[name] = numbers
    problems = []
    odd = given.notna() & numbers.isna()
    if odd.any():
        first = given[odd].iloc[0]
        problems.append(_at(frame, odd, f"has a {name} that is no number (first: {first!r})"))
    endless = pd.Series(np.isinf(numbers.to_numpy()))
    if endless.any():
        problems.append(_at(frame, endless, f"has an infinite {name}"))
    return problems


def _whole_replicates(frame: pd.DataFrame) -> list[str]:
    odd = frame["replicate"] % 1 != 0
    if odd.any():
        return [_at(frame, odd, "has a replicate that is no whole number")]
    frame["replicate"] = frame["replicate"].astype("int64")
    return []


def _dates(frame: pd.DataFrame, name: str) -> list[str]:
    given = frame[name]
    dates = pd.to_datetime(given, errors="coerce", format="ISO8601", utc=True)
    dates = dates.dt.tz_localize(None)
    frame[name] = dates
    odd = given.notna() & dates.isna()
    return (
        [_at(frame, odd, f"has a {name} that is no date (write 2026-03-31)")] if odd.any() else []
    )


def _choices(frame: pd.DataFrame) -> list[str]:
    problems = []
    for name, allowed in (("kind", KINDS), ("status", STATUSES)):
        odd = sorted(set(frame[name]) - set(allowed))
        if odd:
            problems.append(
                f"Unknown {name}: {', '.join(odd[:_LISTED])}. It is one of {', '.join(allowed)}."
            )
    return problems


def _scale(frame: pd.DataFrame) -> list[str]:
    problems = []
    flat = frame["scale_high"] <= frame["scale_low"]
    if flat.any():
        problems.append(_at(frame, flat, "has a scale whose high end is not above its low end"))
    off = (frame["score"] < frame["scale_low"]) | (frame["score"] > frame["scale_high"])
    off &= ~flat
    if off.any():
        row = frame[off].iloc[0]
        problems.append(
            _at(
                frame,
                off,
                f"has a score off its scale (first: {row['score']:g} on "
                f"{row['scale_low']:g} to {row['scale_high']:g})",
            )
        )
    return problems


def _duplicates(frame: pd.DataFrame, keep: Sequence[str]) -> list[str]:
    frame = frame[frame["status"].isin(keep) | ~frame["status"].isin(["void", "re-poured"])]
    counts = frame.groupby(KEY, sort=False).size().reset_index(name="times")
    twice = counts[counts["times"] > 1]
    if twice.empty:
        return []
    shown = [
        "session {}, assessor {}, sample {}, replicate {}, {} ({} times)".format(*row)
        for row in twice.head(_LISTED).itertuples(index=False)
    ]
    more = "; ..." if len(twice) > _LISTED else ""
    what = "glass is" if len(twice) == 1 else "glasses are"
    return [
        f"{len(twice)} {what} scored more than once on one descriptor: {'; '.join(shown)}{more}. "
        "Keep one row of each, or number the replicates."
    ]


def _at(frame: pd.DataFrame, rows: pd.Series, what: str) -> str:
    """Say in which rows (counted from 1) something is wrong."""
    numbers = [int(i) + 1 for i in np.flatnonzero(rows.to_numpy())]
    listed = ", ".join(str(i) for i in numbers[:_LISTED])
    more = f" and {len(numbers) - _LISTED} more" if len(numbers) > _LISTED else ""
    return f"Row {listed}{more} {what}."


def plain_usable(
    scores: pd.DataFrame, keep: Sequence[str], kinds: Sequence[str]
) -> tuple[pd.DataFrame, pd.DataFrame, Mapping[str, int]]:
    """Scores, blanks and counts of :func:`analysis.frames.usable`."""
    frame = plain_check(scores, keep)
    left_out: dict[str, int] = {}
    for status in STATUSES:
        dropped = frame["status"] == status
        if status not in keep and dropped.any():
            left_out[status.replace("_", " ")] = int(dropped.sum())
            frame = frame[~dropped]
    for kind in KINDS:
        dropped = frame["kind"] == kind
        if kind not in kinds and dropped.any():
            left_out[f"{kind.replace('_', '-')} glass"] = int(dropped.sum())
            frame = frame[~dropped]
    blank = frame["score"].isna()
    if blank.any():
        left_out["left blank"] = int(blank.sum())
    kept = frame[~blank].reset_index(drop=True)
    return kept, frame[blank].reset_index(drop=True), left_out


def plain_house_scale(scores: pd.DataFrame) -> pd.DataFrame:
    """What :func:`analysis.frames.on_house_scale` says."""
    frame = scores.copy()
    other = (frame["scale_low"] != 0.0) | (frame["scale_high"] != 100.0)
    if other.any():
        low, high = frame["scale_low"], frame["scale_high"]
        mapped = 100.0 * (frame["score"] - low) / (high - low)
        frame["score"] = frame["score"].where(~other, mapped)
        frame["scale_low"], frame["scale_high"] = 0.0, 100.0
    return frame


def plain_about(frame: pd.DataFrame) -> pd.DataFrame:
    """What :func:`analysis.profile.table.about_samples` says."""
    frame = frame.copy()
    for _, rows in frame.groupby("sample"):
        reference = rows["kind"].eq("reference")
        if reference.any() and not reference.all():
            whole = rows["filling"].notna().any()
            told = rows.loc[~reference, "kind"] if whole else rows.loc[reference, "kind"]
            frame.loc[reference[reference == whole].index, "kind"] = told.iloc[0]
    known = frame[["sample", *ABOUT_SAMPLE]].drop_duplicates()
    counts = known.groupby("sample")[["cask", "filling", "kind"]].nunique()
    torn = counts[(counts > 1).any(axis=1)].index.tolist()
    if torn:
        shown = ", ".join(str(name) for name in torn[:5])
        raise FrameError(
            "scores",
            [
                f"Sample {shown} belongs to more than one cask, filling or kind. Give each draw "
                "a sample name of its own."
            ],
        )
    about = known.groupby("sample", as_index=False)[ABOUT_SAMPLE].first()
    last = frame.groupby("sample")["held_on"].max().rename("last_nosed").reset_index()
    return about.merge(last, on="sample")


def plain_table(frame: pd.DataFrame) -> ScoreTable:
    """What :func:`analysis.profile.table.tabulate` says."""
    names, codes = {}, {}
    for column in ("session", "assessor", "sample", "descriptor"):
        codes[column], names[column] = _coded(frame[column])
    replicate = pd.factorize(frame["replicate"], sort=True)[0]
    keys = np.zeros(len(frame), dtype=np.int64)
    for part, size in (
        (codes["session"], len(names["session"])),
        (codes["assessor"], len(names["assessor"])),
        (codes["sample"], len(names["sample"])),
        (replicate, int(replicate.max()) + 1),
    ):
        keys = keys * size + part
    _, first, row = np.unique(keys, return_index=True, return_inverse=True)
    scores = np.full((len(first), len(names["descriptor"])), np.nan)
    scores[row, codes["descriptor"]] = frame["score"].to_numpy()
    return ScoreTable(
        sessions=names["session"],
        assessors=names["assessor"],
        samples=names["sample"],
        descriptors=names["descriptor"],
        session=codes["session"][first],
        assessor=codes["assessor"][first],
        sample=codes["sample"][first],
        filling=_fillings(frame, codes["sample"], len(names["sample"])),
        scores=scores,
        order=_order(frame, len(frame) - 1 - np.unique(keys[::-1], return_index=True)[1]),
    )


def _order(frame: pd.DataFrame, one: Codes) -> Matrix:
    """Place and smoke before, glass by glass."""
    found = np.zeros((len(one), 2))
    told = frame[[is_smoke(name) for name in frame["descriptor"]]]
    glasses = frame.iloc[one].reset_index(drop=True)
    for _, part in glasses.groupby("session"):
        smoke = pd.Series(np.nan, index=part.index)
        for _, tray in part.groupby("assessor"):
            known = tray[tray["position"].notna()].sort_values("position", kind="stable")
            for earlier, later in itertools.pairwise(known.index):
                same = (told["session"] == known.loc[earlier, "session"]) & (
                    told["sample"] == known.loc[earlier, "sample"]
                )
                smoke[later] = told.loc[same, "score"].mean()
        for column, values in enumerate((part["position"].astype(float), smoke)):
            found[part.index, column] = (values - values.mean()).fillna(0.0)
    return found


def _coded(column: pd.Series) -> tuple[Codes, Names]:
    codes, names = pd.factorize(column, sort=True)
    return codes.astype(np.intp), np.asarray(names, dtype=object)


def _fillings(frame: pd.DataFrame, sample: Codes, n_samples: int) -> Codes:
    filling, names = pd.factorize(frame["filling"])
    found = len(names) + np.arange(n_samples)
    known = filling >= 0
    found[sample[known]] = filling[known]
    return np.unique(found, return_inverse=True)[1].astype(np.intp)
