"""`--picture`: an answer drawn, in the terminal or into a file."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from shutil import get_terminal_size
from typing import TYPE_CHECKING

import click

from panel.cli.answers import say

if TYPE_CHECKING:
    from analysis.pictures import Picture, Plane

HERE = "-"
WIDEST = 120
picture_option = click.option(
    "--picture",
    metavar="FILE|-",
    help="Draw the answer: into a new .svg or .png, or - here instead of words.",
)


def check_picture(picture: str | None, *, as_json: bool) -> None:
    """Refuse, before anything is reckoned, a picture that cannot be drawn where it is asked for.

    Raises
    ------
    click.UsageError
        It would stand where the JSON does.
    OakpanelError
        The file's name ends otherwise, or a file is there.
    """
    if picture == HERE and as_json:
        raise click.UsageError("--picture - and --json both answer here: ask for one of them.")
    if picture not in {None, HERE}:
        from panel.pictures.writing import check_place

        check_place(Path(str(picture)))


def drawn_here(picture: str | None, pictures: Sequence[Picture | Plane]) -> bool:
    """Draw pictures where they were asked for; tell whether they stand instead of the words.

    Raises
    ------
    OakpanelError
        There is nothing to draw, or the file cannot be written.
    """
    if picture is None:
        return False
    from panel.errors import OakpanelError

    if not pictures:
        raise OakpanelError("There is nothing to draw in it; ask without --picture.")
    if picture == HERE:
        from panel.pictures.cells import to_cells

        width = min(get_terminal_size().columns, WIDEST)
        click.echo("\n".join(to_cells(*pictures, width=width)))
        return True
    from panel.pictures.writing import write_picture

    notes = write_picture(Path(picture), *pictures)
    say(f"The picture is in {picture}.")
    for note in notes:
        say(note)
    return False
