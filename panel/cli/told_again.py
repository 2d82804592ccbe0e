"""Answers as commands tell them: with the sessions they lack, and with `--would-change`.

`held_later` are the revealed sessions dated after the day of an answer, which it leaves out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

import click

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from analysis.ageing import Ageing
    from analysis.influences import Influences
    from analysis.next_glasses import Change, VatMind
    from analysis.target import Match
    from analysis.vatting import BatchAfter
    from panel.questions.asked_profile import AskedProfile
    from panel.questions.best_casks import BestTold
    from panel.questions.next_session import NextAnswer
    from panel.questions.vatting import VatAnswer
    from panel.release.record import ReleaseRecord

would_change_option = click.option(
    "--would-change",
    "mind",
    is_flag=True,
    help="Tell what the next session could change about the picks, or the vatting.",
)


@dataclass(frozen=True)
class MatchTold:
    """A ranking with the best casks; `would_change` is null where nobody asked."""

    found: Match
    told: BestTold
    would_change: tuple[Change, ...] | None = None
    held_later: tuple[str, ...] = ()

    json_keys = (("found", "**"), ("told", "**"), "would_change", "held_later")


@dataclass(frozen=True)
class VatTold:
    """A vatting; `would_change` is null where nobody asked, or nothing was found.

    `as_batch` is null where it was not to be like a batch before.
    """

    found: VatAnswer
    would_change: VatMind | None = None
    as_batch: BatchAfter | None = None
    held_later: tuple[str, ...] = ()

    json_keys = (("found", "**"), "would_change", "as_batch", "held_later")


@dataclass(frozen=True)
class ReleaseTold:
    """A release; `would_change` is null where nobody asked."""

    record: Annotated[dict[str, Any], ReleaseRecord]
    would_change: VatMind | None = None
    held_later: tuple[str, ...] = ()

    json_keys = (("record", "**"), "would_change", "held_later")


@dataclass(frozen=True)
class ProfileTold:
    """What samples are like, with the sessions that the answer lacks."""

    found: AskedProfile
    held_later: tuple[str, ...]

    json_keys = (("found", "**"), "held_later")


@dataclass(frozen=True)
class InfluencesTold:
    """What moves the notes, with the sessions that the answer lacks."""

    found: Influences
    held_later: tuple[str, ...]

    json_keys = (("found", "**"), "held_later")


@dataclass(frozen=True)
class AgeingTold:
    """How styles and casks develop, with the sessions that the answer lacks."""

    found: Ageing
    held_later: tuple[str, ...]

    json_keys = (("found", "**"), "held_later")


@dataclass(frozen=True)
class NextTold:
    """The next session, with the sessions that the answer lacks."""

    found: NextAnswer
    held_later: tuple[str, ...]

    json_keys = (("found", "**"), "held_later")


def tell_changes(changes: Sequence[Change] | None, asked: date | None) -> None:
    """Print what would change about which casks are chosen, where it was asked for."""
    from panel.words.change_words import changes_lines

    if changes is not None:
        _tell(changes_lines(changes, asked=asked))


def tell_vat_mind(mind: VatMind | None) -> None:
    """Print what would change about a vatting."""
    from panel.words.vat_mind_words import vat_mind_lines

    _tell(vat_mind_lines(mind))


def _tell(lines: Sequence[str]) -> None:
    click.echo("\n".join(["", "What would change your mind:", *lines]))
