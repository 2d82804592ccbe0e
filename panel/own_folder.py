"""The folder of what is this account's own, and how a file is written there."""

from __future__ import annotations

import os
from pathlib import Path

NAMED = "OAKPANEL_STATE"
FILE_MODE, FOLDER_MODE = 0o600, 0o700


def state_folder() -> Path:
    """Return where the program keeps what it saw: OAKPANEL_STATE, else the user's own folder."""
    if named := os.environ.get(NAMED):
        return Path(named).expanduser()
    from platformdirs import user_state_path

    return user_state_path("oakpanel", appauthor=False)


def write_own(path: Path, content: bytes) -> None:
    """Write a file of this account's own, whole or not at all, that nobody else may read."""
    for folder in (path.parent.parent, path.parent):
        if not folder.is_dir():
            folder.mkdir(parents=True, mode=FOLDER_MODE)
    beside = path.with_name(f"{path.name}.{os.getpid()}")
    with open(beside, "wb", opener=_private) as file:
        file.write(content)
    beside.replace(path)


def _private(name: str, flags: int) -> int:
    return os.open(name, flags, FILE_MODE)
