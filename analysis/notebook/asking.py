"""The house's questions, asked of frames: with the settings that the program has by default."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields
from datetime import date

import pandas as pd

from ..ageing import Ageing, Asked, NotesOnDay, notes_on_day
from ..agreement import Agreement
from ..agreement import assess_agreement as assess_evening
from ..agreement.sessions.warned_profile import warned_profile
from ..bars import Bars
from ..errors import InputError, UnknownNameError
from ..influences import Influences
from ..influences import estimate_influences as estimate_effects
from ..on_stock import ageing_of_stock, match_stock, stock_on
from ..on_stock.barred import usable_fillings
from ..profile import Profile
from ..profile.compared import compared_first
from ..profile.latest import in_cask
from ..readable import Readable
from ..target import Match, Target, match_casks
from ..vatting import GaugeRule, Limits, MixingRule, NoVatting, VattingPlan, stock_from_profile
from ..vatting import plan_vatting as plan
from ..vatting.records import bars_in
from .shown import drawn

Readable.drawn_by = drawn

TO_DATE = 40
"""Sessions that an evening is laid beside."""
LIMITS = tuple(sorted({part.name for part in fields(Limits)} | {"casks"}))


def assess_agreement(scores: pd.DataFrame, session: str | None = None, seed: int = 1) -> Agreement:
    """Say how far the panel of one session can be trusted, beside the sessions before it.

    Parameters
    ----------
    scores
        A scores frame, of that session and any others.
    session
        Its name; may be left out where the frame holds one only.

    Raises
    ------
    UnknownNameError
        No such session; with the nearest.
    FrameError, TooLittleError
        See :func:`oakpanel.analysis.agreement.assess_agreement`.
    """
    names = [str(name) for name in scores["session"].unique()]
    if session is None and len(names) > 1:
        raise InputError(f"The scores are of {len(names)} sessions: name one, such as {names[-1]}.")
    wanted = names[0] if session is None else session
    if wanted not in names:
        raise UnknownNameError("session", wanted, names)
    mine = scores["session"].astype("str") == wanted
    return assess_evening(scores[mine], recent=_before(scores, wanted), seed=seed)


def estimate_profile(scores: pd.DataFrame, as_of: date | None = None) -> Profile:
    """Say what each sample is on each note, over all sessions.

    See :func:`oakpanel.analysis.profile.estimate_profile`; notes that the panel read two ways,
    and samples that everybody had in one order, are told with it.
    """
    return warned_profile(scores, as_of=as_of)


def estimate_influences(
    profile: Profile,
    drawn: pd.DataFrame,
    stock: pd.DataFrame | None = None,
    descriptors: Sequence[str] = (),
) -> Influences:
    """Say what wood, previous contents, fill, age, peat and strength do to each note.

    Parameters
    ----------
    drawn
        What :func:`read_drawn` gives.
    stock
        What :func:`read_stock` gives; casks never nosed are foretold.
    descriptors
        Those wanted; all by default.
    """
    present = None if stock is None else _as_draws(stock)
    profile = _beside(profile, stock)
    return estimate_effects(profile, drawn, stock=present, descriptors=tuple(descriptors) or None)


def estimate_ageing(
    profile: Profile,
    drawn: pd.DataFrame,
    stock: pd.DataFrame,
    *,
    targets: Sequence[Target] = (),
    make: str | None = None,
    wood: str | None = None,
    casks: Sequence[str] = (),
    descriptors: Sequence[str] = (),
) -> Ageing:
    """Say how styles or casks grow with age, and when casks meet the targets.

    Parameters
    ----------
    drawn, stock
        What :func:`read_drawn` and :func:`read_stock` give; the day is that of the stock.
    make, wood
        Names or parts of names.
    casks
        Casks by number: their own curves instead of their styles'.

    Raises
    ------
    InputError
        No such make, wood, cask or note; with the nearest.
    """
    return ageing_of_stock(
        _beside(profile, stock),
        drawn,
        _as_draws(stock),
        stock,
        as_of=_day_of(stock),
        asked=Asked(make=make, wood=wood, casks=tuple(casks), descriptors=tuple(descriptors)),
        targets=targets,
    )


def match(
    profile: Profile,
    target: Target,
    stock: pd.DataFrame | None = None,
    drawn: pd.DataFrame | None = None,
    *,
    top: int | None = None,
    with_held: bool = False,
) -> Match:
    """Say which casks suit a target, best first.

    Parameters
    ----------
    stock, drawn
        What :func:`read_stock` and :func:`read_drawn` give: notes are moved to the day of the
        stock, and casks that may not be used unasked are left out unless `with_held`. Without
        `drawn` each cask is matched as it was nosed; without `stock` whatever its records say.
    top
        Show so many only.

    Raises
    ------
    UnknownDescriptorError
        The target names a note without a score; with the nearest.
    """
    profile = _beside(profile, stock)
    if stock is None or drawn is None:
        return match_casks(profile, target, casks=stock, top=top)
    notes = _notes(profile, target, stock, drawn)
    return match_stock(target, stock, notes, top=top, with_held=with_held)


def plan_vatting(
    profile: Profile,
    target: Target,
    stock: pd.DataFrame,
    drawn: pd.DataFrame | None = None,
    *,
    mixing: MixingRule | None = None,
    in_full: bool = False,
    **limits: object,
) -> VattingPlan | NoVatting:
    """Choose casks and litres for a release.

    Rules of law are not looked at here: `oakpanel vat` holds a vatting to those of the house.

    Parameters
    ----------
    stock, drawn
        As for :func:`match`; the day of bottling is that of the stock.
    mixing
        What :func:`read_mixing` gives: how notes mix; in proportion to pure alcohol without it.
    in_full
        Also find other answers, stand-ins and the price of every limit.
    limits
        Fields of :class:`oakpanel.analysis.vatting.Limits`, such as `bottles=1200`,
        `abv_percent=46`, `age_statement_years=8`, `drawing`, `shares`; and `casks=(2, 12)`, the
        least and the most.

    Raises
    ------
    UnknownNameError
        No such limit; with the nearest.
    LimitsError
        What is asked cannot be tried; every fault is told.
    """
    asked, profile = _limits(stock, limits), _beside(profile, stock)
    if drawn is None:
        known = stock_from_profile(profile, in_cask(stock), as_of=_day_of(stock))
    else:
        known = stock_on(stock, _notes(profile, target, stock, drawn))
    return plan(known, target, asked, mixing, in_full=in_full)


def _beside(profile: Profile, stock: pd.DataFrame | None) -> Profile:
    """The profile with the part first that has most of this stock's casks that may be used."""
    return profile if stock is None else compared_first(profile, usable_fillings(stock))


def _before(scores: pd.DataFrame, session: str) -> pd.DataFrame | None:
    """Scores of the last sessions that were held by that day; None where there are none."""
    held = scores.assign(session=scores["session"].astype("str")).drop_duplicates("session")
    on = held.loc[held["session"] == session, "held_on"].iloc[0]
    earlier = held if pd.isna(on) else held[held["held_on"] <= on]
    last = earlier.sort_values("held_on", kind="stable", na_position="first").tail(TO_DATE)
    names = [name for name in last["session"] if name != session]
    return scores[scores["session"].isin(names)] if names else None


def _notes(
    profile: Profile, target: Target, stock: pd.DataFrame, drawn: pd.DataFrame
) -> NotesOnDay:
    lines = [line.descriptor for line in target.lines]
    return notes_on_day(profile, drawn, _as_draws(stock), _day_of(stock), descriptors=lines)


def _as_draws(stock: pd.DataFrame) -> pd.DataFrame:
    """What lies in the casks, in the columns of draws: each is a sample by its filling."""
    lying = in_cask(stock)
    return lying.assign(sample=lying["filling"]).drop(columns="drawn_on", errors="ignore")


def _day_of(stock: pd.DataFrame) -> date:
    """The day that a stock holds for."""
    days = [] if "stock_on" not in stock.columns else stock["stock_on"].dropna().unique().tolist()
    if len(days) != 1:
        raise InputError(
            "The stock does not say for which one day it holds: give it a column stock_on."
        )
    return pd.Timestamp(days[0]).date()


def _limits(stock: pd.DataFrame, given: Mapping[str, object]) -> Limits:
    """The limits by their names; what the house asks of a gauge comes with its stock."""
    for name in given:
        if name not in LIMITS:
            raise UnknownNameError("limit", name, LIMITS)
    asked = dict(given)
    low, high = _range(asked.pop("casks", None))
    usual: dict[str, object] = {"casks_min": low, "casks_max": high}
    most = _gauge_most_years(bars_in(stock))
    if most is not None:
        usual |= {"gauge_max_age_years": most, "gauge_rule": GaugeRule.REFUSE}
    return Limits(**{**usual, **asked})  # type: ignore[arg-type]


def _range(casks: object) -> tuple[int | None, int | None]:
    match casks:
        case None:
            return None, None
        case (int(low), int(high)):
            return low, high
    raise InputError(f"casks={casks!r} is no pair of least and most, such as (2, 12).")


def _gauge_most_years(bars: Sequence[Bars]) -> float | None:
    rules = (each.rules.gauge_most_years for against in bars for each in against)
    return next((years for years in rules if years is not None), None)
