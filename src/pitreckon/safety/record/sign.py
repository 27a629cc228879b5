"""Signatures of the house: Ed25519 (RFC 8032), by the library ``cryptography``.

The chain of a record shows that something was changed. The signature shows that the house has made it: whoever makes
all of it anew lacks the key, which never leaves the ledger of the house.
"""

import hashlib
from types import ModuleType
from typing import Final

from pitreckon.extras import loading

ALGORITHM: Final = "Ed25519"
_PREFIX: Final = b"pitreckon safety record\n"


def new_key() -> str:
    """A private key, in hex; it is kept where nobody else reads.

    Raises MissingExtraError: the library is not installed; so do all that sign or check.
    """
    return str(_ed25519().Ed25519PrivateKey.generate().private_bytes_raw().hex())


def public_of(key: str) -> str:
    """The public key of a private one, in hex.

    >>> public_of("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60")  # RFC 8032, 7.1, test 1
    'd75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a'
    """
    made = _ed25519().Ed25519PrivateKey.from_private_bytes(bytes.fromhex(key))
    return str(made.public_key().public_bytes_raw().hex())


def sign(key: str, seal: str) -> str:
    """The signature over a record's seal, in hex."""
    made = _ed25519().Ed25519PrivateKey.from_private_bytes(bytes.fromhex(key))
    return str(made.sign(_PREFIX + seal.encode()).hex())


def holds(public: str, signature: str, seal: str) -> bool:
    """Is it the signature of that key over that seal? False for whatever cannot be one."""
    keys = _ed25519()
    from cryptography.exceptions import InvalidSignature  # noqa: PLC0415

    try:
        key = keys.Ed25519PublicKey.from_public_bytes(bytes.fromhex(public))
        key.verify(bytes.fromhex(signature), _PREFIX + seal.encode())
    except (InvalidSignature, ValueError):
        return False
    return True


def _ed25519() -> ModuleType:
    with loading("cryptography", "a signature"):
        from cryptography.hazmat.primitives.asymmetric import ed25519  # noqa: PLC0415  slow to load
    return ed25519


def short_of(public: str) -> str:
    """What people compare of a public key: 16 digits of its SHA-256, in fours.

    >>> short_of("d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a")
    '21fe 31df a154 a261'
    """
    digits = hashlib.sha256(bytes.fromhex(public)).hexdigest()[:16]
    return " ".join(digits[k : k + 4] for k in range(0, 16, 4))
