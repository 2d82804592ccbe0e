"""The two files that travel: a line that says what it is, a line of digits, and the contents.

The digits of a pack are SHA-256 over the seal of its session and every byte of the file's contents,
those of a return HMAC-SHA256 under a secret that went with the pack: a change of one byte is found.
They tell nothing of who wrote a file that fits: whoever holds the pack can write a return.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from panel.errors import SessionError
from panel.session.elsewhere.values import PackBody, ReturnBody
from panel.store.log import canonical

if TYPE_CHECKING:
    from pydantic import ValidationError

PACK_LINE, RETURN_LINE = b"oakpanel session pack 1", b"oakpanel session return 1"
LARGEST_BYTES = 16 * 2**20
"""Ten times what a session of fourteen people and 78 glasses with every change comes to."""
DIGITS = re.compile(rb"[0-9a-f]{64}")
PACK_AND_DIGITS = re.compile(rb"([0-9a-f]{32}) ([0-9a-f]{64})")
MOST_TOLD = 12
FEWEST_DIGITS = 12
CHANGED = "it was changed since it was written, or is not whole. Nothing was kept; ask for it anew."
Body = TypeVar("Body", PackBody, ReturnBody)


@dataclass(frozen=True)
class Pack:
    """A pack that was read, and the hash that stands on the sheet of carriage as well."""

    body: PackBody
    file_hash: str


@dataclass(frozen=True)
class UnreadReturn:
    """A return as it lies in a file: whose pack it answers, and the bytes to be proved."""

    pack_hex: str
    proof_hex: str
    contents: bytes


def pack_bytes(body: PackBody) -> tuple[bytes, str]:
    """Return a pack as its file holds it, and its hash."""
    contents = _contents(body)
    found = _pack_hash(body.session.key_hash, contents)
    return b"\n".join((PACK_LINE, found.encode(), contents)), found


def return_bytes(body: ReturnBody, secret_hex: str) -> tuple[bytes, str]:
    """Return a return as its file holds it, and its hash."""
    contents = _contents(body)
    proof = _proof(secret_hex, contents)
    head = f"{body.pack_hex} {proof}".encode()
    return b"\n".join((RETURN_LINE, head, contents)), hashlib.sha256(contents).hexdigest()


def read_pack(path: Path) -> Pack:
    """Read a pack from its file.

    Raises
    ------
    SessionError
        It cannot be read, is no pack, or a byte of it was changed.
    """
    head, contents = _parts(path, PACK_LINE, "session pack")
    if not DIGITS.fullmatch(head):
        raise SessionError(f"{path.name}: {CHANGED}")
    body = _read(PackBody, contents, path.name)
    if not hmac.compare_digest(_pack_hash(body.session.key_hash, contents).encode(), head):
        raise SessionError(f"{path.name}: {CHANGED}")
    return Pack(body, head.decode())


def check_digits(pack: Pack, digits: str | None) -> None:
    """Hold a pack against the hash that came on paper, as far as it was typed.

    Raises
    ------
    SessionError
        They differ, or too few digits were typed to tell.
    """
    if digits is None:
        return
    typed = digits.strip().lower()
    if len(typed) < FEWEST_DIGITS:
        raise SessionError(f"Type {FEWEST_DIGITS} digits of the hash, or more.")
    if not pack.file_hash.startswith(typed):
        raise SessionError(
            f"The pack's hash is {pack.file_hash}, the sheet's another: this is not the pack that "
            "was sent. Ask home; nothing was opened."
        )


def read_return(path: Path) -> UnreadReturn:
    """Read a return as far as it can be without the secret of its pack.

    Raises
    ------
    SessionError
        It cannot be read, or is no return.
    """
    head, contents = _parts(path, RETURN_LINE, "return of a session")
    found = PACK_AND_DIGITS.fullmatch(head)
    if found is None:
        raise SessionError(f"{path.name}: {CHANGED}")
    return UnreadReturn(found[1].decode(), found[2].decode(), contents)


def prove_return(unread: UnreadReturn, secret_hex: str) -> tuple[ReturnBody, str]:
    """Return what a return says and its hash, once its bytes are those that were written.

    Raises
    ------
    SessionError
        A byte was changed, or whoever wrote it had not the pack; or what it says cannot be.
    """
    if not hmac.compare_digest(_proof(secret_hex, unread.contents), unread.proof_hex):
        raise SessionError(f"The return: {CHANGED}")
    body = _read(ReturnBody, unread.contents, "The return")
    if body.pack_hex != unread.pack_hex:
        raise SessionError(f"The return: {CHANGED}")
    return body, hashlib.sha256(unread.contents).hexdigest()


def _contents(body: PackBody | ReturnBody) -> bytes:
    return canonical(body.model_dump(mode="json")).encode() + b"\n"


def _pack_hash(key_hash: str, contents: bytes) -> str:
    return hashlib.sha256(PACK_LINE + b"\n" + key_hash.encode() + b"\n" + contents).hexdigest()


def _proof(secret_hex: str, contents: bytes) -> str:
    under = bytes.fromhex(secret_hex)
    return hmac.new(under, RETURN_LINE + b"\n" + contents, hashlib.sha256).hexdigest()


def _parts(path: Path, first: bytes, what: str) -> tuple[bytes, bytes]:
    try:
        with path.open("rb") as file:
            found = file.read(LARGEST_BYTES + 1)
    except OSError as error:
        raise SessionError(f"{path} cannot be read: {error.strerror}.") from error
    if len(found) > LARGEST_BYTES:
        raise SessionError(f"{path.name} is too large for a {what}.")
    parts = found.split(b"\n", 2)
    if len(parts) < 3 or parts[0] != first:
        raise SessionError(f"{path.name} is no {what} that this Oakpanel can read.")
    return parts[1], parts[2]


def _read(kind: type[Body], contents: bytes, name: str) -> Body:
    from pydantic import ValidationError

    try:
        json.loads(contents)  # what is no JSON at all was changed on the way
        return kind.model_validate_json(contents)
    except ValidationError as error:
        raise SessionError(_refusal(error, name)) from None
    except (ValueError, RecursionError):
        raise SessionError(f"{name}: {CHANGED}") from None


def _refusal(error: ValidationError, name: str) -> str:
    found = error.errors(include_url=False, include_context=False, include_input=False)
    told = [f"  {'.'.join(map(str, each['loc']))}: {each['msg']}" for each in found[:MOST_TOLD]]
    more = [f"  and {len(found) - MOST_TOLD} more"] if len(found) > MOST_TOLD else []
    head = f"{name}: changed since it was written, or by a newer Oakpanel. Nothing was kept."
    return "\n".join([head, *told, *more])
