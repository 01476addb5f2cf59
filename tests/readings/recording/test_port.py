"""A serial port played on a pseudo-terminal: noise, cut lines, a cable pulled out and put back."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from pathlib import Path
from queue import SimpleQueue
from typing import Any

import pytest
from serial_logger import SerialLogger

from certgen.errors import CertgenError
from certgen.job.logger import Logger
from certgen.readings.recording.port import (
    CUT_AT_GAP,
    CUT_AT_OPENING,
    Arrived,
    Back,
    Ended,
    Events,
    Gone,
    Line,
    SerialSource,
    StreamSource,
    Waiting,
    serial_opener,
)


@pytest.fixture
def port(tmp_path: Path) -> Iterator[SerialLogger]:
    logger = SerialLogger(tmp_path / "ttyTEST")
    yield logger
    logger.unplug()


@pytest.fixture
def events() -> Events:
    return SimpleQueue()


@pytest.fixture
def source(port: SerialLogger, events: Events) -> Iterator[SerialSource]:
    source = SerialSource(serial_opener(str(port.path), Logger(baud=115200)), "any", events)
    yield source
    source.stop()
    source.join(timeout=5.0)
    assert not source.is_alive()


def after(events: Events, kind: type) -> Any:
    """The next event, which must be of a kind."""
    event = events.get(timeout=20.0)
    assert isinstance(event, kind), event
    return event


def lines_of(events: Events, count: int) -> list[Line]:
    return [after(events, Arrived).line for _ in range(count)]


def test_lines_arrive_whole_from_an_open_port(port: SerialLogger, source: SerialSource, events: Events) -> None:
    port.plug()
    source.start()
    after(events, Back)
    port.send(b"20,2.06\r\n14")
    port.send(b"21,2.07\r\n")
    port.send(b"\x00\xff1\r\n")
    assert lines_of(events, 3) == [Line(b"20,2.06", CUT_AT_OPENING), Line(b"1421,2.07"), Line(b"\x00\xff1")]


def test_a_cable_pulled_out_and_put_back_is_a_gap(port: SerialLogger, source: SerialSource, events: Events) -> None:
    port.plug()
    source.start()
    after(events, Back)
    port.send(b"x\n1,2\n3,")
    assert lines_of(events, 2) == [Line(b"x", CUT_AT_OPENING), Line(b"1,2")]
    port.unplug()
    event = events.get(timeout=20.0)
    if isinstance(event, Arrived):  # unless the system took the beginning of the line with the port
        assert event.line == Line(b"3,", CUT_AT_GAP)
        event = events.get(timeout=20.0)
    assert isinstance(event, Gone)
    port.plug()
    assert after(events, Back).at >= event.at
    port.send(b"4\n5,6\n")
    assert lines_of(events, 2) == [Line(b"4", CUT_AT_OPENING), Line(b"5,6")]


def test_a_port_that_is_not_there_yet_is_waited_for(port: SerialLogger, source: SerialSource, events: Events) -> None:
    source.start()
    assert after(events, Waiting).why == "No such file or directory"
    port.plug()
    after(events, Back)


def test_what_is_no_serial_port_is_not_waited_for(tmp_path: Path, events: Events) -> None:
    (tmp_path / "file").write_text("1,2\n")
    source = SerialSource(serial_opener(str(tmp_path / "file"), Logger()), "any", events)
    source.start()
    assert after(events, Ended).failure
    source.join(timeout=5.0)


def test_a_stream_ends_where_it_ends(events: Events) -> None:
    read_end, write_end = os.pipe()
    source = StreamSource(read_end, "lf", events)
    source.start()
    os.write(write_end, b"1,2\n3,4\n5,")
    os.close(write_end)
    assert lines_of(events, 3) == [Line(b"1,2"), Line(b"3,4"), Line(b"5,", "cut at the end")]
    assert after(events, Ended).failure == ""
    source.join(timeout=5.0)
    os.close(read_end)


def test_a_stream_that_cannot_be_read_is_told(events: Events) -> None:
    source = StreamSource(-1, "lf", events)
    source.start()
    assert after(events, Ended).failure == "Bad file descriptor"
    source.join(timeout=5.0)


def test_without_the_library_for_serial_ports_it_is_said_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "serial", None)
    with pytest.raises(CertgenError, match=r"pip install 'certgen\[record\]'"):
        serial_opener("/dev/ttyUSB0", Logger())
