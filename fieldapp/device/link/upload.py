"""One file to the shed in parts, from where a former try stopped.

Rule 1: where to go on is what the shed says is on its disk, never what was sent.
Rule 2: what the shed holds is what it answers, never what was in the file.
"""

import dataclasses
import hashlib
from collections.abc import Callable, Mapping
from typing import Any

from fieldapp.device.link.line import Line
from fieldapp.device.link.session import Session, Spans, spans_of
from fieldapp.device.link.trouble import no_shed

#: Small enough that a cut costs little, well under the 1 MiB a shed takes. [bytes]
PART = 256 * 1024
#: For a part; with the last the shed reads the whole file and writes its journal. [s]
PART_S = 120.0
#: Told how far it is: bytes at the shed, bytes in all.
Tell = Callable[[int, int], None]


@dataclasses.dataclass(frozen=True)
class Taken:
    """What the shed has made of a file.

    Attributes
    ----------
    new, known, aside : int
        Records it had not, had already, and set aside.
    held : tuple of (int, int)
        This device's numbers that are on its disk.
    """

    new: int
    known: int
    aside: int
    held: Spans


def send_rest(line: Line, session: Session, data: bytes, *, tell: Tell) -> Taken:
    """Send what the shed has not yet of a file; a step of a line.

    Parameters
    ----------
    line : Line
        To the shed; told how far it is.
    session : Session
        Of this try.
    data : bytes
        The whole file.
    tell : callable
        Told before each part and at the end.

    Returns
    -------
    Taken
        What the shed has made of it.

    Raises
    ------
    LinkError
        As `Talk.ask`; `unreadable` if the shed refuses the file.
    """
    where, name = str(session.talk.address), hashlib.sha256(data).hexdigest()
    have = _have(session.talk.ask("/phone/uploads", {"sha256": name, "size": len(data)},
                                  token=session.token), data, where)
    while True:
        line.far = max(line.far, have)
        tell(have, len(data))
        line.go_on()
        answer = session.talk.put(f"/phone/uploads/{name}", data[have:have + PART], offset=have,
                                  token=session.token, within_s=PART_S)
        if "taken" in answer:
            tell(len(data), len(data))
            return _taken(answer, where)
        now = _have(answer, data, where)
        if now <= have:
            raise no_shed(where, "its upload does not grow")
        have = now


def _have(answer: Mapping[str, Any], data: bytes, where: str) -> int:
    have = answer.get("have")
    if not isinstance(have, int) or isinstance(have, bool) or not 0 <= have <= len(data):
        raise no_shed(where, "its answer has no sound have")
    return have


def _taken(answer: Mapping[str, Any], where: str) -> Taken:
    told = answer["taken"] if isinstance(answer["taken"], dict) else {}
    new, known, aside = (_count(told.get(name), where) for name in ("new", "known", "aside"))
    return Taken(new, known, aside, spans_of(answer, where))


def _count(value: object, where: str) -> int:
    if not isinstance(value, int) or isinstance(value, bool) or value < 0:
        raise no_shed(where, "its answer has no sound taken")
    return value
