"""The owner's sign-in: a one-time code or the owner's key, a session, and a token on every form.

Rule 1: a code is good once; the key is good always and lies in `keys/`, for the owner alone.
Rule 2: what a browser holds is kept here only as its SHA-256.
Rule 3: a form's token belongs to the cookie it was made for and to no other.
"""

import dataclasses
import hashlib
import hmac
import secrets
from collections.abc import Callable

#: Without letters and digits that are taken for one another: 31 signs, ten of them are 49 bits.
_SIGNS = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"
_LENGTH, _GROUP = 10, 5
_TOKEN_BYTES = 32


@dataclasses.dataclass(frozen=True)
class OwnerSession:
    """A browser that the owner is signed in with.

    Attributes
    ----------
    until : float
        Monotonic seconds.
    language : str
        What its pages are written in.
    """

    until: float
    language: str


class SignIn:
    """Who is signed in.

    Parameters
    ----------
    owner_key : str
        As in `keys/owner.key`.
    clock : callable
        Monotonic seconds.
    session_s : float
        How long a session lasts.
    """

    _MOST = 100

    def __init__(self, owner_key: str, *, clock: Callable[[], float], session_s: float) -> None:
        self._owner = _sum(owner_key)
        self._clock = clock
        self._session_s = session_s
        self._code: bytes | None = None
        self._secret = secrets.token_bytes(_TOKEN_BYTES)
        self._sessions: dict[bytes, OwnerSession] = {}

    def new_code(self) -> str:
        """Make up a one-time code; the one before is good no more.

        Returns
        -------
        str
            As it is shown, in two groups.
        """
        code = "".join(secrets.choice(_SIGNS) for _ in range(_LENGTH))
        self._code = _sum(code)
        return f"{code[:_GROUP]}-{code[_GROUP:]}"

    def sign_in(self, said: str, *, language: str) -> str | None:
        """Take a code or the key.

        Parameters
        ----------
        said : str
            As it was typed or pasted; spaces and dashes of a code do not count, nor small
            letters.
        language : str
            Of the pages.

        Returns
        -------
        str or None
            The session's cookie; None if it is neither.
        """
        key = hmac.compare_digest(_sum(said.strip()), self._owner)
        code = self._code is not None and hmac.compare_digest(_sum(_plain(said)), self._code)
        if not key and not code:
            return None
        if not key:
            self._code = None
        self._forget_old()
        cookie = secrets.token_urlsafe(_TOKEN_BYTES)
        self._sessions[_sum(cookie)] = OwnerSession(self._clock() + self._session_s, language)
        return cookie

    def session(self, cookie: str | None) -> OwnerSession | None:
        """Give the session of a cookie; None if there is none or it has ended."""
        found = self._sessions.get(_sum(cookie)) if cookie else None
        return found if found is not None and found.until > self._clock() else None

    def speak(self, cookie: str, language: str) -> None:
        """Change the language of a session."""
        found = self.session(cookie)
        if found is not None:
            self._sessions[_sum(cookie)] = dataclasses.replace(found, language=language)

    def sign_out(self, cookie: str | None) -> None:
        """End a session."""
        if cookie:
            self._sessions.pop(_sum(cookie), None)

    def form_token(self, cookie: str) -> str:
        """Give the token that belongs on the forms of a cookie."""
        return hmac.new(self._secret, cookie.encode(), hashlib.sha256).hexdigest()

    def form_fits(self, cookie: str | None, token: str | None) -> bool:
        """Say whether a form came from a page that was made for this cookie."""
        if not cookie or not token:
            return False
        return hmac.compare_digest(self.form_token(cookie).encode(), token.encode())

    def _forget_old(self) -> None:
        now = self._clock()
        live = {key: one for key, one in self._sessions.items() if one.until > now}
        self._sessions = dict(list(live.items())[-self._MOST:])


def _sum(text: str) -> bytes:
    return hashlib.sha256(text.encode("utf-8", "replace")).digest()


def _plain(code: str) -> str:
    return "".join(code.upper().split()).replace("-", "")
