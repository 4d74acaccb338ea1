import hashlib
import ssl
from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509

from sync.disk.certificate import shed_certificate
from sync.disk.owner_key import owner_key
from sync.errors import DiskError

NOW = datetime(2026, 11, 27, tzinfo=UTC)
NAMES = ("localhost", "192.0.2.7")


def test_it_is_made_once_and_kept(tmp_path):
    first = shed_certificate(tmp_path, names=NAMES, now=NOW)
    again = shed_certificate(tmp_path, names=("other",), now=NOW + timedelta(days=900))

    assert again == first
    assert first.cert.parent.name == "keys"


def test_the_pin_is_the_sum_of_what_a_phone_is_shown(tmp_path):
    made = shed_certificate(tmp_path, names=NAMES, now=NOW)
    der = ssl.PEM_cert_to_DER_cert(made.cert.read_text())

    assert made.pin == hashlib.sha256(der).hexdigest()


def test_only_the_owner_may_read_its_key(tmp_path):
    made = shed_certificate(tmp_path, names=NAMES, now=NOW)

    assert made.key.stat().st_mode & 0o077 == 0
    assert str(made.key) not in repr(made)


def test_it_names_the_addresses_and_is_good_for_a_clock_that_is_behind(tmp_path):
    made = x509.load_pem_x509_certificate(
        shed_certificate(tmp_path, names=NAMES, now=NOW).cert.read_bytes())
    names = made.extensions.get_extension_for_class(x509.SubjectAlternativeName).value

    assert names.get_values_for_type(x509.DNSName) == ["localhost"]
    assert [str(one) for one in names.get_values_for_type(x509.IPAddress)] == ["192.0.2.7"]
    assert made.not_valid_before_utc < NOW - timedelta(days=700)
    assert made.not_valid_after_utc > NOW + timedelta(days=29 * 365)


@pytest.mark.parametrize("name", ["shed.crt", "shed.key"])
def test_a_lost_or_damaged_half_is_told_and_not_made_anew(tmp_path, name):
    shed_certificate(tmp_path, names=NAMES, now=NOW)
    (tmp_path / "keys" / name).write_bytes(b"no certificate")
    with pytest.raises(DiskError, match="backup"):
        shed_certificate(tmp_path, names=NAMES, now=NOW)
    (tmp_path / "keys" / name).unlink()

    with pytest.raises(DiskError, match="backup"):
        shed_certificate(tmp_path, names=NAMES, now=NOW)


def test_a_key_of_another_certificate_is_told(tmp_path):
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    one = shed_certificate(tmp_path / "a", names=NAMES, now=NOW)
    other = shed_certificate(tmp_path / "b", names=NAMES, now=NOW)
    one.key.write_bytes(other.key.read_bytes())

    with pytest.raises(DiskError, match="belong together"):
        shed_certificate(tmp_path / "a", names=NAMES, now=NOW)


def test_the_owners_key_is_made_once_for_the_owner_alone(tmp_path):
    key = owner_key(tmp_path)

    assert owner_key(tmp_path) == key
    assert len(key) >= 32
    assert (tmp_path / "keys/owner.key").stat().st_mode & 0o077 == 0


def test_an_owners_key_that_was_cut_off_is_told(tmp_path):
    owner_key(tmp_path)
    (tmp_path / "keys/owner.key").write_text("short\n")

    with pytest.raises(DiskError, match="too short"):
        owner_key(tmp_path)
