"""One piece of work off the screens' thread: begun, looked at, and at its end taken up once.

Rule 1: one at a time; another is not begun before the first was taken up.
Rule 2: the app's end does not wait for a link that hangs: what is on disk stays as it is.
"""

import threading
from collections.abc import Callable
from typing import Generic, TypeVar

#: An end that is in sight is waited for. [s]
_GRACE_S = 2.0
_T = TypeVar("_T")


class Errand(Generic[_T]):
    """Work that is going on.

    Parameters
    ----------
    work : callable
        Gets an event that is set when it is to stop; what it gives or raises is kept.

    Attributes
    ----------
    stop : threading.Event
        Set to end it early.
    """

    def __init__(self, work: Callable[[threading.Event], _T]) -> None:
        self.stop = threading.Event()
        self._result: _T | None = None
        self._error: Exception | None = None
        self._thread = threading.Thread(target=self._run, args=(work,), daemon=True)
        self._thread.start()

    @property
    def ended(self) -> bool:
        """Whether there is something to take up."""
        return not self._thread.is_alive()

    def result(self) -> _T:
        """Give what the work gave, or raise what it raised; once `ended`."""
        if self._error is not None:
            raise self._error
        return self._result  # type: ignore[return-value]  # it is there once the work ended

    def end(self) -> None:
        """Ask it to stop, and wait a little."""
        self.stop.set()
        self._thread.join(_GRACE_S)

    def _run(self, work: Callable[[threading.Event], _T]) -> None:
        try:
            self._result = work(self.stop)
        except Exception as error:  # told to the person by whoever takes it up
            self._error = error
