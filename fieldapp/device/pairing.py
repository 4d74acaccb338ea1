"""The pairing file: what a phone must know of its shed, carried over by hand once.

Rule 1: whoever holds the file holds the key; it is to be deleted once the phone has it.
"""

import dataclasses
import re

from fieldapp.record import FileError, LineError, canonical
from fieldapp.record.lines import parse_object

#: A phone's code, as it stands before the dash of its device; `x` is for phones not paired.
PHONE = re.compile(r"\A(?!x\Z)[a-z][a-z0-9]{0,7}\Z")
#: As long as the sum it makes (RFC 2104, section 3). [bytes]
KEY_BYTES = 32
_KEY = re.compile(rf"\A[0-9a-f]{{{2 * KEY_BYTES}}}\Z")
_LONGEST = 10_000


class PairingError(Exception):
    """A file pairs nothing; the message says what to do."""


@dataclasses.dataclass(frozen=True)
class Pairing:
    """A phone's place on a block.

    Attributes
    ----------
    block, block_name : str
        The block's id and what people call it.
    phone : str
        This phone's code there, as `p3`.
    key : bytes
        For its seals.
    """

    block: str
    block_name: str
    phone: str
    key: bytes = dataclasses.field(repr=False)


def pairing_of(data: bytes) -> Pairing:
    """Read a pairing file.

    Parameters
    ----------
    data : bytes
        Of `*.pairing.json`.

    Returns
    -------
    Pairing
        As the shed wrote it.

    Raises
    ------
    PairingError
        If it is none; the key is never shown.
    """
    try:
        fields = parse_object(data, longest=_LONGEST)
    except (LineError, FileError):
        raise PairingError("the file is no pairing file: make a new one at the shed") from None
    if fields.get("pairing") != 1 or isinstance(fields["pairing"], bool):
        raise PairingError("the file is no pairing file of this form: bring both programs up to "
                           "date")
    for name in ("block", "block_name"):
        if not isinstance(fields.get(name), str) or not fields[name]:
            raise PairingError(f"the pairing file has no {name}: make a new one at the shed")
    phone, key = fields.get("phone"), fields.get("key")
    if not isinstance(phone, str) or not PHONE.match(phone):
        raise PairingError(f"the pairing file's phone={phone!a} is no code such as p3")
    if not isinstance(key, str) or not _KEY.match(key):
        raise PairingError(f"the pairing file's key is not {KEY_BYTES} bytes in hex: make a new "
                           "one at the shed")
    return Pairing(fields["block"], fields["block_name"], phone, bytes.fromhex(key))


def pairing_json(pairing: Pairing) -> bytes:
    """Write a pairing file.

    Parameters
    ----------
    pairing : Pairing
        With a key of 32 bytes.

    Returns
    -------
    bytes
        Of `*.pairing.json`.

    Raises
    ------
    PairingError
        If the phone could not read it back.
    """
    data = canonical({"pairing": 1, "block": pairing.block, "block_name": pairing.block_name,
                      "phone": pairing.phone, "key": pairing.key.hex()}) + b"\n"
    pairing_of(data)
    return data
