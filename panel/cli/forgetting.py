"""What `people erase` and `db forget` say of the file: whether the erased text is gone from it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from panel.cli.answers import say

if TYPE_CHECKING:
    from panel.store.erasing import Overwriting


def say_waits(held_by: tuple[str, ...]) -> None:
    """Say whom it waits for."""
    from panel.store.holders import named
    from panel.words.erasure_words import waiting_words

    say(waiting_words(named(held_by)))


def show_forgetting(done: Overwriting) -> None:
    """Say what is gone, what is left beside the file, and what no program can reach."""
    from panel.words.erasure_words import HELD_ELSEWHERE, overwriting_lines

    for line in overwriting_lines(done.overwritten, done.copies):
        click.echo(line)
    say(HELD_ELSEWHERE)


def say_unfinished(done: Overwriting) -> None:
    """Say that the erased text is still there, and what to do."""
    from panel.store.holders import named

    say(
        "It is erased from the records, but the old text is still in the file, as others hold it "
        f"open. Close {named(done.held_by)}, then run `oakpanel db forget`."
    )
