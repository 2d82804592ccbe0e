"""Pictures of screens as text files; `OAKPANEL_PICTURES=write` draws them anew."""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from pathlib import Path

PICTURES = Path(__file__).with_name("pictures")
HASH = re.compile(r"[0-9a-f]{64}")


def check_picture(name: str, size: tuple[int, int], lines: Sequence[str]) -> None:
    """Hold a screen against its kept picture; hashes differ from run to run and are masked."""
    drawn = [HASH.sub("#" * 64, line) for line in lines]
    assert len(drawn) == size[1]
    assert max(map(len, drawn)) <= size[0]
    kept = PICTURES / f"{name}-{size[0]}x{size[1]}.txt"
    if os.environ.get("OAKPANEL_PICTURES") == "write":
        kept.parent.mkdir(exist_ok=True)
        kept.write_text("\n".join(drawn) + "\n", encoding="utf-8")
    assert drawn == kept.read_text(encoding="utf-8").splitlines()
