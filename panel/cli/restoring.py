"""What `db restore` says: what is back, what is kept, and what has to be done again."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

import click

from panel.cli.answers import say

if TYPE_CHECKING:
    from panel.records.restore import Restored
    from panel.store.lost_stretch import LostScore


def show_restored(done: Restored) -> None:
    """Write it, the scores gathered by session and assessor."""
    click.echo(f"{done.database} is now as it was: {done.backup_of}.")
    if done.without_its_log:
        say(
            f"{done.source} was not made by `oakpanel db backup`: copied alone from a database in "
            "use, it lacks what then lay in the file that ends in -wal."
        )
    if done.replaced is not None:
        click.echo(f"What was there is kept: {done.replaced}")
    if done.seats_dropped:
        booths = "1 booth has" if done.seats_dropped == 1 else f"{done.seats_dropped} booths have"
        click.echo(f"{booths} to sign in again.")
    if done.entries_lost is None:
        click.echo(
            "What was there could not be read: what was written after the backup, scores among it, "
            "is lost and cannot be listed."
        )
    elif done.entries_lost:
        click.echo(
            f"Entries of the log that came after the backup and are lost: {done.entries_lost:,}."
        )
    for line in score_lines(done.scores_to_key_again):
        click.echo(line)
    for code in done.erased_since:
        click.echo(f"Erased after the backup and back with it: `oakpanel people erase {code}`.")
    if done.scores_to_key_again:
        say("--json lists each score with its value.")


def score_lines(scores: tuple[LostScore, ...]) -> list[str]:
    """Return a line a person and session: how many scores, on which glasses."""
    gathered: dict[tuple[str, str], list[LostScore]] = defaultdict(list)
    for score in scores:
        gathered[score.session, score.assessor].append(score)
    return [
        f"To be keyed again in {session}: {assessor}, {len(found)} "
        f"{'score' if len(found) == 1 else 'scores'} on {_glasses(found)}."
        for (session, assessor), found in gathered.items()
    ]


def _glasses(scores: list[LostScore]) -> str:
    return ", ".join(dict.fromkeys(score.glass for score in scores))
