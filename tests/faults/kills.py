"""Every kind of booth killed at random moments, and the server of those in browsers.

    python -m tests.faults.kills 1000 [terminal plain server browser]

One line each says how many kills there were, how many scores were told as kept, how many of them
the records lack, and how many were done twice.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from pathlib import Path

from tests.faults import browser_kills, plain_kills, server_kills, terminal_kills
from tests.faults.outcome import Outcome, tell

KINDS: Mapping[str, Callable[[int, int, Path], Outcome]] = {
    "terminal": terminal_kills.try_kills,
    "plain": plain_kills.try_kills,
    "server": server_kills.try_kills,
    "browser": browser_kills.try_kills,
}


def main(kills: int, *named: str) -> None:
    """Kill each kind so often."""
    for name in named or KINDS:
        tell(KINDS[name], kills)


if __name__ == "__main__":
    main(int(sys.argv[1]), *sys.argv[2:])
