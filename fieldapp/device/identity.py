"""Who this phone is on each block: its device name, made once, and its key.

Rule 1: a device name is never made twice for one block, nor carried to another phone: keep this
file where the system makes no backups.
Rule 2: what was noted before the phone was paired stays under the name it was noted by.
"""

import dataclasses
import secrets
from pathlib import Path
from typing import Any, Self

from tinydb import where

from fieldapp.device.pairing import Pairing
from fieldapp.device.store import open_store

_LETTERS = "abcdefghijklmnopqrstuvwxyz234567"
_TAG = 4
#: The phone code of a phone that was never paired.
UNPAIRED = "x"


@dataclasses.dataclass(frozen=True)
class Install:
    """One install of the app on one block.

    Attributes
    ----------
    device : str
        As `p3-k7f2`.
    block, block_name : str or None
        None before the phone was paired.
    key : bytes or None
        For its seals; None before the phone was paired.
    pin : str or None
        SHA-256 of the shed's certificate, in hex; None where it was never paired over Wi-Fi.
    address : str or None
        Where the shed answers, as `192.168.1.5:8417`; None as the pin.
    """

    device: str
    block: str | None
    block_name: str | None
    key: bytes | None = dataclasses.field(repr=False)
    pin: str | None = None
    address: str | None = None


class Identity:
    """The installs on this phone, kept in one private file.

    Parameters
    ----------
    path : Path
        The file; its folder exists.
    """

    def __init__(self, path: Path) -> None:
        self._store = open_store(path, private=True)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._store.close()

    def installs(self) -> tuple[Install, ...]:
        """Give all, the one in use last."""
        return tuple(_install(row) for row in sorted(self._store.all(), key=lambda r: r["order"]))

    def in_use(self) -> Install:
        """Give the install in use; before any pairing one is made, as `x-k7f2`."""
        installs = self.installs()
        return installs[-1] if installs else self._keep(Install(_new(UNPAIRED), None, None, None))

    def pair(self, pairing: Pairing, *, pin: str | None = None,
             address: str | None = None) -> Install:
        """Take a pairing and use it from now on.

        Parameters
        ----------
        pairing : Pairing
            A new key for a phone code that this install already has on that block keeps the
            device's name, and so its journal and numbers.
        pin, address : str or None
            The shed's, of a pairing over Wi-Fi; by file, those known before stay.

        Returns
        -------
        Install
            Now in use.
        """
        same = [install for install in self.installs() if install.block == pairing.block
                and install.device.partition("-")[0] == pairing.phone]
        before = same[-1] if same else Install(_new(pairing.phone), None, None, None)
        return self._keep(Install(before.device, pairing.block, pairing.block_name, pairing.key,
                                  pin or before.pin, address or before.address))

    def shed_at(self, address: str) -> Install:
        """Keep that the shed of the install in use now answers elsewhere."""
        return self._keep(dataclasses.replace(self.in_use(), address=address))

    def use(self, device: str) -> Install:
        """Turn to another block that this phone serves, by its device name there.

        Raises
        ------
        KeyError
            If this phone never had that name.
        """
        return self._keep({install.device: install for install in self.installs()}[device])

    def _keep(self, install: Install) -> Install:
        order = 1 + max((row["order"] for row in self._store.all()), default=0)
        row: dict[str, Any] = {
            "order": order, "device": install.device, "block": install.block,
            "block_name": install.block_name, "key": install.key and install.key.hex(),
            "pin": install.pin, "address": install.address}
        self._store.upsert(row, where("device") == install.device)
        return install


def _install(row: Any) -> Install:
    key = row["key"]
    # A file from before there was a link has neither pin nor address.
    return Install(row["device"], row["block"], row["block_name"], key and bytes.fromhex(key),
                   row.get("pin"), row.get("address"))


def _new(phone: str) -> str:
    return phone + "-" + "".join(secrets.choice(_LETTERS) for _ in range(_TAG))
