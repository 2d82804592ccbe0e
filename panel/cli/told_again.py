"""`--would-change`: an answer told with what the next session could change about its picks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

import click

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analysis.next_glasses import Change
    from analysis.target import Match
    from analysis.vatting import BatchAfter
    from panel.questions.best_casks import BestTold
    from panel.questions.vatting import VatAnswer
    from panel.release.record import ReleaseRecord

would_change_option = click.option(
    "--would-change",
    "mind",
    is_flag=True,
    help="Tell what the next session could change about the picks.",
)


@dataclass(frozen=True)
class MatchTold:
    """A ranking with the best casks; `would_change` is null where nobody asked."""

    found: Match
    told: BestTold
    would_change: tuple[Change, ...] | None = None

    json_keys = (("found", "**"), ("told", "**"), "would_change")


@dataclass(frozen=True)
class VatTold:
    """A vatting; `would_change` is null where nobody asked, or nothing was found.

    `as_batch` is null where it was not to be like a batch before.
    """

    found: VatAnswer
    would_change: tuple[Change, ...] | None = None
    as_batch: BatchAfter | None = None

    json_keys = (("found", "**"), "would_change", "as_batch")


@dataclass(frozen=True)
class ReleaseTold:
    """A release; `would_change` is null where nobody asked."""

    record: Annotated[dict[str, Any], ReleaseRecord]
    would_change: tuple[Change, ...] | None = None

    json_keys = (("record", "**"), "would_change")


def tell_changes(changes: Sequence[Change] | None, *, mixed: bool = False) -> None:
    """Print what would change, where it was asked for; *mixed* of parts of a mixture."""
    from panel.words.change_words import mind_lines

    if changes is not None:
        click.echo("\n" + "\n".join(mind_lines(changes, mixed=mixed)))
