"""Opening a connection to the shed: TLS 1.3 with the shed's own certificate, known by its pin.

Rule 1: the pin is compared before a byte is sent; no date, name or authority is asked, since a
phone's clock may be wrong and the shed has no name.
Rule 2: only pairing opens without a pin, and gets the certificate's sum to bind the code to.
"""

import hashlib
import hmac
import re
import socket
import ssl

from fieldapp.device.link.address import Address
from fieldapp.device.link.trouble import NO_ANSWER, OTHER_SHED, LinkError, no_shed

#: On the shed's own network an answer takes milliseconds. [s]
CONNECT_S = 6.0
#: A pin: SHA-256 of the certificate as sent (DER), in hex.
PIN = re.compile(r"\A[0-9a-f]{64}\Z")


def open_pinned(address: Address, pin: str, *, timeout_s: float = CONNECT_S) -> ssl.SSLSocket:
    """Open a connection to the one shed that was paired with.

    Parameters
    ----------
    address : Address
        Where it is.
    pin : str
        SHA-256 of its certificate, in hex.
    timeout_s : float
        For each step of the opening. [s]

    Returns
    -------
    ssl.SSLSocket
        Open; nothing of ours was sent yet. To be closed by the caller.

    Raises
    ------
    LinkError
        `no_answer`, `no_shed`, or `other_shed` where another certificate is shown.
    """
    line, shown = open_unpinned(address, timeout_s=timeout_s)
    if not hmac.compare_digest(shown.encode(), pin.encode()):
        line.close()
        raise LinkError(OTHER_SHED, f"what answers at {address} shows another certificate than "
                                    "the shed: nothing was sent. Look at the address; if the shed "
                                    "was set up anew, pair by code again")
    return line


def open_unpinned(address: Address, *,
                  timeout_s: float = CONNECT_S) -> tuple[ssl.SSLSocket, str]:
    """Open a connection to whoever answers, for pairing alone.

    Parameters
    ----------
    address : Address
        Where.
    timeout_s : float
        For each step of the opening. [s]

    Returns
    -------
    (ssl.SSLSocket, str)
        The connection, and the SHA-256 of the certificate it showed, in hex.

    Raises
    ------
    LinkError
        `no_answer` or `no_shed`.
    """
    try:
        plain = socket.create_connection((address.host, address.port), timeout=timeout_s)
    except (OSError, UnicodeError) as error:  # a name that cannot be written for the network too
        raise no_answer(address) from error
    # A question's head and body are sent apart: held back, each would wait for the other's echo.
    plain.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    try:
        line = _context().wrap_socket(plain)
    except (TimeoutError, ConnectionError, ssl.SSLEOFError, ssl.SSLZeroReturnError) as error:
        plain.close()
        raise no_answer(address) from error
    except OSError as error:  # ssl.SSLError is one
        plain.close()
        raise no_shed(str(address), "no TLS 1.3") from error
    certificate = line.getpeercert(binary_form=True)
    if not certificate:
        line.close()
        raise no_shed(str(address), "no certificate")
    return line, hashlib.sha256(certificate).hexdigest()


def no_answer(address: Address) -> LinkError:
    """Make the error of a shed that is out of reach."""
    return LinkError(NO_ANSWER, f"the shed does not answer at {address}. Nothing is lost: try "
                                "again, or make a file")


def _context() -> ssl.SSLContext:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.check_hostname = False
    context.verify_mode = ssl.CERT_NONE  # the pin is what is checked
    context.minimum_version = ssl.TLSVersion.TLSv1_3
    return context
