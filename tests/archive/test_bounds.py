"""Time is up when it is up."""

from __future__ import annotations

import signal
import threading

import pytest

from certgen.archive.reading import TookTooLong, within


@pytest.mark.skipif(not hasattr(signal, "setitimer"), reason="this system has no interval timer")
def test_endless_work_is_stopped() -> None:
    def endless() -> None:
        while True:
            pass

    with pytest.raises(TookTooLong), within(0.05):
        endless()


def test_the_timer_is_gone_afterwards() -> None:
    before = signal.getsignal(signal.SIGALRM)
    with within(60.0):
        pass
    assert signal.getitimer(signal.ITIMER_REAL) == (0.0, 0.0)
    assert signal.getsignal(signal.SIGALRM) is before


def test_other_threads_go_without() -> None:
    done = []

    def work() -> None:
        with within(0.0001):
            done.append(sum(range(100_000)))

    thread = threading.Thread(target=work)
    thread.start()
    thread.join()
    assert done
