"""PINs: short numbers that only their salted, slow hashes remember."""

import hashlib
import hmac
import secrets

from whirlbench.errors import InputError

_SHORTEST, _LONGEST = 4, 12
_COST = {"n": 2**14, "r": 8, "p": 1}  # scrypt: 16 MB and some 50 ms for each guess
_WEAK = ("1234", "4321", "12345", "123456")


def made():
    """New PIN that is no other team's by more than chance: six digits."""
    while True:
        pin = f"{secrets.randbelow(10**6):06}"
        if not _weak(pin):
            return pin


def checked(pin):
    """PIN that may be used."""
    pin = pin.strip()
    if not (pin.isascii() and pin.isdigit() and _SHORTEST <= len(pin) <= _LONGEST):
        needs = f"{_SHORTEST} to {_LONGEST} digits"
        raise InputError(
            "PIN", f"{len(pin)} characters", needs, try_="choose digits only, such as a birthday of nobody"
        )
    if _weak(pin):
        raise InputError("PIN", "digits that are guessed first", "others", try_="mix them")
    return pin


def twice(pin, again):
    """PIN that was typed twice, or a new one where both fields were left empty."""
    if not pin.strip() and not again.strip():
        return made()
    if pin.strip() != again.strip():
        raise InputError("PIN", "two that differ", "the same twice", try_="type both again, or leave both empty")
    return checked(pin)


def hashed(pin):
    """What is kept of a PIN."""
    salt = secrets.token_bytes(16)
    return f"{salt.hex()}:{hashlib.scrypt(pin.encode(), salt=salt, **_COST).hex()}"


def fits(pin, kept):
    """Whether a PIN is the one that was hashed; takes equally long where nothing was."""
    salt, _, digest = (kept or f"{'00' * 16}:").partition(":")
    found = hashlib.scrypt(pin.strip().encode("utf-8", "replace")[:64], salt=bytes.fromhex(salt), **_COST).hex()
    return hmac.compare_digest(found, digest)


def _weak(pin):
    return len(set(pin)) == 1 or pin in _WEAK
