"""One line of a logger into the text of each of its columns."""

from __future__ import annotations

import re
from collections.abc import Sequence

from certgen.job.logger import BLANKS, Logger

#: Start and end of text, which scales send around a line.
_FRAME = "\x02\x03"
_MARK = re.compile(r"mark(?:\s+(?P<words>.*))?", re.IGNORECASE)


class Unreadable(ValueError):
    """A line that holds no reading; the message is the kind of flaw, the same for every line that has it."""


def text_of(data: bytes) -> str:
    """A line as text.

    Raises
    ------
    Unreadable
        NUL bytes, bytes that are no UTF-8, or control characters.
    """
    if b"\0" in data:
        raise Unreadable("with NUL bytes")
    try:
        text = data.decode("utf-8").strip(" \r\n" + _FRAME)
    except UnicodeDecodeError:
        raise Unreadable("not text") from None
    if not text.replace("\t", " ").isprintable():
        raise Unreadable("not text")
    return text


def mark_of(text: str) -> str | None:
    """The words of a line 'mark' or 'mark ..', or ``None`` for any other line."""
    found = _MARK.fullmatch(text.strip())
    return None if found is None else (found["words"] or "").strip()


def fields_of(text: str, logger: Logger) -> list[str]:
    """The text of each column of a logger, in their order.

    Raises
    ------
    Unreadable
        Too few or too many values, or a label that is missing or stands twice.
    """
    texts = _labelled(text, logger) if logger.labelled else _in_order(text, logger)
    return [_without(column.after, one) for column, one in zip(logger.columns, texts, strict=True)]


def _in_order(text: str, logger: Logger) -> list[str]:
    pieces = _pieces(text, logger.separator)
    if len(pieces) == len(logger.columns) + 1 and not pieces[-1]:
        pieces.pop()  # a separator behind the last value
    if len(pieces) != len(logger.columns):
        raise Unreadable("with a wrong number of values")
    return pieces


def _labelled(text: str, logger: Logger) -> list[str]:
    sign = re.escape(logger.label_sign)
    found: dict[str, str] = {}
    for piece in _pieces(re.sub(rf"\s*{sign}\s*", logger.label_sign, text), logger.separator):
        label, stands, value = piece.partition(logger.label_sign)
        if label in found:
            raise Unreadable(f"with '{label[:20]}' twice" if label in _labels(logger) else "with a label twice")
        if stands:
            found[label.strip()] = value.strip()
    for label in _labels(logger):
        if label not in found:
            raise Unreadable(f"without '{label}'")
    return [found[label] for label in _labels(logger)]


def _labels(logger: Logger) -> Sequence[str]:
    return [column.label for column in logger.columns if column.label is not None]


def _pieces(text: str, separator: str) -> list[str]:
    if separator == BLANKS:
        return text.split()
    return [piece.strip() for piece in text.split(separator)]


def _without(after: str | None, text: str) -> str:
    """A value without the letters that stand behind it."""
    if after is None or not text:
        return text
    if not text.endswith(after):
        raise Unreadable(f"without '{after}' behind a value")
    return text[: -len(after)].rstrip()
