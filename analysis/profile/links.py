"""Which sessions are tied together by samples nosed in both."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..array_types import Codes


@dataclass(frozen=True)
class Link:
    """Sessions that hang together through common samples, and the samples in them.

    Attributes
    ----------
    ties
        The samples nosed in more than one session, those in most sessions first.
    weak
        Sessions that hang on a single sample (one that was mistaken would move the whole
        evening), or on none where there are others.
    hangs_on
        The sample that each of these hangs on; empty for one that hangs on none.
    """

    sessions: tuple[str, ...]
    samples: tuple[str, ...]
    ties: tuple[str, ...] = ()
    weak: tuple[str, ...] = ()
    hangs_on: tuple[str, ...] = ()


def components(sessions: Codes, samples: Codes) -> tuple[Codes, Codes]:
    """Connected parts of the graph of sessions and samples.

    A sample nosed in two sessions ties them together. Between parts that nothing ties, a
    difference of two samples cannot be told from a difference of two evenings.

    Parameters
    ----------
    sessions, samples
        Code of each score, from 0 without gaps.

    Returns
    -------
    tuple of numpy.ndarray
        Part of each session and part of each sample; part 0 holds most samples.

    Examples
    --------
    >>> components(np.array([0, 0, 1, 2, 2]), np.array([0, 1, 1, 2, 3]))[1].tolist()
    [0, 0, 1, 1]
    """
    # Loaded when first asked: an answer that is kept asks nothing of a graph.
    import scipy.sparse.csgraph

    s, q = int(sessions.max()) + 1, int(samples.max()) + 1
    graph = scipy.sparse.coo_matrix(
        (np.ones(len(sessions)), (sessions, s + samples)), shape=(s + q, s + q)
    )
    _, label = scipy.sparse.csgraph.connected_components(graph, directed=False)
    sizes = np.bincount(label[s:])
    order = np.argsort(-sizes, kind="stable")
    rank = np.empty_like(order)
    rank[order] = np.arange(len(order))
    ranked = rank[label].astype(np.intp)
    return ranked[:s], ranked[s:]


def links(
    session_names: np.ndarray, sample_names: np.ndarray, sessions: Codes, samples: Codes
) -> tuple[Link, ...]:
    """Name the parts, that with most samples first.

    Examples
    --------
    >>> names = np.array(["S1", "S2", "S3"]), np.array(["REF", "x", "y"])
    >>> found = links(*names, np.array([0, 0, 1, 1, 2, 2]), np.array([0, 1, 0, 1, 0, 2]))
    >>> found[0].weak, found[0].hangs_on
    (('S3',), ('REF',))
    """
    of_session, of_sample = components(sessions, samples)
    s, q = len(session_names), len(sample_names)
    pairs = np.unique(sessions.astype(np.int64) * q + samples)
    session, sample = pairs // q, pairs % q
    n_sessions = np.bincount(sample, minlength=q)
    ties = n_sessions[sample] > 1
    hangs = (np.bincount(session, ties, s) < 2) & (s > 1)
    on = np.full(s, "", dtype=object)
    on[session[ties]] = sample_names[sample[ties]]
    by_ties = np.lexsort((np.arange(q), -n_sessions))
    return tuple(
        Link(
            sessions=_named(session_names, np.flatnonzero(of_session == part)),
            samples=_named(sample_names, np.flatnonzero(of_sample == part)),
            ties=_named(
                sample_names,
                by_ties[(of_sample[by_ties] == part) & (n_sessions[by_ties] > 1)],
            ),
            weak=_named(session_names, np.flatnonzero((of_session == part) & hangs)),
            hangs_on=_named(on, np.flatnonzero((of_session == part) & hangs)),
        )
        for part in range(int(of_sample.max()) + 1)
    )


def _named(names: np.ndarray, codes: np.ndarray) -> tuple[str, ...]:
    return tuple(str(name) for name in names[codes])
