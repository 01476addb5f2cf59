"""Is a certificate whole, is its data as it was, and does the data still give its numbers? Separate facts, each told.

A digest without a signature proves that a file was not changed by accident or by a hand that did not know of it:
whoever changes the page can seal it again. Only a signature, or a register kept elsewhere, tells the shop's page from
another's.
"""

from __future__ import annotations

from collections.abc import Callable

from certgen.archive.enclosures import CONTENTS, RESULTS, Contents, read_contents
from certgen.archive.facts import GOOD, NOT_CHECKED, NOT_GOOD, Fact, Register, Verification
from certgen.archive.reading import Enclosed, Unreadable, besides_signatures, read_enclosed
from certgen.archive.reissue_check import MOST_TOLD, Make, made_again, tree_of
from certgen.archive.seal import Seal, marked, read_seal
from certgen.document.source import digest
from certgen.errors import CertgenError

#: Judges the signatures of a file.
Signatures = Callable[[bytes], Fact]


class NotACertificate(CertgenError):
    """The file is not a certificate of this program, exit 2."""


def verify(data: bytes, make: Make, signatures: Signatures, *, register: Register | None = None) -> Verification:
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
    facts = [_container(data, seal), _enclosed(files, contents, trouble)]
    issued = data if seal is None else data[: seal.length]
    facts.append(_registered(issued, contents, register))
    facts += made_again(issued, by_name, contents, make)
    facts.append(signatures(data))
    if contents is None:
        return Verification("", "", tuple(facts))
    return Verification(contents.number, contents.verdict, tuple(facts))


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


def _container(data: bytes, seal: Seal | None) -> Fact:
    name = "container"
    if seal is None:
        return Fact(name, NOT_GOOD, "not whole: the seal in the second line of the file is damaged or missing")
    if seal.length > len(data):
        absent = seal.length - len(data)
        return Fact(name, NOT_GOOD, f"not whole: the end of the file is missing ({absent} of {seal.length} bytes)")
    if not seal.whole:
        return Fact(name, NOT_GOOD, "not whole: bytes of the file were changed after it was issued")
    appended = len(data) - seal.length
    if not appended:
        return Fact(name, GOOD, f"whole: its {seal.length} bytes have the SHA-256 {seal.stated}")
    besides = besides_signatures(data[: seal.length], data)
    if besides:
        words = f"not whole: {appended} bytes were appended, and they do more than sign"
        return Fact(name, NOT_GOOD, words, tuple(besides))
    words = f"whole: the {seal.length} bytes issued have the SHA-256 {seal.stated}; a signature was appended"
    return Fact(name, GOOD, words)


def _enclosed(files: tuple[Enclosed, ...], contents: Contents | None, trouble: str) -> Fact:
    name = "enclosed data"
    if trouble:
        return Fact(name, NOT_GOOD, f"cannot be read: {trouble}")
    if contents is None:
        return Fact(name, NOT_GOOD, f"the list of what is enclosed ({CONTENTS}) is missing or damaged")
    wrong = [*_against_list(files, contents), *_untraced(files, contents)]
    if wrong:
        return Fact(name, NOT_GOOD, "not as issued", tuple(wrong[:MOST_TOLD]))
    return Fact(name, GOOD, f"unchanged: {len(contents.files)} files have the digests listed for them")


def _against_list(files: tuple[Enclosed, ...], contents: Contents) -> list[str]:
    """Files held against the list."""
    listed = dict(contents.files)
    wrong = []
    for one in files:
        if not one.true_to_itself:
            wrong.append(f"{one.name}: its size or checksum is not the one stated beside it")
        if one.name != CONTENTS and listed.pop(one.name, None) != digest(one.data):
            wrong.append(f"{one.name}: its SHA-256 is not the one listed")
    return [*wrong, *(f"{name}: listed, but not there" for name in listed)]


def _untraced(files: tuple[Enclosed, ...], contents: Contents) -> list[str]:
    """Files the results say they were made from, which are not there; and results of another number."""
    by_name = {one.name: one.data for one in files}
    results = tree_of(by_name.get(RESULTS, b""))
    trace = results.get("traceability") if isinstance(results, dict) else None
    inputs = trace.get("inputs") if isinstance(trace, dict) else None
    if not isinstance(inputs, dict):
        return [f"{RESULTS}: it is missing, or does not say what it was made from"]
    there = {digest(data) for data in by_name.values()}
    wrong = [f"{called}: the results were made from a file of another content" for called, of in inputs.items()
             if of not in there]  # fmt: skip
    certificate = results.get("certificate")
    if not isinstance(certificate, dict) or certificate.get("number") != contents.number:
        wrong.append(f"{RESULTS}: it is of another certificate than {CONTENTS}")
    return wrong


def _registered(issued: bytes, contents: Contents | None, register: Register | None) -> Fact:
    name = "register"
    if register is None:
        return Fact(name, NOT_CHECKED, "no register at hand")
    if contents is None:
        return Fact(name, NOT_CHECKED, "the number of the certificate cannot be read")
    entry = register.look_up(contents.number, digest(issued))
    if entry is None:
        return Fact(name, NOT_GOOD, f"{contents.number} is not in the register")
    if entry.digest != digest(issued):
        return Fact(name, NOT_GOOD, f"another file was issued under {contents.number}")
    if entry.state:
        return Fact(name, NOT_GOOD, entry.state)
    return Fact(name, GOOD, f"{contents.number} was issued as this file")
