"""The look that somebody chose, by night or by day: the same in both rooms, until the next choice.

It is this account's own and no record: it lies in a file beside what the account saw, never in a
database. Without the file, or with one that cannot be read, the look is the dark one.
"""

from __future__ import annotations

import json
from contextlib import suppress
from pathlib import Path

from panel.own_folder import state_folder, write_own


def is_light() -> bool:
    """Tell whether the light look was chosen last."""
    try:
        told = json.loads(_file().read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return False
    return isinstance(told, dict) and told.get("light") is True


def keep_light(light: bool) -> None:
    """Keep the look for the next start; where nothing can be written, it holds until the end."""
    with suppress(OSError):
        write_own(_file(), json.dumps({"light": light}).encode())


def _file() -> Path:
    return state_folder() / "look.json"
