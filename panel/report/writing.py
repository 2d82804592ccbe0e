"""A page into a new file that only its owner can read."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.errors import OakpanelError
from panel.session.paper import write_private

if TYPE_CHECKING:
    from pathlib import Path


def check_new(path: Path) -> None:
    """Refuse, before anything is reckoned, a place where something is already.

    Raises
    ------
    OakpanelError
        Something is there.
    """
    if path.exists():
        raise OakpanelError(f"{path} is there already; name a new file.")


def write_report(path: Path, page: str) -> None:
    """Write a page.

    Raises
    ------
    OakpanelError
        A file is there already, or it cannot be written.
    """
    write_private(path, page)
