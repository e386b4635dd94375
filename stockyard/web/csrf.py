"""Proof that a form was ours: a token that only a page of this app could have read, new on every page.

The token is keyed by the visitor's own cookie, so nothing has to be kept. It differs each time, so that a
compressed page gives nothing away to someone who watches its length.
"""

import hmac
import secrets
from hashlib import sha256

FIELD = "csrf"
HEADER = "x-csrf-token"


def token_for(secret: str) -> str:
    """A token for whoever holds the cookie `secret`."""
    salt = secrets.token_hex(16)
    return f"{salt}.{_proof(secret, salt)}"


def proves(secret: str, token: str) -> bool:
    """Was the token made for this cookie?"""
    salt, _, proof = token.partition(".")
    return bool(secret) and hmac.compare_digest(proof.encode(), _proof(secret, salt).encode())


def _proof(secret: str, salt: str) -> str:
    return hmac.new(secret.encode(), salt.encode(), sha256).hexdigest()
