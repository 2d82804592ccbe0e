"""What stands against signing a release, from what was kept of it: limits and rules by key."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from panel.questions.agreed import AGREED

if TYPE_CHECKING:
    from panel.release.benched import BenchNosed

BENCH = "bench blend as nosed"
NOT_NOSED = "bench blend not nosed"
LEAST_CHANCE = 0.1
"""Below this chance of being within the target as nosed a reason is asked for, whatever the lines
say one by one. A house default: of blends well within their target six in a hundred are asked
about, of those a tolerance too far on one line nine in ten."""


@dataclass(frozen=True)
class Against:
    """One thing that stands against a signature.

    Attributes
    ----------
    key
        The kind of limit, rule or doubt, the bar that was lifted by name, `BENCH` or `NOT_NOSED`;
        None where it was kept in words only, before keys were.
    sentence
        The same in words.
    """

    key: str | None
    sentence: str


def against_signing(found: Mapping[str, Any]) -> list[Against]:
    """Return all that a disgorged release does not keep, leaves unclear or had agreed by name."""
    return [
        *_kept(found, "broken_limits", "limit", in_words="broken"),
        *_kept(found, "broken_rules", "rule", in_words="checks"),
        *_too_weak(found),
        *_kept(found, "doubts", "doubt"),
        *_kept(found, AGREED, "bar"),
    ]


def against_bench(found: BenchNosed | None, not_nosed: str | None = None) -> list[Against]:
    """Return what the panel's nosing of the bench blend has against it.

    `not_nosed` is why a blend that ought to be nosed was not.
    """
    if found is None:
        said = (
            f"Its bench blend was never nosed blind: {not_nosed}. What it is like is reckoned only."
        )
        return [Against(NOT_NOSED, said)] if not_nosed else []
    unlikely = found.probability is not None and found.probability < LEAST_CHANCE
    return [Against(BENCH, found.sentence)] if unlikely or found.out else []


def _kept(
    found: Mapping[str, Any], name: str, key: str, *, in_words: str | None = None
) -> Iterator[Against]:
    """Read one list; one that was kept in words only counts sentence by sentence."""
    if name in found:
        for each in found[name]:
            yield Against(str(each[key]), str(each["sentence"]))
    elif in_words is not None:
        for sentence in found.get(in_words, []):
            yield Against(None, str(sentence))


def _too_weak(found: Mapping[str, Any]) -> Iterator[Against]:
    from analysis.vatting import LimitKind

    if found.get("water_litres") is None:
        yield Against(LimitKind.STRENGTH.value, "The vat is below the bottling strength.")
