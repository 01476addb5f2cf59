"""Two certificates compared object by object: what was issued, and what the same data draws today.

Bytes alone condemn nothing: another processor or library may round the last digit. Figures may differ by one unit of the
eighth digit, places on the page by one unit of the last decimal written; all else that a page draws or carries must
be the same: drawing steps, fonts, pictures, number and size of pages, names, what the file says about itself, enclosed
files. An action, a note on the page, a form, a layer or a file that the data does not give is named as such.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import zip_longest
from typing import Any

from certgen.archive.enclosures import CONTENTS, RESULTS
from certgen.archive.objects import Number, Objects, OtherForm, Reference, Step, Stream, spelt, steps_of
from certgen.messages.catalogue import Message

#: Digits of a figure that machines agree on, but for one unit of the last.
_DIGITS = 8
#: Noise where a figure is zero.
_NOUGHT = 1e-12

_LONGEST = 80  # characters of a value that are shown
_MOST_STEPS = 3  # drawing steps shown of each page

#: Operators whose operands are places on the page. ISO 32000-1, tables 59 and 108.
_PLACES = frozenset({"m", "l", "c", "v", "y", "re", "Td", "Tm"})

#: How a stream is packed, and how long it is then, is the library's affair; what it holds is compared.
_PACKING = frozenset({"Length", "Filter"})
_OF_CONTENT = frozenset({"Size", "CheckSum"})

#: What the program's version changes in the metadata besides its name: the digest of what the page was made from.
_SOURCE = re.compile(rb"<dc:source>[0-9a-f]{64}</dc:source>")


def same_figure(then: float, now: float) -> bool:
    """Whether two figures are the same but for one unit of the eighth digit."""
    apart = abs(then - now)
    if apart <= _NOUGHT or not math.isfinite(apart):
        return then == now or apart <= _NOUGHT
    unit = 10.0 ** (math.floor(math.log10(max(abs(then), abs(now)))) - _DIGITS + 1)
    return apart <= 1.001 * unit


@dataclass(frozen=True)
class Versions:
    """Program and version that issued a certificate, and those that drew it again."""

    then: str
    now: str

    @property
    def same(self) -> bool:
        """Whether it is drawn by the version that issued it, so that all must be the same."""
        return self.then == self.now


def differences(then: Objects, now: Objects, versions: Versions) -> list[Message]:
    """What a certificate draws or carries otherwise than the one its own data gives; empty where it is the same.

    Parameters
    ----------
    then, now : Objects
        The certificate as issued, and as drawn again.
    versions : Versions
        Who made either. The names of two versions are no difference, nor are results, which are compared by figures.
    """
    return list(_Comparison(then, now, versions).all())


@dataclass
class _Comparison:
    """Two files walked side by side from their catalogs; every object is met once."""

    then: Objects
    now: Objects
    versions: Versions
    partner: dict[int, int] = field(default_factory=dict)  # number in the one file -> in the other
    waiting: list[tuple[str, Any, Any]] = field(default_factory=list)

    def all(self) -> Iterator[Message]:
        """Every difference, those of pages first."""
        self.waiting = [
            ("document information", Reference(self.then.information), Reference(self.now.information)),
            ("catalog", Reference(self.then.root), Reference(self.now.root)),
        ]
        while self.waiting:
            yield from self._pair(*self.waiting.pop())

    def _pair(self, place: str, then: Any, now: Any) -> Iterator[Message]:
        match then, now:
            case Reference(), Reference():
                yield from self._referred(place, then.number, now.number)
            case Stream(), Stream():
                yield from self._streams(place, then, now)
            case dict(), dict():
                yield from self._entries(place, then, now)
            case list(), list():
                yield from self._members(place, then, now)
            case Number(), Number():
                if not same_figure(then.value, now.value):
                    yield _differs(place, then, now)
            case bytes(), bytes():
                if not self._same_text(then, now):
                    yield _differs(place, then, now)
            case _:
                if type(then) is not type(now) or then != now:
                    yield _differs(place, then, now)

    def _referred(self, place: str, then: int, now: int) -> Iterator[Message]:
        if then not in self.partner:
            self.partner[then] = now
            self.waiting.append((place, self.then.numbered.get(then), self.now.numbered.get(now)))
        elif self.partner[then] != now:
            yield Message("verify.page.shared", place=place)

    def _entries(self, place: str, then: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[Message]:
        if then.get("Type") == "Filespec" and isinstance(then.get("UF"), bytes):
            place = f"enclosed {_readable(then['UF'])}"
        for name in sorted(then.keys() | now.keys(), reverse=True):  # taken from the end: /Contents before /Resources
            if name not in now:
                yield Message("verify.page.extra", place=place, entry=f"/{name} {_short(then[name])}")
            elif name not in then:
                yield Message("verify.page.lacks", place=place, entry=f"/{name} {_short(now[name])}")
            else:
                self.waiting.append((f"{place} /{name}", then[name], now[name]))

    def _members(self, place: str, then: list[Any], now: list[Any]) -> Iterator[Message]:
        if len(then) != len(now):
            yield Message("verify.page.members", place=place, then=len(then), now=len(now))
        pages = place.endswith("/Kids")
        pairs = list(zip(then, now, strict=False))
        for number, (one, other) in reversed(list(enumerate(pairs, 1))):
            self.waiting.append((f"page {number}" if pages else f"{place} {number}", one, other))

    def _streams(self, place: str, then: Stream, now: Stream) -> Iterator[Message]:
        entries = [
            {name: one for name, one in stream.entries.items() if name not in _PACKING} for stream in (then, now)
        ]
        try:
            data, drawn = then.unpacked(), now.unpacked()
            if then.entries.get("Type") == "EmbeddedFile":
                if data != drawn:
                    name = place.removeprefix("enclosed ").partition(" /EF")[0]
                    if not self._same_file(name, data, drawn):
                        yield Message("verify.page.file", place=f"enclosed {name}")
                    entries = [_without_size(one) for one in entries]
            elif place.endswith("/Contents"):
                yield from _drawing(place.removesuffix(" /Contents"), steps_of(data), steps_of(drawn))
            elif not self._same_text(data, drawn):
                yield Message("verify.page.stream", place=place)
        except OtherForm as cause:
            yield Message("verify.page.unreadable_object", place=place, why=str(cause))
            return
        yield from self._entries(place, *entries)

    def _unversioned(self, text: bytes, version: str) -> bytes:
        """A text of a file without the name of the version that made it, where two versions are compared."""
        return text if self.versions.same else _SOURCE.sub(b"", text.replace(version.encode(), b"\0version"))

    def _same_text(self, then: bytes, now: bytes) -> bool:
        return self._unversioned(then, self.versions.then) == self._unversioned(now, self.versions.now)

    def _same_file(self, name: str, then: bytes, now: bytes) -> bool:
        """Whether a file that the program itself encloses says the same; the user's own differ in nothing."""
        if name not in (CONTENTS, RESULTS):
            return False
        try:
            trees = [json.loads(data) for data in (then, now)]
            if name == RESULTS:
                return not self.versions.same or _same_tree(*trees)
            return self._summary(trees[0]) == self._summary(trees[1])
        except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
            return False

    def _summary(self, contents: dict[str, Any]) -> dict[str, Any]:
        """The list of what is enclosed, without what figures in their last digit, libraries and versions change."""
        varying = {"libraries"} if self.versions.same else {"libraries", "program", "version", "format"}
        files = {name: digest for name, digest in contents["files"].items() if name != RESULTS}
        return {name: one for name, one in contents.items() if name not in varying} | {"files": files}


def _same_tree(then: Any, now: Any) -> bool:
    """Whether two trees of JSON are the same but for the last digit of figures."""
    match then, now:
        case dict(), dict():
            return then.keys() == now.keys() and all(_same_tree(then[name], now[name]) for name in then)
        case list(), list():
            return len(then) == len(now) and all(map(_same_tree, then, now))
        case float(), float() | int():
            return same_figure(then, now)
        case int(), float():
            return same_figure(then, now)
        case _:
            return type(then) is type(now) and bool(then == now)


def _drawing(place: str, then: list[Step], now: list[Step]) -> Iterator[Message]:
    """Steps that draw something else, the first of them only."""
    plain = _PlainPlaces()
    shown_steps = 0
    for number, (one, other) in enumerate(zip_longest(then, now), 1):
        if one is None or other is None or not _same_step(one, other, exact=not plain.after(other)):
            shown = [_short_step(step) for step in (one, other)]
            yield Message("verify.page.step", place=place, number=number, then=shown[0], now=shown[1])
            shown_steps += 1
        if shown_steps == _MOST_STEPS:
            break
    if len(then) != len(now):
        yield Message("verify.page.steps", place=place, then=len(then), now=len(now))


class _PlainPlaces:
    """Whether a unit of a place is a point of the page: no matrix has enlarged it."""

    def __init__(self) -> None:
        self.plain, self.kept = True, list[bool]()

    def after(self, step: Step) -> bool:
        """The same behind a step."""
        if step.operator == "q":
            self.kept.append(self.plain)
        elif step.operator == "Q" and self.kept:
            self.plain = self.kept.pop()
        elif step.operator == "cm":
            matrix = [one.value if isinstance(one, Number) else math.nan for one in step.operands[:4]]
            self.plain = self.plain and matrix == [1.0, 0.0, 0.0, 1.0]
        return self.plain


def _same_step(then: Step, now: Step, *, exact: bool) -> bool:
    if then.operator != now.operator or len(then.operands) != len(now.operands):
        return False
    rounded = not exact and then.operator in _PLACES
    return all(_same_operand(one, other, rounded) for one, other in zip(then.operands, now.operands, strict=True))


def _same_operand(then: Any, now: Any, rounded: bool) -> bool:
    if not isinstance(then, Number) or not isinstance(now, Number):
        return type(then) is type(now) and bool(then == now)
    if same_figure(then.value, now.value):
        return True
    fine = 0.0 < now.step <= 0.01 and then.step == now.step
    return rounded and fine and abs(then.value - now.value) <= 1.001 * now.step


def _without_size(entries: dict[str, Any]) -> dict[str, Any]:
    params = entries.get("Params")
    if not isinstance(params, dict):
        return entries
    return {**entries, "Params": {name: one for name, one in params.items() if name not in _OF_CONTENT}}


def _differs(place: str, then: Any, now: Any) -> Message:
    return Message("verify.page.differs", place=place, then=_short(then), now=_short(now))


def _short(value: Any) -> str:
    return spelt(value)[:_LONGEST]


def _short_step(step: Step | None) -> Message | str:
    return Message("verify.page.no_step") if step is None else str(step)[:_LONGEST]


def _readable(text: bytes) -> str:
    """A text string of a PDF as text."""
    if text.startswith(b"\xfe\xff"):
        return text[2:].decode("utf-16-be", "replace")
    return text.decode("latin-1")


# What no certificate of any version holds, looked for without drawing it again.


#: Entries of the catalog, of a page, of its resources, and names; a later version may write those in the second rows.
_OURS = {
    "catalog": {"Type", "Pages", "Lang", "ViewerPreferences", "Metadata", "OutputIntents", "Names", "AF"}
    | {"MarkInfo", "StructTreeRoot"},
    "page": {"Type", "Parent", "Contents", "MediaBox", "Resources", "Rotate", "Trans"} | {"StructParents", "Tabs"},
    "resources": {"Font", "ProcSet", "XObject"},
    "names": {"EmbeddedFiles"},
    "viewer preferences": {"DisplayDocTitle"},
    "information": {"Title", "Author", "Subject", "Keywords", "Creator", "Producer", "CreationDate", "ModDate"},
}
#: Where an entry of one of these leads to another.
_BELOW = {
    ("catalog", "Names"): "names",
    ("catalog", "ViewerPreferences"): "viewer preferences",
    ("catalog", "Pages"): "pages",
    ("pages", "Kids"): "pages",
    ("pages", "Resources"): "resources",
    ("page", "Resources"): "resources",
}
#: Entries that make a layer of whatever has them, or an action, wherever they stand.
_NOWHERE = {"OC", "AA", "JS", "OpenAction", "URI"}


def foreign(objects: Objects, listed: frozenset[str]) -> list[Message]:
    """What stands in a file that no certificate holds: actions, notes, forms, layers, files it does not list.

    Parameters
    ----------
    objects : Objects
        The file.
    listed : frozenset of str
        Names of the files its own list has, the list among them.
    """
    return list(_foreign(objects, listed))


def _foreign(objects: Objects, listed: frozenset[str]) -> Iterator[Message]:
    met = set[tuple[str, int]]()
    waiting: list[tuple[str, Any]] = [
        ("information", Reference(objects.information)),
        ("catalog", Reference(objects.root)),
    ]
    while waiting:
        place, item = waiting.pop()
        if isinstance(item, Reference):
            if (place, item.number) in met:
                continue
            met.add((place, item.number))
            item = objects.numbered.get(item.number)
        entries = item.entries if isinstance(item, Stream) else item
        if isinstance(entries, list):
            waiting += [(place, one) for one in entries]
        if not isinstance(entries, dict):
            continue
        place = "page" if place == "pages" and "Kids" not in entries else place
        allowed = _OURS.get(place)
        for name, one in entries.items():
            if name in _NOWHERE or (allowed is not None and name not in allowed):
                yield Message("verify.container.foreign", entry=f"/{name} {_short(objects.at(one))}")
            waiting.append((_BELOW.get((place, name), ""), one))
        yield from _unlisted(objects, entries, listed)
    unused = len(objects.numbered) - len({number for _, number in met})
    if unused > 0:
        yield Message("verify.container.unused", count=unused)


def _unlisted(objects: Objects, entries: Mapping[str, Any], listed: frozenset[str]) -> Iterator[Message]:
    """A file that the list of what is enclosed does not have, whatever refers to it."""
    if "EF" not in entries:
        return
    name = objects.at(entries.get("UF"))
    readable = _readable(name) if isinstance(name, bytes) else ""
    if readable not in listed:
        yield Message("verify.container.unlisted", file=readable[:_LONGEST])
