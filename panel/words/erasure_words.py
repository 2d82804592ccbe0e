"""What an erasure says: what went, what stays, and whether the old text is gone from the file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.figures import in_digits

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from panel.records.erase import Erasure

OVERWRITTEN = "What was erased is overwritten in the database."
HELD_ELSEWHERE = (
    "Backups and saved files made before still hold it, and so do printed sheets: delete those "
    "too. What archives of a server's write-ahead log, snapshots of a disk or a drive's spare "
    "blocks keep is gone only when they are."
)


def erasure_lines(code: str, gone: Erasure) -> list[str]:
    """Say what went, what stays and what the house still has to do."""
    lines = [f"{code} is erased: name, PIN, roles, code and {gone.notes_deleted} notes."]
    if gone.own_words_cleared:
        what = "are numbers now" if gone.scores_kept else "are gone too"
        lines.append(f"{gone.own_words_cleared} words of their own {what}.")
    if gone.scores_kept:
        lines.append(f"{in_digits(gone.scores_kept, ',')} scores stay under {gone.pseudonym}.")
    if gone.scores_deleted:
        lines.append(f"{in_digits(gone.scores_deleted, ',')} scores were deleted.")
    lines.append(f"{gone.log_entries_cleared} log entries were emptied; the chain still holds.")
    if gone.keys_no_longer_checkable:
        names = ", ".join(gone.keys_no_longer_checkable)
        lines.append(f"Keys that named their tray can no longer be checked again: {names}.")
    if gone.releases_no_longer_checkable:
        names = ", ".join(gone.releases_no_longer_checkable)
        lines.append(f"Figures that named them differ now from those that were signed: {names}.")
    named = (
        f"Holds the word still, change it if it means them: {said}" for said in gone.still_named
    )
    return [*lines, *named]


def waiting_words(holders: str) -> str:
    """Say whom an erasure waits for."""
    return f"Waiting for others to let go of the database. Close {holders}."


def overwriting_lines(overwritten: bool, copies: Sequence[Path]) -> list[str]:
    """Say whether it is gone from the file, and what is left beside it."""
    beside = (f"Made before, it may still hold what was erased: {copy}" for copy in copies)
    return [*([OVERWRITTEN] if overwritten else []), *beside]
