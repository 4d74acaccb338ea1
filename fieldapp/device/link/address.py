"""Where a shed is found: `HOST:PORT`, typed by a person or read off a page.

Rule 1: what is half an address is refused, not completed: `192.168.1` would reach another machine.
"""

import dataclasses
import re

from fieldapp.device.link.trouble import BAD_ADDRESS, LinkError

#: Of the shed, where none is said.
PORT = 8417
_LONGEST = 260
_LAST_PORT = 65535
_SHAPE = re.compile(r"\A([A-Za-z0-9](?:[A-Za-z0-9.-]*[A-Za-z0-9])?)(?::([0-9]{1,5}))?\Z")
_FIGURES = re.compile(r"\A[0-9.]+\Z")
_FOUR = re.compile(r"\A(?:(?:25[0-5]|2[0-4][0-9]|1?[0-9]{1,2})(?:\.(?!\Z)|\Z)){4}\Z")


@dataclasses.dataclass(frozen=True)
class Address:
    """A machine's name or its four figures, and the port."""

    host: str
    port: int

    def __str__(self) -> str:
        return f"{self.host}:{self.port}"


def address_of(text: str) -> Address:
    """Read an address.

    Parameters
    ----------
    text : str
        As `192.168.1.5:8417`, `192.168.1.5` or `shed.local`; blanks around it do not matter.

    Returns
    -------
    Address
        With port 8417 where none is said.

    Raises
    ------
    LinkError
        If it is none, with code `bad_address`.
    """
    found = _SHAPE.match(text.strip()[:_LONGEST])
    port = int(found[2] or PORT) if found else 0
    if not found or not 1 <= port <= _LAST_PORT or ".." in found[1] or (
            _FIGURES.match(found[1]) and not _FOUR.match(found[1])):
        raise LinkError(BAD_ADDRESS, f"{text[:_LONGEST]!a} is no address such as 192.168.1.5 or "
                                     f"192.168.1.5:{PORT}: read it off the shed's page again")
    return Address(found[1].lower(), port)
