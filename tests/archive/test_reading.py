"""Files made to harm: told in a sentence, within bounds of time and room."""

from __future__ import annotations

import contextlib
import io
import random
import subprocess
import sys
import zlib
from collections.abc import Callable

import pikepdf
import pytest
from archive.forged import resealed

from certgen.archive import reading
from certgen.archive.reading import Unreadable, besides_signatures, read_enclosed
from certgen.archive.signature import judged
from certgen.sheet.pdf.container import written

pytestmark = pytest.mark.slow


def test_enclosed_files_are_read(certificate: bytes) -> None:
    files = read_enclosed(certificate)
    assert len(files) == 7
    assert all(one.true_to_itself for one in files)


def test_a_page_of_another_program_encloses_nothing() -> None:
    with pikepdf.new() as file:
        file.add_blank_page()
        target = io.BytesIO()
        file.save(target, object_stream_mode=pikepdf.ObjectStreamMode.disable)
    assert read_enclosed(target.getvalue()) == ()


def _enclosing(stream: bytes, names: bytes = b"[ (a) 2 0 R ]") -> bytes:
    """A PDF whose one enclosed file is this stream object."""
    return written(
        [
            b"<< /Type /Catalog /Names << /EmbeddedFiles << /Names %s >> >> >>" % names,
            b"<< /Type /Filespec /F (a) /UF (a) /EF << /F 3 0 R >> >>",
            stream,
        ],
        1,
        1,
    )


def _stream(data: bytes, entries: bytes = b"/Filter /FlateDecode") -> bytes:
    return b"<< /Type /EmbeddedFile %s /Length %d >>\nstream\n%s\nendstream" % (entries, len(data), data)


def _bomb(megabytes: int) -> bytes:
    """Zeros, packed to a thousandth."""
    packer = zlib.compressobj(9)
    parts = [packer.compress(bytes(1_000_000)) for _ in range(megabytes)]
    return b"".join([*parts, packer.flush()])


def _twice_packed() -> bytes:
    return zlib.compress(zlib.compress(bytes(50_000_000), 9), 9)


def _nested(depth: int) -> bytes:
    return _enclosing(b"[" * depth + b"]" * depth)


HARMFUL: dict[str, Callable[[], bytes]] = {
    "packs more than is allowed": lambda: _enclosing(_stream(_bomb(20))),
    "packs a packed one": lambda: _enclosing(_stream(_twice_packed(), b"/Filter [ /FlateDecode /FlateDecode ]")),
    "packs in another way": lambda: _enclosing(_stream(b"\x80", b"/Filter /LZWDecode")),
    "packs with parameters": lambda: _enclosing(
        _stream(zlib.compress(b"x"), b"/Filter /FlateDecode /DecodeParms << /Predictor 12 /Columns 99999999 >>")
    ),
    "is not packed": lambda: _enclosing(_stream(b"x", b"")),
    "breaks off": lambda: _enclosing(_stream(zlib.compress(b"x" * 1000)[:-6])),
    "says a wrong length": lambda: _enclosing(b"<< /Filter /FlateDecode /Length 999999999 >>\nstream\nx\nendstream"),
    "is no stream": lambda: _enclosing(b"<< >>"),
    "is itself": lambda: _enclosing(b"3 0 R"),
    "names too many": lambda: _enclosing(_stream(zlib.compress(b"")), b"[ " + b"(a) 2 0 R " * 500 + b"]"),
    "names no list": lambda: _enclosing(b"<< >>", b"17"),
    "nests deep": lambda: _nested(100_000).replace(b"2 0 R ]", b"3 0 R ]"),
    "has no table": lambda: b"%PDF-1.7\n1 0 obj\n<< >>\nendobj\nstartxref\n9\n%%EOF\n",
    "has a table of any size": lambda: (
        b"%PDF-1.7\nxref\n0 999999999\n0000000000 65535 f \ntrailer\n<< /Root 1 0 R >>\nstartxref\n9\n%%EOF\n"
    ),
    "has no root": lambda: written([b"<< >>"], 7, 1),
    "is ciphered": lambda: _enclosing(b"<< >>").replace(b"/Size 4", b"/Size 4 /Encrypt << /Filter /Standard >>"),
}


@pytest.mark.parametrize("harm", HARMFUL)
def test_harmful_files_are_told(harm: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reading, "MOST_BYTES", 10_000_000)
    with pytest.raises(Unreadable) as cause:
        read_enclosed(HARMFUL[harm]())
    assert "\n" not in str(cause.value)


def test_a_table_that_leads_to_itself_comes_to_an_end() -> None:
    document = _enclosing(_stream(zlib.compress(b"")))
    looped = document.replace(b"/Size 4", b"/Size 4 /Prev %d" % document.rindex(b"xref\n0"))
    assert len(read_enclosed(looped)) == 1


def test_harmful_files_take_no_more_room_than_is_allowed() -> None:
    """The largest of them, read in a process that may have 1.2 GB: 256 MB of content, copied as it grows."""
    program = (
        "import resource, sys\n"
        "from certgen.archive.reading import Unreadable, read_enclosed\n"
        "data = sys.stdin.buffer.read()\n"
        "resource.setrlimit(resource.RLIMIT_AS, (1_200_000_000, 1_200_000_000))\n"
        "try: read_enclosed(data)\n"
        "except Unreadable as cause: print(cause)\n"
    )
    harmful = _enclosing(_stream(_bomb(300)))
    done = subprocess.run([sys.executable, "-c", program], input=harmful, capture_output=True, check=True)
    assert done.stdout.decode() == "an enclosed file is broken off or too large\n"


def test_endless_reading_is_stopped(monkeypatch: pytest.MonkeyPatch) -> None:
    def endless(_: bytes) -> None:
        while True:
            pass

    monkeypatch.setattr(reading, "opened", endless)
    monkeypatch.setattr(reading, "_MOST_SECONDS", 0.05)
    with pytest.raises(Unreadable, match="takes too long"):
        read_enclosed(b"%PDF-1.7\n")


def test_random_damage_is_told_or_read_and_never_more(small_certificate: bytes) -> None:
    """Structure is what damage must hit, so it is aimed at what stands outside the packed streams."""
    chance = random.Random(7)
    outside = [at for at in range(len(small_certificate)) if small_certificate[at : at + 1] in b"<>[]/()0123456789"]
    for _ in range(150):
        damaged = bytearray(small_certificate)
        for at in chance.sample(outside, 4):
            damaged[at] = chance.choice(b"<>[]/()0129 \n\0\xff")
        with contextlib.suppress(Unreadable):
            read_enclosed(bytes(damaged))


def test_damage_behind_the_seal_is_told_too(small_certificate: bytes) -> None:
    for more in (b"\nxref\n0 1\ntrailer\n<< /Prev 1 >>\nstartxref\n9\n%%EOF\n", b"[" * 100_000, b"\xff" * 50):
        besides = besides_signatures(small_certificate, small_certificate + more)
        assert besides or judged(small_certificate + more).state == "not good"


def test_a_file_sealed_by_another_hand_reads_as_ours_do(small_certificate: bytes) -> None:
    """The forger's tool of these tests makes files that our reader takes, or the tests about forgery prove nothing."""
    assert len(read_enclosed(resealed(small_certificate))) == 4
