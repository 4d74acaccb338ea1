"""Opening the port: TLS 1.3 with the shed's own certificate, and connections held to their time.

Rule 1: the port is taken before anything is printed, so that what is printed is true.
Rule 2: a connection whose request does not arrive in time is closed.
"""

import asyncio
import socket
import ssl
from typing import Any

import h11
import uvicorn
from starlette.applications import Starlette
from uvicorn.protocols.http.h11_impl import H11Protocol

from sync.disk.certificate import Certificate
from sync.errors import DiskError
from sync.shed.limits import Limits

_BACKLOG = 128
#: Between two requests of one connection.
_IDLE_S = 20
_ENDING_S = 5
#: The head of a request; cookies and all are far under it. [bytes]
_HEAD_BYTES = 16_384
#: Of an answer, waiting for a slow line; beyond it the next piece waits.
_UNSENT_BYTES = 65_536


def take_port(host: str, port: int) -> socket.socket:
    """Take the port.

    Parameters
    ----------
    host : str
        Address to listen at; `0.0.0.0` is all of this machine's.
    port : int
        0 takes any that is free.

    Returns
    -------
    socket
        Listening.

    Raises
    ------
    DiskError
        If it is taken, or the address is not this machine's.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    both = host == "::" and socket.has_dualstack_ipv6()
    try:
        return socket.create_server((host, port), family=family, backlog=_BACKLOG,
                                    dualstack_ipv6=both)
    except (OSError, OverflowError) as wrong:
        why = getattr(wrong, "strerror", None) or str(wrong)
        raise DiskError(f"port {port} at {host}: {why}; is a shed running already? Else say "
                        "another --port") from wrong


def addresses_of(host: str, port: int) -> tuple[str, ...]:
    """Give the addresses at which phones may reach a port.

    Parameters
    ----------
    host, port : str, int
        What was listened at.

    Returns
    -------
    tuple of str
        `HOST:PORT`, the likeliest first; asks no name service and sends nothing.
    """
    if host not in {"0.0.0.0", "::"}:
        return (_joined(host, port),)
    hosts = [found for found in (_own_address(),) if found is not None]
    return tuple(_joined(one, port) for one in dict.fromkeys((*hosts, "127.0.0.1")))


def _own_address() -> str | None:
    """Ask the system by which of its addresses it would go out; a UDP socket sends nothing."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # set aside for documents (RFC 5737)
        except OSError:
            return None
        found: str = probe.getsockname()[0]
        return found


def _joined(host: str, port: int) -> str:
    return f"[{host}]:{port}" if ":" in host else f"{host}:{port}"


def server_of(app: Starlette, certificate: Certificate, limits: Limits) -> uvicorn.Server:
    """Make the server.

    Parameters
    ----------
    app : Starlette
        The application.
    certificate : Certificate
        Its own.
    limits : Limits
        Connections and seconds.

    Returns
    -------
    uvicorn.Server
        To be run with the socket of `take_port`.
    """
    config = uvicorn.Config(
        app, http=_protocol(limits.head_s), ws="none", lifespan="off", loop="asyncio",
        access_log=False, log_config=None, server_header=False, proxy_headers=False,
        ssl_certfile=str(certificate.cert), ssl_keyfile=str(certificate.key),
        limit_concurrency=limits.connections, timeout_keep_alive=_IDLE_S,
        timeout_graceful_shutdown=_ENDING_S, h11_max_incomplete_event_size=_HEAD_BYTES,
    )
    config.load()
    if config.ssl is not None:
        config.ssl.minimum_version = ssl.TLSVersion.TLSv1_3
    return uvicorn.Server(config)


def _protocol(head_s: float) -> type[asyncio.Protocol]:
    """Make the protocol whose connections are closed where a head takes too long."""

    class HeadTimed(H11Protocol):  # the only way in that uvicorn leaves
        _late: asyncio.TimerHandle | None = None

        def connection_made(self, transport: Any) -> None:
            super().connection_made(transport)
            transport.set_write_buffer_limits(_UNSENT_BYTES)
            self._watch()

        def data_received(self, data: bytes) -> None:
            super().data_received(data)
            self._watch()

        def connection_lost(self, exc: Exception | None) -> None:
            self._unwatch()
            super().connection_lost(exc)

        def _watch(self) -> None:
            if self.conn.their_state is not h11.IDLE:
                self._unwatch()
            elif self._late is None:
                self._late = self.loop.call_later(head_s, self.transport.close)

        def _unwatch(self) -> None:
            if self._late is not None:
                self._late.cancel()
                self._late = None

    return HeadTimed
