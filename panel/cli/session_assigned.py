"""The file that says who noses which sample."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panel.session.assigned import Assigned


def assigned_in(path: Path | None) -> tuple[Assigned, ...]:
    """Return the pairs of a file; none where there is no file.

    Raises
    ------
    PlanRefused
        It cannot be read as such a table; every fault stands in the message, one a line.
    """
    from panel.errors import PlanRefused
    from panel.session.assigned import read_assigned

    if path is None:
        return ()
    try:
        pairs, faults = read_assigned(path.read_text("utf-8"))
    except (OSError, UnicodeDecodeError) as error:
        raise PlanRefused(f"{path} cannot be read as text in UTF-8: {error}") from error
    if faults:
        raise PlanRefused("\n".join([f"{path}:", *(f"  - {fault}" for fault in faults)]))
    return pairs
