"""What `people erase` and `db forget` say of the file: whether the erased text is gone from it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from panel.cli.answers import say

if TYPE_CHECKING:
    from panel.store.engine import Store
    from panel.store.erasing import Overwriting


def finish(store: Store) -> Overwriting:
    """Overwrite what was erased, and say whom it waits for."""
    from panel.records.traces import touched_tables
    from panel.store.erasing import overwrite
    from panel.store.holders import named

    def waits(held_by: tuple[str, ...]) -> None:
        say(f"Waiting for others to let go of the database. Close {named(held_by)}.")

    return overwrite(store, touched_tables(), tell=waits)


def show_forgetting(done: Overwriting) -> None:
    """Say what is gone, what is left beside the file, and what no program can reach."""
    if done.overwritten:
        click.echo("What was erased is overwritten in the database.")
    for copy in done.copies:
        click.echo(f"Made before, it may still hold what was erased: {copy}")
    say(
        "Backups and saved files made before still hold it, and so do printed sheets: delete those "
        "too. What archives of a server's write-ahead log, snapshots of a disk or a drive's spare "
        "blocks keep is gone only when they are."
    )


def say_unfinished(done: Overwriting) -> None:
    """Say that the erased text is still there, and what to do."""
    from panel.store.holders import named

    say(
        "It is erased from the records, but the old text is still in the file, as others hold it "
        f"open. Close {named(done.held_by)}, then run `oakpanel db forget`."
    )
