"""The numbered objects of a certificate, read strictly in the form this program writes, and in no other.

Readers of PDF differ in what they make of a file that is not written by the book: of an entry given twice, of objects the
table does not list, of an update. What one reader shows another need not. A certificate has one header, objects
numbered without gaps, one table and one trailer (``sheet/pdf/container.py``); written again from its objects it must
be the same file. Then every reader sees the objects that are compared here.

Source of the syntax: ISO 32000-1:2008, 7.2 and 7.3.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from certgen.sheet.pdf.container import second_line, written

#: Bounds on what a stranger's file may ask for: nested containers, bytes of one unpacked stream.
_DEEPEST = 60
_MOST_UNPACKED = 256_000_000

_END = re.compile(rb"startxref\n([0-9]{1,10})\n%%EOF\n\Z")
_TABLE = re.compile(
    rb"xref\n0 (?P<count>[0-9]{1,7})\n0000000000 65535 f \n(?P<places>(?:[0-9]{10} 00000 n \n)*)"
    rb"trailer\n<< /Size (?P<size>[0-9]{1,7}) /Root (?P<root>[0-9]{1,7}) 0 R /Info (?P<info>[0-9]{1,7}) 0 R "
    rb"/ID \[<[0-9a-f]{32}> <[0-9a-f]{32}>\] >>\n"
)
_TABLE_LINE = 20
_BEHIND = b"\nendobj\n"


class OtherForm(Exception):
    """The file is not written as this program writes one; the message says where."""


class Name(str):
    """A name, escapes resolved, without its slash."""

    __slots__ = ()


class Word(str):
    """A keyword or an operator."""

    __slots__ = ()


@dataclass(frozen=True)
class Number:
    """A number as it is spelt."""

    text: str

    @property
    def value(self) -> float:
        """What it is."""
        return float(self.text)

    @property
    def step(self) -> float:
        """One unit of its last decimal."""
        return float(10.0 ** -len(self.text.partition(".")[2]))


@dataclass(frozen=True)
class Reference:
    """Another object by its number."""

    number: int


#: How our streams are packed: not at all, by zlib once, or as the JPEG they are.
_PACKINGS: tuple[Any, ...] = ([], [Name("FlateDecode")], Name("FlateDecode"), [Name("DCTDecode")])


@dataclass(frozen=True)
class Stream:
    """A dictionary with bytes behind it, still packed."""

    entries: Mapping[str, Any]
    packed: bytes

    def unpacked(self) -> bytes:
        """What it holds; ours are packed by zlib once, or not at all. A picture stays as its own format packs it.

        Raises
        ------
        OtherForm
            It is packed in another way, broken off, too large, or followed by more.
        """
        packing = self.entries.get("Filter", [])
        if "DecodeParms" in self.entries or packing not in _PACKINGS:
            raise OtherForm("a stream is packed in a way certificates do not use")
        if packing in ([], [Name("DCTDecode")]):
            return self.packed
        unpacker = zlib.decompressobj()
        try:
            data = unpacker.decompress(self.packed, _MOST_UNPACKED)
        except zlib.error as cause:
            raise OtherForm("a stream cannot be unpacked") from cause
        if not unpacker.eof or unpacker.unused_data:
            raise OtherForm("a stream is broken off, too large, or followed by more")
        return data


@dataclass(frozen=True)
class Objects:
    """Every object of a file by its number, and which of them are the catalog and the document information."""

    numbered: Mapping[int, Any]
    root: int
    information: int

    def at(self, item: Any) -> Any:
        """The object itself where ``item`` refers to one; an absent object is ``None``."""
        return self.numbered.get(item.number) if isinstance(item, Reference) else item


def read_objects(data: bytes) -> Objects:
    """The objects of a sealed file.

    Parameters
    ----------
    data : bytes
        The PDF as far as its seal reaches.

    Raises
    ------
    OtherForm
        The file differs in any byte from the same objects written by this program.
    """
    bodies, root, information = bodies_of(data)
    return Objects({number: _object(body) for number, body in enumerate(bodies, 1)}, root, information)


def bodies_of(data: bytes) -> tuple[list[bytes], int, int]:
    """The bytes of every object, and the numbers of the catalog and the document information."""
    end = _END.search(data, max(0, len(data) - 64))
    table = _TABLE.match(data, int(end[1])) if end else None
    if table is None or table.end() != end.start():  # type: ignore[union-attr]
        raise OtherForm("its table or trailer is none this program writes")
    places = [int(line[:10]) for line in _lines(table["places"])]
    bodies = []
    for number, (start, stop) in enumerate(zip(places, [*places[1:], table.start()], strict=True), 1):
        head = b"%d 0 obj\n" % number
        bodies.append(data[start + len(head) : stop - len(_BEHIND)])
    root, information = int(table["root"]), int(table["info"])
    if not bodies or written(bodies, root, information, line=second_line(data)) != _unsealed(data):
        raise OtherForm("its bytes are not those this program writes for its objects")
    return bodies, root, information


def _lines(places: bytes) -> Iterator[bytes]:
    return (places[at : at + _TABLE_LINE] for at in range(0, len(places), _TABLE_LINE))


def _unsealed(data: bytes) -> bytes:
    """The file as it was before its length and digest were filled in."""
    start = data.index(b"\n") + 1
    line = second_line(data)
    return data[:start] + line + data[start + len(line) :]


def _object(body: bytes) -> Any:
    value, end = read_value(body, 0)
    if end == len(body):
        return value
    if not isinstance(value, dict) or not body.startswith(b"\nstream\n", end):
        raise OtherForm("an object is followed by more")
    length, start = value.get("Length"), end + len(b"\nstream\n")
    if not isinstance(length, Number) or not length.text.isdecimal():
        raise OtherForm("a stream does not state its length")
    stop = start + int(length.text)
    if body[stop:] not in (b"\nendstream", b"endstream"):
        raise OtherForm("a stream is not as long as it states")
    return Stream(value, body[start:stop])


# Values of the syntax, one after another.


_SPACE = rb"\x00\t\n\x0c\r "
_TOKEN = re.compile(
    rb"[" + _SPACE + rb"]*(?:(?P<open><<|\[)|(?P<close>>>|\])|(?P<hex><[0-9A-Fa-f" + _SPACE + rb"]*>)"
    rb"|/(?P<name>[^" + _SPACE + rb"()<>\[\]{}/%]*)"
    rb"|(?P<number>[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))(?![^" + _SPACE + rb"()<>\[\]{}/%])"
    rb"|(?P<word>[A-Za-z'\"][A-Za-z0-9*'\"]*)|(?P<text>\())"
)
_BLANK = re.compile(rb"[" + _SPACE + rb"]*\Z")
_ESCAPE = re.compile(rb"\\([0-7]{1,3}|\r\n|[\s\S])|\r\n?")
_ESCAPED = {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b"\b", b"f": b"\f"}
_IN_TEXT = re.compile(rb"[()\\]")


def read_value(data: bytes, at: int) -> tuple[Any, int]:
    """The value that begins at a place, and where it ends.

    Raises
    ------
    OtherForm
        There is none, or one no reader is sure of: an entry given twice, a comment, containers nested without end.
    """
    open_ones: list[tuple[bytes, list[Any]]] = []
    while True:
        token = _TOKEN.match(data, at)
        if token is None:
            raise OtherForm("an object cannot be read")
        at = token.end()
        match token.lastgroup:
            case "open":
                open_ones.append((token["open"], []))
                if len(open_ones) > _DEEPEST:
                    raise OtherForm("its objects are nested without end")
                continue
            case "close":
                value = _container(open_ones, token["close"])
            case "text":
                value, at = _text(data, at)
            case _:
                value = _single(token)
        if not open_ones:
            return value, at
        _put(open_ones[-1][1], value)


def _single(token: re.Match[bytes]) -> Any:
    match token.lastgroup:
        case "hex":
            digits = re.sub(rb"[" + _SPACE + rb"]", b"", token["hex"][1:-1])
            return bytes.fromhex((digits + b"0" * (len(digits) % 2)).decode())
        case "name":
            plain = re.sub(rb"#([0-9A-Fa-f]{2})", lambda code: bytes([int(code[1], 16)]), token["name"])
            return Name(plain.decode("latin-1"))
        case "number":
            return Number(token["number"].decode())
        case _:
            return Word(token["word"].decode())


def _put(members: list[Any], value: Any) -> None:
    """A value into its container; two numbers and an R are a reference."""
    if value != "R" or not isinstance(value, Word):
        members.append(value)
        return
    if len(members) < 2 or not all(isinstance(one, Number) and one.text.isdecimal() for one in members[-2:]):
        raise OtherForm("a reference cannot be read")
    generation, number = members.pop(), members.pop()
    if generation.text != "0":
        raise OtherForm("a reference is to an object written twice")
    members.append(Reference(int(number.text)))


def _container(open_ones: list[tuple[bytes, list[Any]]], close: bytes) -> Any:
    if not open_ones or open_ones[-1][0] != {b">>": b"<<", b"]": b"["}[close]:
        raise OtherForm("an object is not closed as it was opened")
    members = open_ones.pop()[1]
    if close == b"]":
        return members
    keys = members[::2]
    if len(members) % 2 or not all(isinstance(one, Name) for one in keys) or len(set(keys)) < len(keys):
        raise OtherForm("a dictionary has an entry twice, or none to a name")
    return {str(name): value for name, value in zip(keys, members[1::2], strict=True)}


def _text(data: bytes, start: int) -> tuple[bytes, int]:
    """A string in parentheses, which may stand in it in pairs."""
    depth, at = 1, start
    while depth:
        sign = _IN_TEXT.search(data, at)
        if sign is None:
            raise OtherForm("a text does not end")
        at = sign.end() + (sign[0] == b"\\")
        depth += {b"(": 1, b")": -1, b"\\": 0}[sign[0]]
    return _ESCAPE.sub(_meant, data[start : at - 1]), at


def _meant(escape: re.Match[bytes]) -> bytes:
    sign = escape[1]
    if sign is None:
        return b"\n"
    if sign[:1] in b"01234567":
        return bytes([int(sign, 8) % 256])
    return b"" if sign in (b"\n", b"\r", b"\r\n") else _ESCAPED.get(sign, sign)


@dataclass(frozen=True)
class Step:
    """One drawing step: an operator with what stands before it."""

    operator: str
    operands: tuple[Any, ...]

    def __str__(self) -> str:
        """As it stands in the page."""
        return " ".join([*map(spelt, self.operands), self.operator])


def steps_of(content: bytes) -> list[Step]:
    """The drawing steps of a page, in order.

    Raises
    ------
    OtherForm
        It cannot be read, or holds a picture within the drawing, which ours do not.
    """
    steps, operands, at = [], [], 0
    while not _BLANK.match(content, at):
        value, at = read_value(content, at)
        if not isinstance(value, Word) or value in ("true", "false", "null"):
            operands.append(value)
            continue
        if value == "BI":
            raise OtherForm("a picture stands within the drawing")
        steps.append(Step(str(value), tuple(operands)))
        operands = []
    if operands:
        raise OtherForm("its drawing breaks off")
    return steps


def spelt(value: Any) -> str:
    """A value as people read it in a PDF."""
    match value:
        case Number():
            return value.text
        case Name():
            return f"/{value}"
        case bytes():
            return f"({value.decode('latin-1')})"
        case Reference():
            return f"object {value.number}"
        case Stream():
            return f"{len(value.packed)} bytes"
        case list():
            return f"[{' '.join(map(spelt, value))}]"
        case dict():
            return f"<< {' '.join(f'/{name} {spelt(one)}' for name, one in value.items())} >>"
        case None:
            return "nothing"
        case _:
            return str(value)
