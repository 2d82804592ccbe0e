"""What came of kills: what was said as kept beside what the records hold, in its order."""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import zip_longest
from pathlib import Path

from sqlalchemy import func, select

from panel.store.engine import Store
from panel.store.lexicon import Descriptor, DescriptorVersion
from panel.store.sessions import ScoreChange

Change = tuple[str, int]
"""A line and the value that was put on it."""
SEED = 20260314


@dataclass(frozen=True)
class Outcome:
    """What came of the kills of one kind of booth."""

    what: str
    kills: int
    told: Sequence[Change]
    """What was said as kept, or found standing at the next sign-in, in its order."""
    kept: Sequence[Change]
    """Every change in the records, in its order."""

    @property
    def missing(self) -> int:
        return sum(one != other for one, other in zip_longest(self.told, self.kept) if one)

    @property
    def doubled(self) -> int:
        return len(self.kept) - len(self.told)

    def sentence(self) -> str:
        return (
            f"{self.kills} kills of {self.what}: {len(self.told)} scores told as kept, "
            f"{self.missing} of them missing, {self.doubled} done twice"
        )


def score_changes(store: Store) -> list[Change]:
    """Return every change of a score in the records, in its order."""
    asked = (
        select(Descriptor.name, func.round(ScoreChange.value))
        .join(DescriptorVersion, DescriptorVersion.descriptor_id == Descriptor.id)
        .join(ScoreChange, ScoreChange.descriptor_version_id == DescriptorVersion.id)
        .order_by(ScoreChange.id)
    )
    with store.read() as db:
        return [(name, int(value)) for name, value in db.execute(asked)]


def tell(try_kills: Callable[[int, int, Path], Outcome], kills: int) -> None:
    """Kill so often in a house of its own, and print what came of it."""
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as place:
        sys.stdout.write(f"{try_kills(kills, SEED, Path(place)).sentence()}\n")
        sys.stdout.flush()
