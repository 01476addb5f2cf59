"""A certificate made again from the files it encloses: the same figures, and the same page?"""

from __future__ import annotations

import json
import tempfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from certgen import __version__
from certgen.archive.drawn_again import Versions, differences, same_figure
from certgen.archive.enclosures import RESULTS, Contents, extract
from certgen.archive.facts import GOOD, NOT_CHECKED, NOT_GOOD, PAGE, Fact
from certgen.archive.objects import OtherForm, read_objects
from certgen.archive.reading import TookTooLong, opened, within
from certgen.errors import CertgenError
from certgen.messages.catalogue import Message
from certgen.sheet.pdf.metadata import libraries

# The results a certificate carries held against those computed again from the files it carries.


#: Texts that are facts; others are wording, which a later version may have bettered.
_FACTS = ("outcome", "unit", "code_letter", "design_letter", "efficiency_class", "power_label", "flags", "number")

#: Says who computed, which is reported apart.
_LEFT_OUT = ("traceability",)


@dataclass(frozen=True)
class Change:
    """One figure that came out otherwise: where it stands in the tree, what is printed, what was computed again."""

    where: str
    then: Any
    now: Any

    @property
    def message(self) -> Message:
        """The figure, both values, and how far they are apart."""
        both = {"figure": self.where, "then": _shown(self.then), "now": _shown(self.now)}
        if _number(self.then) and _number(self.now) and self.then:
            return Message("verify.figures.change_by", **both, part=self.now / self.then - 1.0)
        return Message("verify.figures.change", **both)

    def __str__(self) -> str:
        return str(self.message)


def changes(then: Any, now: Any) -> list[Change]:
    """Figures and outcomes of the earlier tree that the later one gives otherwise.

    What only the later tree has is no change: a later version may compute more.
    """
    return list(_compared("", "", then, now))


def _compared(where: str, name: str, then: Any, now: Any) -> Iterator[Change]:
    match then:
        case {"key": _, "values": _, "text": _}:  # a message: only as a fact is its key compared
            key = now.get("key") if isinstance(now, dict) else now
            if name in _FACTS and then["key"] != key:
                yield Change(where, then["text"], now.get("text") if isinstance(now, dict) else now)
        case dict():
            yield from _mappings(where, then, now)
        case list():
            yield from _lists(where, name, then, now)
        case str():
            if name in _FACTS and then != now:
                yield Change(where, then, now)
        case _:
            if not _same(then, now):
                yield Change(where, then, now)


def _mappings(where: str, then: Mapping[str, Any], now: Any) -> Iterator[Change]:
    if not isinstance(now, dict):
        yield Change(where, Message("verify.figures.some"), now)
        return
    for name, member in then.items():
        if where or name not in _LEFT_OUT:
            yield from _compared(f"{where}.{name}".lstrip("."), name, member, now.get(name))


def _lists(where: str, name: str, then: list[Any], now: Any) -> Iterator[Change]:
    """Members with an id are matched by it, others by place."""
    if not isinstance(now, list):
        yield Change(where, Message("verify.figures.several", count=len(then)), now)
        return
    if all(isinstance(one, dict) and "id" in one for one in (*then, *now)) and then:
        by_id = {one["id"]: one for one in now}
        for one in then:
            yield from _compared(f"{where}[{one['id']}]", name, one, by_id.get(one["id"]))
        return
    if len(then) != len(now) and (name in _FACTS or not all(isinstance(one, str) for one in then)):
        yield Change(where, Message("verify.figures.several", count=len(then)), f"{len(now)}")
        return
    for place, (one, other) in enumerate(zip(then, now, strict=False)):
        yield from _compared(f"{where}[{place}]", name, one, other)


def _same(then: Any, now: Any) -> bool:
    if _number(then) and _number(now):
        return same_figure(then, now)
    return type(then) is type(now) and bool(then == now)


def _number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _shown(value: Any) -> Message | str:
    if value is None:
        return Message("verify.figures.none")
    if isinstance(value, Message):
        return value
    return f"{value:.9g}" if isinstance(value, float) else str(value)[:80]


# A certificate made again from the files it encloses: the same figures, and the same page?


#: Differences listed before the rest is only counted.
MOST_LISTED = 12

FIGURES = "recomputation"
PROGRAM = "certgen"
_LONGEST_VERSION = 20
_MOST_SECONDS = 20.0
_MOST_SECONDS_COMPUTING = 600.0  # a log of the largest size allowed takes a minute


@dataclass(frozen=True)
class MadeAgain:
    """A certificate made again by the program at hand.

    Attributes
    ----------
    results : bytes
        The results as JSON.
    document : bytes
        The sealed PDF; empty where the page cannot be drawn.
    version : str
        Program and version that made it.
    trouble : Message or str, optional
        Why the page cannot be drawn.
    """

    results: bytes
    document: bytes
    version: str
    trouble: Message | str | None = None


#: Makes a certificate from a job file, its number and how its page was asked for; raises CertgenError where it cannot.
Make = Callable[[Path, Contents], MadeAgain]


@dataclass(frozen=True)
class Again:
    """What making a certificate again says of it.

    Attributes
    ----------
    facts : tuple of Fact
        Whether its files give the same figures, and whether they give the same page.
    earlier : str
        The version that issued it, where its page could not be drawn again for comparison; else empty.
    """

    facts: tuple[Fact, ...]
    earlier: str = ""


def made_again(issued: bytes, files: Mapping[str, bytes], contents: Contents | None, make: Make) -> Again:
    """Two facts: whether the enclosed files give the same figures, and whether they give the same page.

    A page of another version follows other rules and prints other words: of its figures the load points are compared,
    which follow from the readings alone, and it is not drawn again unless every figure agrees.

    Parameters
    ----------
    issued : bytes
        The PDF as far as its seal reaches.
    files : mapping
        What it encloses, by name.
    contents : Contents or None
        The list of what it encloses.
    make : callable
        Makes a certificate from a job file.
    """
    then = tree_of(files.get(RESULTS, b""))
    if contents is None or not isinstance(then, dict) or contents.job not in files:
        return Again(tuple(Fact(name, NOT_CHECKED, Message("verify.figures.unreadable")) for name in (FIGURES, PAGE)))
    try:
        with within(_MOST_SECONDS_COMPUTING):
            again = _made(files, contents, make)
    except CertgenError as cause:
        lines = str(cause).splitlines()[:MOST_LISTED]
        return _nothing(contents, Message("verify.figures.no_results"), *lines)
    except TookTooLong:
        return _nothing(contents, Message("verify.figures.too_long"))
    except Exception as cause:  # files made to harm must not stop the looking at others
        return _nothing(contents, Message("verify.figures.fails", failure=type(cause).__name__))
    figures = _figures(then, again, contents)
    other_version = again.version != f"{contents.program} {contents.version}"
    if other_version and figures.state != GOOD:
        return Again((_load_points(then, again, contents), _not_drawn(again.version)), _version_of(contents))
    page = _page(issued, again, contents)
    return Again((figures, page), _version_of(contents) if other_version and page.state == NOT_CHECKED else "")


def _nothing(contents: Contents, words: Message, *details: str) -> Again:
    """No results: a contradiction for the version that issued it, not for another, which reads files by other rules."""
    here = f"{PROGRAM} {__version__}"
    page = Fact(PAGE, NOT_CHECKED, Message("verify.page.no_results"))
    if here == f"{contents.program} {contents.version}":
        return Again((Fact(FIGURES, NOT_GOOD, words, details), page))
    return Again((Fact(FIGURES, NOT_CHECKED, words, details), page), _version_of(contents))


def _version_of(contents: Contents) -> str:
    return contents.version[:_LONGEST_VERSION] or "?"


def _not_drawn(version: str) -> Fact:
    return Fact(PAGE, NOT_CHECKED, Message("verify.page.other_version", version=version))


def _load_points(then: Mapping[str, Any], again: MadeAgain, contents: Contents) -> Fact:
    """The values at every load point, which follow from the readings and no rule of judging."""
    made = {"issuer": f"{contents.program} {contents.version}", "version": again.version}
    now = tree_of(again.results)
    both = [_values(tree.get("points") if isinstance(tree, dict) else None) for tree in (then, now)]
    found = changes({"points": both[0]}, {"points": both[1]})
    if found:
        details = tuple(change.message for change in found[:MOST_LISTED])
        return Fact(FIGURES, NOT_GOOD, Message("verify.figures.other_points", **made), details)
    return Fact(FIGURES, NOT_CHECKED, Message("verify.figures.same_points", count=len(both[0]), **made))


def _values(points: Any) -> list[dict[str, Any]]:
    """Of each load point the values of its quantities by name, without what is said about them."""
    listed = points if isinstance(points, list) else []
    quantities = [one.items() if isinstance(one, dict) else () for one in listed]
    return [
        {name: one["value"] for name, one in items if isinstance(one, dict) and _number(one.get("value"))}
        for items in quantities
    ]


def tree_of(data: bytes) -> Any:
    """JSON as plain data; ``None`` where it is none."""
    try:
        return json.loads(data)
    except (ValueError, RecursionError):
        return None


def _made(files: Mapping[str, bytes], contents: Contents, make: Make) -> MadeAgain:
    with tempfile.TemporaryDirectory(prefix="certgen-") as folder:
        tree = Path(folder) / "tree"
        try:
            extract(files, tree)
            return make(tree / contents.job, contents)
        except CertgenError as cause:
            raise CertgenError(str(cause).replace(f"{tree}/", "")) from cause


def _figures(then: Any, again: MadeAgain, contents: Contents) -> Fact:
    try:
        found = changes(then, tree_of(again.results))
    except RecursionError:
        return Fact(FIGURES, NOT_GOOD, Message("verify.figures.endless"))
    made = {"issuer": f"{contents.program} {contents.version}", "version": again.version}
    if not found:
        return Fact(FIGURES, GOOD, Message("verify.figures.same", **made))
    details = [change.message for change in found[:MOST_LISTED]]
    if len(found) > MOST_LISTED:
        details.append(Message("verify.figures.more", count=len(found) - MOST_LISTED))
    return Fact(FIGURES, NOT_GOOD, Message("verify.figures.other", **made), tuple(details))


def _page(issued: bytes, again: MadeAgain, contents: Contents) -> Fact:
    """The certificate drawn again, held against the one issued object by object."""
    versions = Versions(f"{contents.program} {contents.version}", again.version)
    if not again.document:
        return Fact(PAGE, NOT_CHECKED, Message("verify.page.not_drawn", cause=again.trouble or ""))
    if again.document == issued:
        return Fact(PAGE, GOOD, Message("verify.page.same"))
    try:
        with within(_MOST_SECONDS):
            differing = differences(read_objects(issued), read_objects(again.document), versions)
    except OtherForm as cause:
        return Fact(PAGE, NOT_CHECKED, Message("verify.page.not_compared", why=str(cause)))
    except TookTooLong:
        return Fact(PAGE, NOT_GOOD, Message("verify.page.too_long"))
    if not differing:
        return Fact(PAGE, GOOD, Message("verify.page.same_objects", version=again.version))
    if not versions.same:
        return _not_drawn(again.version)
    details = [*_words_apart(issued, again.document), *differing]
    if contents.libraries and contents.libraries != libraries():
        details.insert(0, _libraries_apart(contents.libraries))
    return Fact(PAGE, NOT_GOOD, Message("verify.page.other"), tuple(details[:MOST_LISTED]))


def _libraries_apart(then: Mapping[str, str]) -> Message:
    then_and_now = [
        ", ".join(f"{name} {version}" for name, version in one.items())[:200] for one in (then, libraries())
    ]
    return Message("verify.page.libraries", then=then_and_now[0], now=then_and_now[1])


def _words_apart(issued: bytes, again: bytes) -> list[Message]:
    """Words that one page prints and the other does not, in order of either."""
    try:
        with within(_MOST_SECONDS):
            first, second = (opened(data).pages[0].extract_text().split() for data in (issued, again))
    except TookTooLong:
        return [Message("verify.page.too_long")]
    except Exception as cause:  # pypdf raises whatever a broken file makes Python raise
        return [Message("verify.page.unreadable", failure=type(cause).__name__)]
    only = [Message("verify.page.only_page", word=word[:60]) for word in first if word not in set(second)]
    return only + [Message("verify.page.absent", word=word[:60]) for word in second if word not in set(first)]
