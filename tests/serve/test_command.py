"""`oakpanel serve` at a terminal: what it tells, two keys, and why it does not begin."""

from __future__ import annotations

import os
import pty
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from panel.cli.main import run
from panel.errors import DoorRefused
from panel.serve import running
from panel.serve.door import Door, EncryptedBy, make_door
from panel.serve.running import listen, server_of
from panel.store.engine import Store
from tests.houses.at_the_booth import NAME, Wall
from tests.serve.browsing import served_for

ROOT = Path(__file__).parents[2]
RUN = "from panel.cli.main import run; run()"


def told(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str]:
    with pytest.raises(SystemExit) as ended:
        run(list(arguments))
    return int(str(ended.value.code)), capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["no-session", "--port", "0"], "There is no session 'no-session'"),
        ([NAME, "--address", "192.0.2.7"], "On 192.0.2.7 others can listen"),
        ([NAME, "--address", "192.0.2.7", "--in-the-clear"], "cannot be listened at"),
        ([NAME, "--behind", "booths"], "is not the address of a proxy"),
    ],
)
def test_it_does_not_begin_and_says_why(
    evening: Store, capsys: pytest.CaptureFixture[str], arguments: list[str], words: str
) -> None:
    code, said = told(capsys, "--db", str(evening.url.database), "serve", *arguments)
    assert (code, words in said) == (1, True)
    assert "Traceback" not in said


def test_without_its_extra_it_says_what_to_install(
    evening: Store, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "uvicorn", None)
    code, said = told(capsys, "--db", str(evening.url.database), "serve", NAME)
    assert (code, "pip install 'oakpanel[serve]'" in said) == (1, True)


def test_a_port_that_is_taken_and_a_certificate_that_is_none_are_said(
    evening: Store, wall: Wall, tmp_path: Path
) -> None:
    with listen(make_door("127.0.0.1", 0)) as sock:
        sock.listen()
        with pytest.raises(DoorRefused, match="Name another --port"):
            listen(make_door("127.0.0.1", sock.getsockname()[1]))
    none = tmp_path / "none.pem"
    none.write_text("nothing")
    door: Door = make_door("127.0.0.1", 0, EncryptedBy(none, none))
    with pytest.raises(DoorRefused, match="no certificate with its key"):
        server_of(served_for(evening, wall, door))


@contextmanager
def at_a_terminal(store: Store) -> Iterator[tuple[subprocess.Popen[bytes], int]]:
    ours, theirs = pty.openpty()
    words = [sys.executable, "-c", RUN, "--db", str(store.url.database), "serve", NAME]
    with subprocess.Popen(
        [*words, "--port", "0"], cwd=ROOT, stdin=theirs, stdout=theirs, stderr=theirs
    ) as process:
        os.close(theirs)
        yield process, ours
        process.kill()
    os.close(ours)


def heard(terminal: int, wanted: str) -> str:
    """Read what stands on the terminal until there is what is waited for."""
    text, until = "", time.monotonic() + 30
    while wanted not in text and time.monotonic() < until:
        text += os.read(terminal, 4096).decode()
    assert wanted in text
    return text


@pytest.mark.slow
def test_a_key_makes_a_new_code_and_another_stops_it(evening: Store) -> None:
    with at_a_terminal(evening) as (process, terminal):
        first = heard(terminal, "n: a new join code     q: stop")
        assert f"Booths of {NAME}: http://127.0.0.1:" in first
        assert "Booths stand in the nosing room only." in first
        os.write(terminal, b"n")
        second = heard(terminal, "Join code: ")
        second += heard(terminal, "\n") if "\n" not in second.split("Join code: ")[1] else ""
        codes = [text.split("Join code: ")[1][:9] for text in (first, second)]
        assert codes[0] != codes[1]
        os.write(terminal, b"q")
        assert process.wait(30) == 0


def test_a_signal_ends_it_in_order(evening: Store) -> None:
    with at_a_terminal(evening) as (process, terminal):
        heard(terminal, "q: stop")
        process.send_signal(signal.SIGTERM)
        assert process.wait(30) == 0


def test_in_the_clear_the_terminal_says_so(evening: Store, wall: Wall) -> None:
    served = served_for(evening, wall, make_door("127.0.0.1", 0, EncryptedBy(nothing=True)))
    assert running.IN_THE_CLEAR in list(running.opening(served, keys=False))
