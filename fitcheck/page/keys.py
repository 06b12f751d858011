"""Who may look: the key in the QR code, the cookie it is changed for, and the mark that every form carries."""

from __future__ import annotations

import contextlib
import hashlib
import hmac
import os
import secrets
import time
from dataclasses import dataclass, field
from pathlib import Path

from fitcheck.ground.refusal import WrongCall

SECRET_BYTES = 32
#: A phone that was let in stays let in so long.
STAYS_S = 30 * 24 * 3600


@dataclass(frozen=True)
class Keys:
    """``secret`` signs cookies and forms and outlives a restart; ``key``, in the QR code, is new at every start."""

    secret: bytes = field(repr=False)
    key: str = field(default_factory=lambda: secrets.token_urlsafe(24), repr=False)

    def opens(self, key: str) -> bool:
        """Whether ``key`` is the one in the QR code."""
        return hmac.compare_digest(key.encode("utf-8", "replace"), self.key.encode())

    def new_session(self, now_s: float | None = None) -> str:
        """The value of a new cookie: a random name and the time, signed."""
        name = f"{secrets.token_urlsafe(16)}.{int(time.time() if now_s is None else now_s)}"
        return f"{name}.{self._signed('session', name)}"

    def session_of(self, cookie: str, now_s: float | None = None) -> str | None:
        """The random name in a cookie of ours that is not too old; None for any other.

        >>> keys = Keys(b"0" * 32)
        >>> keys.session_of(keys.new_session(0.0), 60.0) is None, keys.session_of("a.0.b", 60.0)
        (False, None)
        """
        name, _, mark = cookie.rpartition(".")
        if not name or not hmac.compare_digest(mark.encode("utf-8", "replace"), self._signed("session", name).encode()):
            return None
        session, _, made_s = name.rpartition(".")
        age_s = (time.time() if now_s is None else now_s) - int(made_s)
        return session if 0 <= age_s < STAYS_S else None

    def form_mark(self, session: str) -> str:
        """What every form of this session carries, so that no other site can send one."""
        return self._signed("form", session)

    def is_form_mark(self, session: str, mark: str) -> bool:
        """Whether ``mark`` came from a form of this session."""
        return hmac.compare_digest(mark.encode("utf-8", "replace"), self.form_mark(session).encode())

    def _signed(self, what: str, text: str) -> str:
        return hmac.new(self.secret, f"{what}:{text}".encode("utf-8", "replace"), hashlib.sha256).hexdigest()


def keys_in(folder: Path, *, forget: bool = False) -> Keys:
    """The keys of the page that keeps its work in ``folder``; with ``forget``, phones let in before are not any more.

    The secret lies in a file that its owner alone may read. Raises :class:`WrongCall` where it cannot be written.
    """
    path = folder / "secret"
    try:
        folder.mkdir(mode=0o700, exist_ok=True)
        if forget:
            path.unlink(missing_ok=True)
        with contextlib.suppress(FileExistsError):
            _written(path)
        secret = path.read_bytes()
    except OSError as error:
        raise WrongCall(f"cannot keep the page's secret in {folder}: {error.strerror or error}") from error
    if len(secret) != SECRET_BYTES:
        raise WrongCall(f"{path} is not the page's secret: delete it, and the page makes a new one")
    return Keys(secret)


def _written(path: Path) -> None:
    """A new secret at ``path``, whole, readable by its owner alone. Raises FileExistsError where one is."""
    part = path.with_name(f".{secrets.token_hex(8)}.secret")
    file = os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
    try:
        os.write(file, secrets.token_bytes(SECRET_BYTES))
        os.fsync(file)
        os.link(part, path)
    finally:
        os.close(file)
        part.unlink()
