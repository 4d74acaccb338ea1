import threading
import time

import pytest

from fieldapp.device.link import errand


def test_an_errand_gives_what_the_work_gave():
    done = errand.Errand(lambda stop: 31)
    while not done.ended:
        time.sleep(0.001)

    assert done.result() == 31


def test_an_errand_keeps_what_was_raised_until_it_is_asked():
    def raise_(stop):
        raise ValueError("moss")
    gone = errand.Errand(raise_)
    while not gone.ended:
        time.sleep(0.001)

    with pytest.raises(ValueError, match="moss"):
        gone.result()


def test_an_errand_that_hangs_does_not_hold_up_the_end_of_the_app(monkeypatch):
    monkeypatch.setattr(errand, "_GRACE_S", 0.1)
    go = threading.Event()
    hangs = errand.Errand(lambda stop: go.wait(20))
    began = time.monotonic()

    hangs.end()

    assert time.monotonic() - began < 2.0
    assert hangs.stop.is_set()
    go.set()
