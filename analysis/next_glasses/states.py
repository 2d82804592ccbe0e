"""The casks of a question as arrays: what is known of each on the notes that are asked for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from ..array_types import Codes, Flags, Matrix, Stack, Vector
from ..bars import NOTHING_AGREED, Allowed
from ..errors import InputError
from ..on_stock.barred import barred_fillings
from ..profile.bends import Bends, bends_of
from ..profile.shapes import STANDING_OUT, STANDS_OUT, USUAL
from ..target import LeftOut
from .apart import Apart, apart_of, is_apart
from .known import Known

_LEAST = 1e-9


@dataclass(frozen=True, eq=False)
class States:
    """Casks with the joint posterior of some notes.

    Attributes
    ----------
    names, notes
        Of rows and columns.
    mean
        Points, shape (n, notes).
    own
        Covariance of each cask's own error, (n, notes, notes).
    shared
        Errors that casks share note by note, ``shared[i, d] @ g_d``, (n, notes, sources).
    common
        Variance of what all casks share on each note, (notes,).
    unnosed
        Casks without a glass, foretold or not.
    foretellable
        Casks of which something is known: nosed, or foretold.
    part
        Of casks that only sessions without a common glass know, their part of these, from 1; 0 of
        all others. None where all sessions hang together.
    bends
        How far what is believed of each cask is from normal; None where it counts as one.
    """

    names: tuple[str, ...]
    notes: tuple[str, ...]
    mean: Matrix
    own: Stack
    shared: Stack
    common: Vector
    unnosed: Flags
    foretellable: Flags
    left_out: tuple[LeftOut, ...] = ()
    bends: Bends | None = None
    part: Codes | None = None

    @cached_property
    def apart(self) -> Flags:
        """Casks that only other sessions know, without a glass in common."""
        return is_apart(self.part, len(self.names))

    @cached_property
    def covariance(self) -> Stack:
        """Of the error of each cask against the others: all but what every cask shares."""
        found: Stack = self.own + np.sum(self.shared**2, axis=2)[:, :, None] * np.eye(
            len(self.notes)
        )
        return found

    def rows(self, names: Sequence[str]) -> Codes:
        """Rows of some casks; those that are not here are passed over."""
        place = {name: row for row, name in enumerate(self.names)}
        return np.array([place[name] for name in names if name in place], dtype=np.intp)

    def only(self, rows: Codes) -> States:
        """Some of the casks."""
        return replace(
            self,
            names=tuple(self.names[row] for row in rows),
            mean=self.mean[rows],
            own=self.own[rows],
            shared=self.shared[rows],
            unnosed=self.unnosed[rows],
            foretellable=self.foretellable[rows],
            bends=None if self.bends is None else self.bends.only(rows),
            part=None if self.part is None else self.part[rows],
        )

    def shaped(self, bends: Bends | None) -> States:
        """The casks as the spread of their house has them: moved, and known as well as that."""
        if bends is None:
            return self
        mean, own = bends.shaped(self.mean, self.own)
        return replace(self, mean=mean, own=own, bends=bends)

    def tails(self, n: int, rng: np.random.Generator) -> Matrix:
        """By how much the variance of each cask counts in each of `n` draws, (n, casks)."""
        found = np.ones((n, len(self.names)))
        out = rng.random((n, int(self.unnosed.sum()))) < STANDS_OUT
        found[:, self.unnosed] = np.where(out, STANDING_OUT, USUAL)
        return found

    def draws(self, n: int, rng: np.random.Generator) -> Stack:
        """Draw what the casks may truly be, (n, casks, notes), not held to the line."""
        drawn = self.against_each_other(n, rng)
        drawn += self.level(n, rng)
        return drawn

    def level(self, n: int, rng: np.random.Generator) -> Stack:
        """Draw what all casks share on each note, (n, 1, notes): no glass of one tells of it."""
        found: Stack = rng.standard_normal((n, 1, len(self.notes))) * np.sqrt(self.common)
        return found

    def against_each_other(self, n: int, rng: np.random.Generator) -> Stack:
        """Draw what the casks may truly be, but for what all of them share."""
        values, vectors = np.linalg.eigh(self.own)
        root = vectors * np.sqrt(np.maximum(values, 0.0))[:, None, :]
        shape = (*self.mean.shape, n)
        noise = np.moveaxis(root @ rng.standard_normal(shape), 2, 0)
        noise *= np.sqrt(self.tails(n, rng))[:, :, None]
        if self.bends is not None:
            sd = np.sqrt(np.diagonal(self.own, axis1=1, axis2=2))
            noise = self.bends.bent(noise / sd) * sd
        drawn: Stack = self.mean + noise
        if self.shared.any():
            sources = rng.standard_normal((n, *self.shared.shape[1:]))
            drawn += np.einsum("kdr,sdr->skd", self.shared, sources)
        return drawn


def states_of(
    known: Known, notes: Sequence[str], allowed: Allowed = NOTHING_AGREED, *, bars: bool = True
) -> States:
    """Lay out the casks that may be chosen.

    A cask of which nothing is known at all counts as any of the house: the mean of the casks
    that are known, with what casks differ by.

    Parameters
    ----------
    bars
        Whether what forbids choosing a cask takes it out.

    Raises
    ------
    InputError
        Nobody has an estimate on one of the notes.
    """
    stock = known.stock
    if unknown := [note for note in notes if note not in stock.descriptors]:
        raise InputError(f"Nothing is known of {', '.join(unknown)}. Nose it first.")
    columns = stock.columns_of(notes)
    barred = barred_fillings(stock.casks, allowed) if bars else {}
    kept = np.array([str(name) not in barred for name in stock.casks["filling"]], dtype=np.bool_)
    found = stock.estimate[:, columns]
    none: Flags = np.isnan(found)
    some: Flags = np.asarray(~none.any(axis=1))
    centre, between = known.between(notes)
    mean = np.where(none, centre, found)
    own = np.where(some[:, None, None], _own(known, columns), between)
    shared = _shared(known, columns)
    panel = np.array([stock.panel_sd.get(name, 0.0) for name in notes])
    states = States(
        names=tuple(str(name) for name in stock.names),
        notes=tuple(notes),
        mean=mean,
        own=own + _LEAST * np.eye(len(columns)),
        shared=np.where(some[:, None, None], shared, 0.0),
        common=panel**2,
        unnosed=np.array([str(name) not in known.nosed for name in stock.names]),
        foretellable=some,
        left_out=tuple(LeftOut(cask, "", why) for cask, why in barred.values()),
    )
    return _with_apart(states, apart_of(known, states.notes)).only(np.flatnonzero(kept))


def _with_apart(states: States, apart: Apart | None) -> States:
    """Casks of sessions that share no glass with those compared, as their own sessions know them.

    They may be poured, not chosen; errors hang together within each part.
    """
    if apart is None:
        return states
    there = apart.there & ~states.foretellable
    own = np.where(there[:, None, None], apart.own, states.own)
    level = apart.level_within(np.diagonal(own, axis1=1, axis2=2))
    level *= (there | states.foretellable)[:, None, None]
    return replace(
        states,
        mean=np.where(there[:, None], apart.mean, states.mean),
        own=own - np.sum(level**2, axis=2)[:, :, None] * np.eye(len(states.notes)),
        shared=np.concatenate([states.shared, level], axis=2),
        part=np.where(there, apart.part, 0),
    )


def shaped_states(known: Known, notes: Sequence[str], allowed: Allowed = NOTHING_AGREED) -> States:
    """Lay out the casks that may be chosen, by the spread that the house shows of them."""
    states = states_of(known, notes, allowed)
    nosed = known.nosed
    samples = [nosed[cask].sample if cask in nosed else "" for cask in states.names]
    return states.shaped(bends_of(known.profile.posterior, samples, notes))


def _own(known: Known, columns: Codes) -> Stack:
    stock = known.stock
    if stock.covariance is not None:
        found: Stack = np.nan_to_num(stock.covariance[:, columns][:, :, columns])
        return found
    sd = np.nan_to_num(stock.sd[:, columns])
    alone: Stack = sd[:, :, None] ** 2 * np.eye(len(columns))
    return alone


def _shared(known: Known, columns: Codes) -> Stack:
    stock = known.stock
    parts = [part for part in (stock.note_loadings, stock.loadings) if part is not None]
    if not parts:
        return np.zeros((len(stock), len(columns), 1))
    found: Stack = np.nan_to_num(np.concatenate([part[:, columns] for part in parts], axis=2))
    return found
