"""`fallow shed`: the server for the phones and the owner's browser."""

import logging
import sys
import time
from pathlib import Path
from typing import Annotated

import segno
import typer

from sync.cli.intake import Folder
from sync.cli.planning import solver_is_quiet
from sync.cli.rubbish import look_seldom
from sync.cli.shown import now, say
from sync.disk.certificate import Certificate, shed_certificate
from sync.disk.owner_key import OWNER_KEY_FILE, owner_key
from sync.shed.app import app_of
from sync.shed.serve import addresses_of, server_of, take_port
from sync.shed.shed import Clocks, Shed, shed_of

PORT = 8417
_EVERYWHERE = "0.0.0.0"
_GROUP = 4


def shed(
    folder: Folder,
    host: Annotated[str, typer.Option(help="Address to listen at; all of this machine's.")]
    = _EVERYWHERE,
    port: Annotated[int, typer.Option(min=0, max=65535, help="0 takes any free one.")] = PORT,
) -> None:
    """Serve the phones and the owner's browser, on the shed's own Wi-Fi; no internet needed."""
    look_seldom(for_hours=True)
    logging.basicConfig(stream=sys.stderr, format="%(asctime)s %(message)s", level=logging.WARNING)
    logging.getLogger("fallow.shed").setLevel(logging.INFO)
    with take_port(host, port) as door:
        addresses = addresses_of(host, door.getsockname()[1])
        running, certificate = _put_together(folder, addresses)
        _welcome(folder, running)
        running.rebuilder.start()
        try:
            # All that goes to stdout is said; the log goes to stderr.
            with solver_is_quiet():
                server_of(app_of(running), certificate, running.limits).run(sockets=[door])
        finally:
            running.rebuilder.stop()


def _put_together(folder: Path, addresses: tuple[str, ...]) -> tuple[Shed, Certificate]:
    hosts = ["localhost", *(one.rpartition(":")[0].strip("[]") for one in addresses)]
    certificate = shed_certificate(folder, names=hosts, now=now())
    running = shed_of(
        folder, addresses=addresses, pin=certificate.pin, key=owner_key(folder),
        clocks=Clocks(now, time.monotonic),
    )
    return running, certificate


def _welcome(folder: Path, running: Shed) -> None:
    """Say where the shed is and how the owner signs in; the code is good once."""
    pages = [f"https://{one}/" for one in running.addresses]
    typer.echo(f"shed open at {' and '.join(pages)}")
    segno.make(pages[0], error="m").terminal(out=sys.stderr, compact=True)
    typer.echo(f"one-time sign-in: {running.sign_in.new_code()}")
    pin = running.pin
    groups = " ".join(pin[i:i + _GROUP] for i in range(0, len(pin), _GROUP))
    say(f"SHA-256 of its certificate: {groups}")
    say("the browser warns once, as nobody else vouches for this certificate: compare the sum, "
        "then go on")
    say(f"after the code is used: paste the line of {folder / 'keys' / OWNER_KEY_FILE}; "
        "Ctrl+C closes the shed")
    sys.stdout.flush()
