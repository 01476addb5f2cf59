"""Is a certificate whole, is its data as it was, and does the data still give its numbers? Separate facts.

A digest without a signature proves that a file was not changed by accident or by a hand that did not know of it:
whoever changes the page can seal it again. Only a signature, or a register kept elsewhere, shows that a page is the shop's
own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from certgen.archive.drawn_again import foreign
from certgen.archive.enclosures import CONTENTS, RESULTS, Contents, read_contents
from certgen.archive.facts import (
    CONTAINER,
    GOOD,
    NOT_CHECKED,
    NOT_GOOD,
    PAGE,
    REPLACED,
    Fact,
    Register,
    RegisterEntry,
    Verification,
    whole_or_fact,
)
from certgen.archive.objects import OtherForm, read_objects
from certgen.archive.reading import Enclosed, TookTooLong, Unreadable, besides_signatures, read_enclosed, within
from certgen.archive.reissue_check import FIGURES, MOST_LISTED, Make, made_again, tree_of
from certgen.archive.seal import Seal, marked, read_seal
from certgen.document.source import digest
from certgen.errors import CertgenError
from certgen.messages.catalogue import Message

#: Judges the signatures of a file.
Signatures = Callable[[bytes], Fact]

_MOST_SECONDS = 20.0


class NotACertificate(CertgenError):
    """The file is not a certificate of this program, exit 2."""


def verify(
    data: bytes, make: Make, signatures: Signatures, *, register: Register | None = None, beside: bool = False
) -> Verification:
    """Look at one certificate from every side.

    Parameters
    ----------
    data : bytes
        The PDF.
    make : callable
        Makes a certificate again from a job file.
    signatures : callable
        Judges the signatures of the file.
    register : Register, optional
        The register of issued certificates, where one is at hand.
    beside : bool
        Whether it only happened to lie beside the file: it came with the page, so it vouches for nothing, and a page it
        does not know is none of its own.

    Raises
    ------
    NotACertificate
        Nothing in the file says that this program made it.
    """
    seal = read_seal(data)
    try:
        files, trouble = read_enclosed(data), ""
    except Unreadable as cause:
        files, trouble = (), str(cause)
    by_name = {one.name: one.data for one in files}
    contents = read_contents(by_name.get(CONTENTS, b""))
    if not marked(data) and contents is None:
        raise NotACertificate(f"not a certificate of this program{': ' * bool(trouble)}{trouble}.")
    facts = [_container(data, seal, contents), _enclosed(files, contents, trouble)]
    issued = data if seal is None else data[: seal.length]
    entry = None if register is None or contents is None else register.look_up(contents.number, digest(issued))
    registered = _registered(issued, contents, register, entry)
    if beside:
        unknown = entry is None
        registered = (
            Fact("register", NOT_CHECKED, Message("verify.register.none"))
            if unknown
            else replace(registered, vouches=False, details=(*registered.details, Message("verify.register.beside")))
        )
    facts.append(registered)
    again = made_again(issued, by_name, contents, make)
    facts += [*again.facts, signatures(data)]
    if contents is None:
        return Verification("", "", tuple(facts))
    vouched = tuple(_as_vouched(facts, again.earlier))
    replaced_by = entry.replaced_by if entry is not None else ""
    return Verification(contents.number, contents.verdict, vouched, again.earlier, replaced_by)


def _as_vouched(facts: list[Fact], earlier: str) -> Iterator[Fact]:
    """The facts of a page that could not be drawn again: what vouches for it, or would, decides.

    Rules change between versions. Load points that come out otherwise are news where register or signature vouches for
    the page, and a contradiction where only the page itself says which version issued it.
    """
    vouched = any(fact.vouches for fact in facts)
    for fact in facts:
        if earlier and fact.name == FIGURES and fact.state == NOT_GOOD and vouched:
            yield replace(fact, state=NOT_CHECKED)
        elif fact.name == PAGE and fact.state == NOT_CHECKED and not vouched:
            yield replace(fact, details=(*fact.details, Message("verify.page.nothing_vouches")))
        else:
            yield fact


def enclosed_files(data: bytes) -> dict[str, bytes]:
    """The enclosed files of a certificate by name.

    Raises
    ------
    NotACertificate
        The file cannot be read, or is none of ours.
    """
    try:
        files = {one.name: one.data for one in read_enclosed(data)}
    except Unreadable as cause:
        raise NotACertificate(f"nothing can be taken out of this file: {cause}.") from cause
    if not marked(data) and read_contents(files.get(CONTENTS, b"")) is None:
        raise NotACertificate("not a certificate of this program.")
    return files


def _container(data: bytes, seal: Seal | None, contents: Contents | None) -> Fact:
    name, whole = CONTAINER, whole_or_fact(data, seal)
    if isinstance(whole, Fact):
        return whole
    not_ours = _not_ours(data[: whole.length], contents)
    if not_ours:
        return Fact(name, NOT_GOOD, Message("verify.container.not_ours"), tuple(not_ours[:MOST_LISTED]))
    appended = len(data) - whole.length
    if not appended:
        return Fact(name, GOOD, Message("verify.container.whole", length=whole.length, digest=whole.stated))
    if not data[whole.length :].strip(b"\r\n"):
        return Fact(name, NOT_GOOD, Message("verify.container.line_end"))
    besides = besides_signatures(data[: whole.length], data)
    if besides:
        return Fact(name, NOT_GOOD, Message("verify.container.appended", count=appended), tuple(besides))
    return Fact(name, GOOD, Message("verify.container.signed", length=whole.length, digest=whole.stated))


def _not_ours(sealed: bytes, contents: Contents | None) -> list[Message]:
    """What no certificate of this program holds, though the seal was made to fit."""
    listed = frozenset() if contents is None else frozenset({*contents.files, CONTENTS})
    try:
        with within(_MOST_SECONDS):
            return foreign(read_objects(sealed), listed)
    except OtherForm as cause:
        return [Message("verify.container.other_form", why=str(cause))]
    except TookTooLong:
        return [Message("verify.update.too_long")]


def _enclosed(files: tuple[Enclosed, ...], contents: Contents | None, trouble: str) -> Fact:
    name = "enclosed data"
    if trouble:
        return Fact(name, NOT_GOOD, Message("verify.enclosed.unreadable", cause=trouble))
    if contents is None:
        return Fact(name, NOT_GOOD, Message("verify.enclosed.no_list", file=CONTENTS))
    wrong = [*_against_list(files, contents), *_untraced(files, contents)]
    if wrong:
        return Fact(name, NOT_GOOD, Message("verify.enclosed.changed"), tuple(wrong[:MOST_LISTED]))
    return Fact(name, GOOD, Message("verify.enclosed.unchanged", count=len(contents.files)))


def _against_list(files: tuple[Enclosed, ...], contents: Contents) -> list[Message]:
    """Files held against the list."""
    listed = dict(contents.files)
    wrong = []
    for file in files:
        if not file.true_to_itself:
            wrong.append(Message("verify.enclosed.not_as_stated", file=file.name))
        if file.name != CONTENTS and listed.pop(file.name, None) != digest(file.data):
            wrong.append(Message("verify.enclosed.other_digest", file=file.name))
    return [*wrong, *(Message("verify.enclosed.absent", file=name) for name in listed)]


def _untraced(files: tuple[Enclosed, ...], contents: Contents) -> list[Message]:
    """Files the results say they were made from, which are not there; and results of another number."""
    by_name = {one.name: one.data for one in files}
    results = tree_of(by_name.get(RESULTS, b""))
    trace = results.get("traceability") if isinstance(results, dict) else None
    inputs = trace.get("inputs") if isinstance(trace, dict) else None
    if not isinstance(trace, dict) or not isinstance(inputs, dict):
        return [Message("verify.enclosed.no_results", file=RESULTS)]
    there = {digest(data) for data in by_name.values()}
    absent = [str(name) for name, of in inputs.items() if of not in there]
    wrong = [Message("verify.enclosed.other_input", file=name) for name in absent]
    if (trace.get("program"), trace.get("version")) != (contents.program, contents.version):
        wrong.append(Message("verify.enclosed.other_program", file=RESULTS, contents=CONTENTS))
    certificate = results.get("certificate")
    if not isinstance(certificate, dict) or certificate.get("number") != contents.number:
        wrong.append(Message("verify.enclosed.other_certificate", file=RESULTS, contents=CONTENTS))
    return wrong


def _registered(
    issued: bytes, contents: Contents | None, register: Register | None, entry: RegisterEntry | None
) -> Fact:
    name = "register"
    if register is None:
        return Fact(name, NOT_CHECKED, Message("verify.register.none"))
    if contents is None:
        return Fact(name, NOT_CHECKED, Message("verify.register.no_number"))
    if entry is None:
        return Fact(name, NOT_GOOD, Message("verify.register.absent", number=contents.number))
    if entry.digest != digest(issued):
        return Fact(name, NOT_GOOD, Message("verify.register.other_file", number=contents.number))
    if entry.state is not None:
        return Fact(name, REPLACED, entry.state, vouches=True)
    return Fact(name, GOOD, Message("verify.register.issued", number=contents.number), vouches=True)
