"""The pin is what tells the shed from all others, and it is looked at before a byte is sent."""

import socket
import ssl
import threading
from datetime import UTC, datetime

import pytest

from fieldapp.device.link.address import Address
from fieldapp.device.link.talk import Talk
from fieldapp.device.link.tls import open_pinned, open_unpinned
from fieldapp.device.link.trouble import LinkError


def test_the_shed_of_the_pin_gets_what_is_sent(listener, shed_papers):
    there = listener()

    with open_pinned(there.address, shed_papers.pin) as line:
        assert line.version() == "TLSv1.3"
        line.sendall(b"moss")
    there.stop()

    assert there.came == b"moss"


def test_another_certificate_gets_no_byte(listener, papers, shed_papers):
    there = listener(papers=papers("other"))

    with pytest.raises(LinkError, match=r"another certificate.*nothing was sent") as told:
        open_pinned(there.address, shed_papers.pin)
    with Talk(there.address, shed_papers.pin) as talk, pytest.raises(LinkError):
        talk.ask("/phone/session/begin", {"device": "p3-k7f2", "block": "km7q2x4a"})
    there.stop()

    assert told.value.code == "other_shed"
    assert there.shaken == 2  # it could have read, had anything been sent
    assert there.came == b""


def test_a_certificate_whose_time_is_still_to_come_is_the_shed_all_the_same(listener, papers):
    future = papers("future", begins=datetime(2080, 1, 1, tzinfo=UTC))
    there = listener(papers=future)

    with open_pinned(there.address, future.pin) as line:
        line.sendall(b"moss")
    there.stop()

    assert there.came == b"moss"


def test_pairing_sees_the_sum_of_the_certificate_it_is_shown(listener, papers):
    other = papers("seen")
    there = listener(papers=other)

    line, shown = open_unpinned(there.address)
    line.close()

    assert shown == other.pin


def test_a_talk_without_a_pin_stays_with_the_first_certificate(listener, papers, shed_papers):
    first, second = listener(), listener(papers=papers("second"))
    talk = Talk(first.address)

    talk._open()
    talk.close()
    talk.address = second.address
    with pytest.raises(LinkError, match="another certificate"):
        talk._open()
    talk.close()

    assert talk.pin == shed_papers.pin


def test_an_older_tls_is_refused(listener, shed_papers):
    there = listener(newest=ssl.TLSVersion.TLSv1_2)

    with pytest.raises(LinkError, match=r"no shed of this form \(no TLS 1\.3\)"):
        open_pinned(there.address, shed_papers.pin)


def test_where_nobody_listens_the_shed_does_not_answer():
    with socket.create_server(("127.0.0.1", 0)) as door:
        port = door.getsockname()[1]

    with pytest.raises(LinkError, match=f"does not answer at 127.0.0.1:{port}. Nothing is lost"):
        open_unpinned(Address("127.0.0.1", port))


def test_who_takes_the_connection_and_says_nothing_does_not_answer():
    with socket.create_server(("127.0.0.1", 0)) as door:
        with pytest.raises(LinkError) as told:
            open_unpinned(Address("127.0.0.1", door.getsockname()[1]), timeout_s=0.2)
        door.accept()[0].close()

    assert told.value.code == "no_answer"


def test_who_speaks_without_tls_is_no_shed():
    def speak(door):
        line, _ = door.accept()
        with line:
            line.sendall(b"HTTP/1.1 200 OK\r\n\r\n")

    with socket.create_server(("127.0.0.1", 0)) as door:
        thread = threading.Thread(target=speak, args=(door,))
        thread.start()
        with pytest.raises(LinkError) as told:
            open_unpinned(Address("127.0.0.1", door.getsockname()[1]))
        thread.join()

    assert told.value.code in ("no_shed", "no_answer")
