"""What is said of people: their passes, and what an erasure would take."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panel.records.erase import Foreseen


def passes_words(ended: int) -> str:
    """Say how many passes ended."""
    what = {0: "There was no pass", 1: "1 pass ended"}.get(ended, f"{ended} passes ended")
    return f"{what}; the next act that binds asks for a PIN."


def foreseen_lines(code: str, foreseen: Foreseen) -> list[str]:
    """Say what an erasure of somebody takes for good, and what it leaves."""
    lines = [
        f"Goes for good: name, PIN, roles and the code {code}; {foreseen.notes} notes they wrote; "
        "their entries in the log are emptied, its chain holds.",
        f"Their {foreseen.scores:,} scores go too, or stay under a pseudonym that nothing leads "
        "back from: then the figures of past sessions stay as they are.",
        "Not reached from here: backups, saved files and printed sheets made before. Delete those "
        "too.",
    ]
    if foreseen.n_own_words:
        lines.append(
            f"Their {foreseen.n_own_words} own words become numbers, or go with the scores."
        )
    if foreseen.keys:
        names = ", ".join(foreseen.keys)
        lines.append(f"Keys that name their tray could not be checked again: {names}.")
    return lines
