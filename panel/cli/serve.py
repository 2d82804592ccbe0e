"""`oakpanel serve`: booths in browsers."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import click

from panel.cli.booth import open_for_booth
from panel.cli.completing import a_session
from panel.cli.invocation import Invocation, pass_invocation
from panel.errors import BoothError

if TYPE_CHECKING:
    from panel.store.engine import Store

A_FILE = click.Path(path_type=Path, exists=True, dir_okay=False)
USUAL_ADDRESS, USUAL_PORT = "127.0.0.1", 8460


@click.command("serve")
@click.argument("session", shell_complete=a_session)
@click.option("--address", default=USUAL_ADDRESS, show_default=True, help="The one to listen at.")
@click.option("--port", default=USUAL_PORT, show_default=True, type=click.IntRange(0, 65535))
@click.option("--certificate", type=A_FILE, help="For an encrypted line, with --key.")
@click.option("--key", type=A_FILE, help="The certificate's key.")
@click.option("--behind", metavar="URL", help="A proxy that encrypts, by what tablets call it.")
@click.option("--in-the-clear", is_flag=True, help="Encrypt nothing: PINs can be read.")
@click.option("--by-desk", is_flag=True, hidden=True, help="Speaks lines with the desk.")
@pass_invocation
def command(
    inv: Invocation,
    session: str,
    address: str,
    port: int,
    certificate: Path | None,
    key: Path | None,
    behind: str | None,
    in_the_clear: bool,
    by_desk: bool,
) -> None:
    """Serve booths of SESSION to browsers: tablets, or whatever reads a page aloud.

    On this machine alone unless another address is named. Whoever joins types the join code that
    stands here, then code and PIN. Every score is on disk before a page calls it kept; what a
    tablet could not send lies there until the line or the server is back.
    """
    _need_extra()
    from panel.seat.arriving import session_of_booths
    from panel.serve.door import EncryptedBy, make_door
    from panel.serve.running import listen, run, run_for_desk
    from panel.serve.served import Served

    line = EncryptedBy(certificate, key, behind, in_the_clear)
    door = make_door(address, port, line)
    with closing(listen(door)) as sock, closing(_opened(inv, by_desk)) as store:
        door = door.at_port(sock.getsockname()[1])
        served = Served(store, session_of_booths(store, session), door, inv.clock)
        (run_for_desk if by_desk else run)(served, sock, click.echo)


def _opened(inv: Invocation, by_desk: bool) -> Store:
    """Open the database; what a lead proved at this account ends, but for the desk's own lead."""
    return inv.open() if by_desk else open_for_booth(inv)


def _need_extra() -> None:
    try:
        import starlette
        import uvicorn
    except ImportError:
        raise BoothError(
            "Booths in browsers need two more packages: `pip install 'oakpanel[serve]'`."
        ) from None
    del starlette, uvicorn
