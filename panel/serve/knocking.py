"""Lines whose encryption is not settled yet: they count as those of their address from the start.

A line is one only after the handshake, so until then its socket is counted here.
"""

from __future__ import annotations

import os
import socket
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from panel.serve.lines import Crowd


class Knock(socket.socket):
    """What was accepted; closed before it is a line, it is counted no more."""

    crowd: Crowd
    peer: tuple[str, int]

    def close(self) -> None:
        """Close it."""
        self.crowd.heard(self.peer)
        super().close()


class CountedDoor(socket.socket):
    """A socket that listens, and lets no address have more lines than it may."""

    crowd: Crowd

    def accept(self) -> tuple[socket.socket, Any]:
        """Take the next caller.

        Raises
        ------
        ConnectionAbortedError
            Its address holds all that it may: it was closed at once.
        """
        came, address = super().accept()
        knock = Knock(fileno=came.detach())
        knock.crowd, knock.peer = self.crowd, (str(address[0]), int(address[1]))
        if not self.crowd.knock(knock.peer):
            knock.close()
            raise ConnectionAbortedError(f"{address[0]} holds all the lines that it may")
        return knock, address


def counted(sock: socket.socket, crowd: Crowd) -> CountedDoor:
    """Listen at a socket with every caller counted; the one given is the caller's to close."""
    door = CountedDoor(fileno=os.dup(sock.fileno()))
    door.crowd = crowd
    return door
