"""PINs: 4 to 12 digits, kept as SHA-256 of a slow salted hash (scrypt).

What a server keeps is not what a booth shows it: a copy of the table signs nobody in.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
from itertools import pairwise

SCHEME = "scrypt-sha256"
COST, BLOCK, LANES = 2**14, 8, 1
"""16 MiB and some 40 ms a try: slow for a thief with the file, unnoticed at a sign-in."""
SHORTEST, LONGEST = 4, 12


def hash_pin(pin: str) -> str:
    """Return the text to store for a PIN: scheme, cost, salt and hash."""
    salt = secrets.token_bytes(16)
    found = _scrypt(pin, salt, COST, BLOCK, LANES)
    return f"{SCHEME}${COST}${BLOCK}${LANES}${salt.hex()}${_kept(found)}"


def check_pin(pin: str, stored: str) -> bool:
    """Say whether *pin* is the one behind the *stored* text; anything unreadable is a no."""
    salted, _, kept = stored.rpartition("$")
    proof = proof_of(pin, salted)
    return proof is not None and hmac.compare_digest(_kept(proof), kept)


def proof_of(pin: str, salted: str) -> bytes | None:
    """Return what shows that somebody knows *pin*: None where scheme, cost or salt are unreadable.

    *salted* is what is stored, without the hash at its end.
    """
    try:
        scheme, cost, block, lanes, salt = salted.split("$")
        found = _scrypt(pin, bytes.fromhex(salt), int(cost), int(block), int(lanes))
    except ValueError:
        return None
    return found if scheme == SCHEME else None


def _kept(proof: bytes) -> str:
    return hashlib.sha256(proof).hexdigest()


def _scrypt(pin: str, salt: bytes, cost: int, block: int, lanes: int) -> bytes:
    return hashlib.scrypt(pin.encode(), salt=salt, n=cost, r=block, p=lanes, dklen=32)


def pin_fault(pin: str) -> str | None:
    """Return what is wrong with a new PIN, or None."""
    if not (pin.isascii() and pin.isdigit() and SHORTEST <= len(pin) <= LONGEST):
        return f"A PIN is {SHORTEST} to {LONGEST} digits."
    if _is_run(pin) or _is_repeated(pin):
        return "That PIN is easily guessed (digits repeated or in a row); take another."
    return None


def _is_run(pin: str) -> bool:
    steps = {(int(b) - int(a)) % 10 for a, b in pairwise(pin)}
    return steps in ({1}, {9})


def _is_repeated(pin: str) -> bool:
    return any(pin == pin[:n] * (len(pin) // n) for n in range(1, len(pin) // 2 + 1))


def new_pin(digits: int = 6) -> str:
    """Return a PIN at random that is not an easily guessed one."""
    while True:
        pin = "".join(secrets.choice("0123456789") for _ in range(digits))
        if pin_fault(pin) is None:
            return pin
