"""Files that the desk writes in the folder it was started in: plain names, nothing overwritten."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path


def plain_name(name: str, otherwise: str) -> str:
    """Return a name as a file may bear it."""
    return re.sub(r"(?:[^\w.-]|\.{2,}|-)+", "-", name).strip("-.") or otherwise


def free_path(path: Path) -> Path:
    """Return *path*, or with a number where a file stands already."""
    number, free = 1, path
    while free.exists():
        number += 1
        free = path.with_stem(f"{path.stem}-{number}")
    return free
