"""What putting a backup back says: what is back, what is kept, and what has to be done again."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from panel.figures import in_digits

if TYPE_CHECKING:
    from panel.records.restore import Restored


class ToKeyAgain(Protocol):
    """A score that the backup does not hold."""

    @property
    def session(self) -> str:
        """The session's name."""

    @property
    def assessor(self) -> str:
        """Whose it is."""

    @property
    def glass(self) -> str:
        """On which glass."""


@dataclass(frozen=True)
class Said:
    """A line; `aside` where it is advice and not the answer."""

    text: str
    aside: bool = False


def restored_lines(done: Restored) -> Iterator[Said]:
    """Give it line by line, the scores gathered by session and assessor."""
    yield Said(f"{done.database} is now as it was: {done.backup_of}.")
    if done.without_its_log:
        yield Said(
            f"{done.source} was not made by `oakpanel db backup`: copied alone from a database in "
            "use, it lacks what then lay in the file that ends in -wal.",
            aside=True,
        )
    if done.replaced is not None:
        yield Said(f"What was there is kept: {done.replaced}")
    if done.seats_dropped:
        booths = "1 booth has" if done.seats_dropped == 1 else f"{done.seats_dropped} booths have"
        yield Said(f"{booths} to sign in again.")
    yield from map(Said, _lost(done))
    yield from map(Said, score_lines(done.scores_to_key_again))
    for code in done.erased_since:
        yield Said(f"Erased after the backup and back with it: `oakpanel people erase {code}`.")
    if done.scores_to_key_again:
        yield Said("--json lists each score with its value.", aside=True)


def _lost(done: Restored) -> Iterator[str]:
    if done.entries_lost is None:
        yield (
            "What was there could not be read: what was written after the backup, scores among it, "
            "is lost and cannot be listed."
        )
    elif done.entries_lost:
        yield (
            "Entries of the log that came after the backup and are lost: "
            f"{in_digits(done.entries_lost, ',')}."
        )


def score_lines(scores: Sequence[ToKeyAgain]) -> list[str]:
    """Return a line a person and session: how many scores, on which glasses."""
    gathered: dict[tuple[str, str], list[ToKeyAgain]] = defaultdict(list)
    for score in scores:
        gathered[score.session, score.assessor].append(score)
    return [
        f"To be keyed again in {session}: {assessor}, {len(found)} "
        f"{'score' if len(found) == 1 else 'scores'} on {_glasses(found)}."
        for (session, assessor), found in gathered.items()
    ]


def _glasses(scores: Sequence[ToKeyAgain]) -> str:
    return ", ".join(dict.fromkeys(score.glass for score in scores))
