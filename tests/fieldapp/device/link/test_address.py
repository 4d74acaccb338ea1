import pytest

from fieldapp.device.link.address import address_of
from fieldapp.device.link.trouble import LinkError


@pytest.mark.parametrize(("typed", "read"), [
    ("192.168.1.5:8417", "192.168.1.5:8417"), ("192.168.1.5", "192.168.1.5:8417"),
    (" 10.0.0.1:80 ", "10.0.0.1:80"), ("Shed.local", "shed.local:8417"),
    ("shed", "shed:8417"), ("255.255.255.255:65535", "255.255.255.255:65535")])
def test_an_address_is_read_and_lacks_no_port(typed, read):
    assert str(address_of(typed)) == read
    assert address_of(read) == address_of(typed)


@pytest.mark.parametrize("typed", [
    "", ".", "192.168.1", "192.168.1.", "1.2.3.4.5", "192.168.1.256", "192.168..5", "1234",
    "192.168.1.5:", "192.168.1.5:0", "192.168.1.5:65536", "192.168.1.5:8417:1", ":8417",
    "https://shed", "shed/", "a b", "a\nb", "sh\u00e9d", "-shed", "[::1]:8417", "user@shed",
    "1.2.3.4:\u0661"])
def test_half_an_address_is_refused_and_shown(typed):
    with pytest.raises(LinkError, match=r"is no address such as 192\.168\.1\.5") as told:
        address_of(typed)

    assert told.value.code == "bad_address"
    assert "\n" not in str(told.value)
