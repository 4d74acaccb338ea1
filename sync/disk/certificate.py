"""The shed's own certificate: made once, kept beside the keys, pinned by the phones.

Rule 1: it is never made anew while it can be read; a new one would lock out every phone.
Rule 2: who trusts it trusts its SHA-256, not its dates and not its names.
"""

import dataclasses
import hashlib
import ipaddress
from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from fieldapp.device.files import write_safely
from sync.disk.keys import KEYS_FOLDER
from sync.errors import DiskError

_CERT, _KEY = "shed.crt", "shed.key"
#: As good as for ever: it ends when the owner makes a new one.
_YEARS = 30
_DAYS_A_YEAR = 365
#: A phone or laptop whose clock is behind shall not find it "not yet valid".
_BACKDATED = timedelta(days=2 * _DAYS_A_YEAR)


@dataclasses.dataclass(frozen=True)
class Certificate:
    """Where the certificate and its key lie, and the pin: SHA-256 of its DER form, hex."""

    cert: Path
    key: Path = dataclasses.field(repr=False)
    pin: str


def shed_certificate(folder: Path, *, names: Sequence[str], now: datetime) -> Certificate:
    """Give the shed's certificate; at the first start it is made.

    Parameters
    ----------
    folder : Path
        The block folder.
    names : sequence of str
        Addresses and host names it is made for; a browser shows them, no phone reads them.
    now : datetime
        UTC.

    Returns
    -------
    Certificate
        Elliptic curve P-256, self-signed.

    Raises
    ------
    DiskError
        If one of its two files is missing or cannot be read.
    """
    keys = folder / KEYS_FOLDER
    cert, key = keys / _CERT, keys / _KEY
    if not cert.exists() and not key.exists():
        _make(keys, names, now)
    try:
        read = x509.load_pem_x509_certificate(cert.read_bytes())
        mine = serialization.load_pem_private_key(key.read_bytes(), password=None)
    except (OSError, ValueError, TypeError) as wrong:
        raise DiskError(
            f"{KEYS_FOLDER}/{_CERT} and {_KEY}: one is missing or damaged; take both from the "
            "last backup, or delete both and pair every phone again"
        ) from wrong
    if read.public_key() != mine.public_key():
        raise DiskError(f"{KEYS_FOLDER}/{_CERT} and {_KEY} do not belong together; take both "
                        "from the last backup")
    return Certificate(cert, key, hashlib.sha256(_der(read)).hexdigest())


def _der(certificate: x509.Certificate) -> bytes:
    return certificate.public_bytes(serialization.Encoding.DER)


def _make(keys: Path, names: Sequence[str], now: datetime) -> None:
    key = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Fallow shed")])
    made = (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - _BACKDATED)
        .not_valid_after(now + timedelta(days=_YEARS * _DAYS_A_YEAR))
        .add_extension(x509.SubjectAlternativeName([_name(one) for one in names]), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .sign(key, hashes.SHA256())
    )
    keys.mkdir(mode=0o700, exist_ok=True)
    content = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )
    write_safely(keys / _KEY, content, private=True)
    write_safely(keys / _CERT, made.public_bytes(serialization.Encoding.PEM))


def _name(text: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.ip_address(text))
    except ValueError:
        return x509.DNSName(text)
