"""Passwords, tokens and signatures: what is kept of each cannot be turned back into it."""

import hashlib
import hmac
import secrets
from typing import Final

from argon2 import PasswordHasher
from argon2.exceptions import Argon2Error, InvalidHashError
from itsdangerous import BadSignature, Signer

_LETTERS: Final = "abcdefghjkmnpqrstuvwxyz23456789"  # none that is taken for another when read aloud


def new_password() -> str:
    """A password to be typed once from a console: four groups of four, about 79 bits."""
    return "-".join("".join(secrets.choice(_LETTERS) for _ in range(4)) for _ in range(4))


def new_token() -> str:
    """A secret for a machine, a session or a pairing link: 256 bits."""
    return secrets.token_urlsafe(32)


def digest(secret: str) -> str:
    """What is kept of a token: it has bits enough to need no slow hash."""
    return hashlib.sha256(secret.encode()).hexdigest()


class Passwords:
    """Argon2id with the library's settings, its memory [KiB] apart."""

    def __init__(self, memory_kib: int) -> None:
        self._hasher = PasswordHasher(memory_cost=memory_kib)
        self._nobody = self._hasher.hash(new_token())

    def hash(self, password: str) -> str:
        """What is kept of a password."""
        return self._hasher.hash(password)

    def matches(self, kept: str | None, password: str) -> bool:
        """Is it the one? Takes as long for nobody's as for somebody's."""
        try:
            return self._hasher.verify(kept or self._nobody, password) and kept is not None
        except (Argon2Error, InvalidHashError):
            return False


class Seal:
    """Signs session cookies and makes the token that a form of a session carries."""

    def __init__(self, key: str) -> None:
        self._key = key.encode()
        self._signer = Signer(key, salt="pitreckon session", digest_method=hashlib.sha256)
        self._known = Signer(key, salt="pitreckon known browser", digest_method=hashlib.sha256)

    def close(self, session: str) -> str:
        """A session's cookie."""
        return self._signer.sign(session).decode()

    def open(self, cookie: str) -> str | None:
        """The session of a cookie; None when nobody here has signed it."""
        try:
            return self._signer.unsign(cookie).decode()
        except (BadSignature, UnicodeDecodeError):
            return None

    def know(self, person_id: str) -> str:
        """A cookie for a browser that a person has come in by; it lets nobody in."""
        return self._known.sign(f"{person_id} {secrets.token_urlsafe(12)}").decode()

    def known(self, cookie: str) -> tuple[str, str] | None:
        """The person of such a cookie, and the browser; None when nobody here has signed it."""
        try:
            person_id, _, browser = self._known.unsign(cookie).decode().partition(" ")
        except (BadSignature, UnicodeDecodeError):
            return None
        return person_id, browser

    def form_token(self, session: str) -> str:
        """What a form or a script of that session has to send with whatever it changes."""
        return hmac.new(self._key, b"form " + session.encode(), hashlib.sha256).hexdigest()

    def is_form_token(self, session: str, token: str) -> bool:
        """Is it that session's?"""
        return hmac.compare_digest(self.form_token(session).encode(), token.encode())
