"""Which unknowns of a house meet in a glass: the plan of a sparse system, once for all its rounds.

Unknowns are standardised: each has a prior of variance one but mu, which has none. *Local* ones
are samples, fillings of several samples, sessions and blocks; the *border* is mu, the assessors
and the samples nosed in many sessions, with a disagreement of each assessor about each of these.
Cells of all other samples are absorbed, so that two meetings of one cell speak of each other: a
*link*. Each meeting is one link with itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import scipy.sparse

from ...array_types import Codes, Flags, Vector
from ..layout import ModelLayout
from ..terms import ASSESSOR, ASSESSOR_SAMPLE, ASSESSOR_SESSION, FILLING, SESSION

MANY_SESSIONS = 4
"""Sessions from which a sample stands in the border: its cells would tie all of them together."""
U, F, S, B = range(4)
"""Places of the local unknowns of a meeting: sample, filling, session, block."""
MU, A, MUCH, D = range(4)
"""Places of those of the border: mu, assessor, sample nosed in many sessions, disagreement."""


@dataclass(frozen=True)
class Combos:
    """Pairs of unknowns that meet in a link.

    Attributes
    ----------
    slot
        Entry of the matrix of local unknowns.
    link
        The link.
    first, second
        Places among the values of all meetings, one a meeting and local unknown.
    times
        How often each counts in its entry.
    twice
        How often each counts in a sum over ordered pairs of the unknowns of a link.
    """

    slot: Codes
    link: Codes
    first: Codes
    second: Codes
    times: Vector
    twice: Vector


class Pattern:
    """Numbers of the unknowns and places of the matrix.

    Attributes
    ----------
    much
        Whether each sample stands in the border.
    local
        Local unknowns of each meeting, (meetings, 4); `size` where there is none.
    border
        Those of the border; `width` where there is none.
    size, width
        Number of local unknowns, and of those in the border.
    """

    def __init__(self, layout: ModelLayout, terms: tuple[str, ...]) -> None:
        self.layout, self.terms = layout, terms
        g = layout.glasses
        self.much = visits_of(layout) > MANY_SESSIONS
        members = np.bincount(g.filling)
        self.alone = np.ones(g.n_samples, bool)
        if FILLING in terms:
            self.alone = members[g.filling] == 1
        self._number_local(members)
        self._number_border()
        self._link()
        self._place()

    def _number_local(self, members: Codes) -> None:
        lay, g = self.layout, self.layout.glasses
        taken = 0
        self.of_sample, taken = _numbered(~self.much, taken)
        several = members > 1 if FILLING in self.terms else np.zeros(len(members), bool)
        self.of_filling, taken = _numbered(several, taken)
        self.of_session, taken = _numbered(np.full(g.n_sessions, SESSION in self.terms), taken)
        own = ASSESSOR_SESSION in self.terms
        self.of_block, taken = _numbered(np.full(lay.n_blocks, own), taken)
        self.size = taken
        i, b = lay.meeting_sample, lay.meeting_block
        columns = (
            *(self.of_sample[i], self.of_filling[g.filling[i]]),
            *(self.of_session[lay.block_session[b]], self.of_block[b]),
        )
        local = np.stack(columns, axis=1)
        self.local = np.where(local < 0, self.size, local)

    def _number_border(self) -> None:
        lay, g = self.layout, self.layout.glasses
        taken = 1
        with_offset = np.full(g.n_assessors, ASSESSOR in self.terms)
        self.of_assessor, taken = _numbered(with_offset, taken)
        self.of_much, taken = _numbered(self.much, taken)
        explicit = self.much[lay.cell_sample] & (ASSESSOR_SAMPLE in self.terms)
        self.of_cell, taken = _numbered(explicit, taken)
        self.explicit = explicit
        self.width = taken
        columns = (
            *(np.zeros(lay.n_meetings, np.intp), self.of_assessor[lay.meeting_assessor]),
            *(self.of_much[lay.meeting_sample], self.of_cell[lay.meeting_cell]),
        )
        border = np.stack(columns, axis=1)
        self.border = np.where(border < 0, self.width, border)

    def _link(self) -> None:
        """Every meeting with itself, and two of one absorbed cell with each other."""
        lay = self.layout
        order = np.argsort(lay.meeting_cell, kind="stable")
        cell = lay.meeting_cell[order]
        absorbed = ~self.explicit[cell] & (ASSESSOR_SAMPLE in self.terms)
        first, second = [], []
        for apart in range(1, len(order)):
            same = (cell[apart:] == cell[:-apart]) & absorbed[apart:]
            if not same.any():
                break
            first.append(order[:-apart][same])
            second.append(order[apart:][same])
        each = np.arange(lay.n_meetings)
        self.a = np.concatenate([each, *first])
        self.b = np.concatenate([each, *second])

    def _place(self) -> None:
        """Number the entries of the local matrix that any link, sample or diagonal needs."""
        m, n = self.size, self.layout.n_meetings
        link, t, u = _meetings_by_two(n, len(self.a) - n)
        first, second = self.a[link] * 4 + t, self.b[link] * 4 + u
        k, j = self.local.ravel()[first], self.local.ravel()[second]
        real = (k < m) & (j < m)
        link, first, second, k, j, t, u = (x[real] for x in (link, first, second, k, j, t, u))
        of_links, each = _keys(k, j, m), np.arange(m)
        of_samples = _keys(*self._wide, m)
        every = np.concatenate([of_links, of_samples, _keys(each, each, m)])
        self.keys, place = _distinct(every)
        slot, self.wide_slot, self.diagonal = np.split(
            place, [len(of_links), len(of_links) + len(of_samples)]
        )
        own = link < n
        times = np.where(~own & (k == j), 2.0, 1.0)
        twice = np.where(own & (t != u), 2.0, 1.0)
        self.combos = Combos(slot, link, first, second, times, twice)
        self.row, self.column = np.divmod(self.keys, m)

    def slots(self, first: Codes, second: Codes) -> Codes:
        """Entries of pairs of local unknowns that meet."""
        found: Codes = np.searchsorted(self.keys, _keys(first, second, self.size))
        return found

    @cached_property
    def members(self) -> scipy.sparse.csr_matrix:
        """Local unknowns that the disagreement about each sample hangs on, samples by unknowns."""
        lay, m = self.layout, self.size
        held = ~self.much[lay.meeting_sample]
        sample = np.repeat(lay.meeting_sample[held], 4)
        column = self.local[held].ravel()
        shape = (lay.glasses.n_samples, m)
        real = column < m
        places = (np.ones(int(real.sum())), (sample[real], column[real]))
        found = scipy.sparse.csr_matrix(places, shape=shape)
        found.sum_duplicates()
        return found

    @cached_property
    def _wide(self) -> tuple[Codes, Codes]:
        first, second = self.pairs
        column = self.members.indices
        return column[first].astype(np.int64), column[second].astype(np.int64)

    @cached_property
    def pairs(self) -> tuple[Codes, Codes]:
        """Pairs of entries of one row of `members`, each pair once."""
        start, count = self.members.indptr, np.diff(self.members.indptr)
        first, second = [], []
        for size in np.unique(count[count > 0]):
            at = start[:-1][count == size][:, None]
            x, y = np.triu_indices(int(size))
            first.append((at + x).ravel())
            second.append((at + y).ravel())
        empty = np.empty(0, np.intp)
        return np.concatenate([empty, *first]), np.concatenate([empty, *second])


def visits_of(layout: ModelLayout) -> Codes:
    """Sessions that each sample stood in."""
    g = layout.glasses
    pairs = np.unique(g.sample.astype(np.int64) * g.n_sessions + g.session)
    found: Codes = np.bincount(pairs // g.n_sessions, minlength=g.n_samples)
    return found


def _numbered(wanted: Flags, first: int) -> tuple[Codes, int]:
    """Consecutive numbers for those wanted, -1 for the others; and the next free one."""
    found = np.full(len(wanted), -1, np.intp)
    count = int(np.sum(wanted))
    found[wanted] = first + np.arange(count)
    return found, first + count


def _meetings_by_two(n_own: int, n_pairs: int) -> tuple[Codes, Codes, Codes]:
    """Link and two of its four places each: half of the pairs where a meeting meets itself."""
    t, u = np.triu_indices(4)
    own = np.repeat(np.arange(n_own), len(t))
    other = n_own + np.repeat(np.arange(n_pairs), 16)
    x, y = np.divmod(np.arange(16), 4)
    link = np.concatenate([own, other])
    first = np.concatenate([np.tile(t, n_own), np.tile(x, n_pairs)])
    return link, first, np.concatenate([np.tile(u, n_own), np.tile(y, n_pairs)])


def _keys(first: Codes, second: Codes, size: int) -> Codes:
    """One number a pair, whichever comes first."""
    low, high = np.minimum(first, second), np.maximum(first, second)
    found: Codes = high.astype(np.int64) * size + low
    return found


def _distinct(keys: Codes) -> tuple[Codes, Codes]:
    """The keys in order, each once, and the place of each among them."""
    order = np.argsort(keys)
    ordered = keys[order]
    new = np.concatenate([[True], ordered[1:] != ordered[:-1]])
    place = np.empty(len(keys), np.intp)
    place[order] = np.cumsum(new) - 1
    return ordered[new], place
