"""Booths of every kind, a desk and a server write into one database at once: nothing is lost.

At length, and with its figures: `python -m tests.faults.many_hands`.
"""

from __future__ import annotations

import re
import subprocess
import sys

import pytest
from sqlalchemy import text

from panel.store.engine import Store
from tests.faults.many_hands import ROLE, ROOT

DEEDS, BOOTHS = 5, 6
LAST = re.compile(
    rf"{BOOTHS} booths, a desk and a server: (\d+) scores told as kept, (\d+) in the records, "
    r"0 booths at odds with them; (\d+) calls, (\d+) answered; 0 troubles on a screen; the log "
    r"holds"
)


@pytest.mark.slow
def test_on_a_file_and_on_a_server_nothing_is_lost_or_doubled_and_no_lock_is_told(
    store: Store, postgres_store: Store
) -> None:
    urls = [each.url.render_as_string(hide_password=False) for each in (store, postgres_store)]
    words = [sys.executable, "-m", "tests.faults.many_hands", str(DEEDS), str(BOOTHS), *urls]
    ended = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=False)
    with postgres_store.write() as db:
        db.execute(text(f"DROP OWNED BY {ROLE}"))
        db.execute(text(f"DROP ROLE {ROLE}"))
    found = LAST.findall(ended.stdout)
    assert len(found) == 2, ended.stdout + ended.stderr
    for told, kept, calls, answered in found:
        assert told == kept == str(DEEDS * BOOTHS)
        assert calls == answered == str(BOOTHS // 3)
