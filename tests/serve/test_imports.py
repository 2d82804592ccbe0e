"""What a running server of booths has loaded: nothing that reads the key, no screen."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

from panel.store.engine import Store
from tests.booth.test_imports import HEAVY, KEY_READERS

ROOT = Path(__file__).parents[2]
SCREENS = {"textual", "rich"}
A_SEAT = """
import json, sys
from datetime import UTC, datetime
from panel.cli.booth import open_for_booth
from panel.cli.invocation import Invocation
from panel.cli.serve import command
from panel.seat.arriving import session_of_booths, sign_in
from panel.serve import doing, pages, running
from panel.serve.door import make_door
from panel.serve.served import Served

store, now = open_for_booth(Invocation(named=sys.argv[1])), datetime.now(UTC)
served = Served(store, session_of_booths(store, "evening-12"), make_door("127.0.0.1", 0), now)
running.server_of(served)
seat = sign_in(store, served.session, "A1", "4821", now=now, place="x")
form = {"deed": "take", "code": "538", "sure": "538", "number": "1" * 32}
assert doing.do(store, seat, now, fields=form).shown.about == "glass 538.1"
print(json.dumps(sorted(sys.modules)))
"""


def test_a_server_with_a_glass_in_hand_has_loaded_no_key_and_no_screen(evening: Store) -> None:
    found = subprocess.run(
        [sys.executable, "-c", A_SEAT, str(evening.url.database)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    loaded = set(json.loads(found.stdout))
    packages = {name.split(".")[0] for name in loaded}
    assert not loaded & KEY_READERS
    assert not packages & (HEAVY | SCREENS)
    assert {"starlette", "uvicorn", "panel.store.booth_deeds"} <= loaded
