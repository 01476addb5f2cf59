"""YAML nodes into frozen dataclasses, by the vocabulary their fields carry; every mistake is kept."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from functools import singledispatchmethod
from pathlib import Path
from typing import Any, TypeVar

import yaml

from certgen.document import vocabulary as v
from certgen.document.plate import PlateValue, one_value, values_written
from certgen.document.source import Place, Problems, place_of
from certgen.document.wording import nearest, says, short
from certgen.units import DIMENSIONS, UnitError, read_one_of, read_quantity, unit_written

Built = TypeVar("Built")
Pairs = dict[str, tuple[yaml.Node, yaml.Node]]


@dataclass(frozen=True)
class Toleranced:
    """A value in SI with a limit of error either side (rectangular), or an expanded uncertainty (k = 2)."""

    value: float
    tolerance: float | None = None
    expanded_uncertainty: float | None = None


@dataclass(frozen=True)
class Dimensioned:
    """A value in SI together with the dimension it was written in; ``unit`` is the one written, for showing alone."""

    value: float
    dimension: str
    unit: str = field(default="", compare=False)


@dataclass(frozen=True)
class FileReference:
    """A file named in another file: as written, and where."""

    name: str
    place: Place


@dataclass
class Reader:
    """Reads the nodes of one file; knows where each key stands and which keys are not evaluated.

    ``not_needed`` are keys that may be absent this time although their model needs them.
    """

    shown: str
    folder: Path
    problems: Problems
    places: dict[str, Place] = field(default_factory=dict)
    not_evaluated: list[str] = field(default_factory=list)
    not_needed: frozenset[str] = frozenset()

    def wrong(self, node: yaml.Node, path: str, what: str, instead: str) -> None:
        """Keep a mistake at a node; the path of its key stands before the words."""
        self.problems.add(self.shown, place_of(node), f"{path}: {what}" if path else what, instead)

    def place_above(self, path: str) -> Place:
        """Where a key stands, or the nearest key above it that was written."""
        while path and path not in self.places:
            path = path.rpartition(".")[0]
        return self.places.get(path, (1, 1))

    def wrong_at(self, path: str, what: str, instead: str) -> None:
        """Keep a mistake at a key, or at the nearest key above it that was written."""
        self.problems.add(self.shown, self.place_above(path), f"{path}: {what}", instead)

    def group(self, of: type[Built], node: yaml.Node, path: str = "") -> Built | None:
        """A mapping as a dataclass; missing and unknown keys are mistakes."""
        pairs = self.pairs(node, path, f"write {says(v.Group(of))}, indented below, one a line")
        if pairs is None:
            return None
        known = v.keys_of(of)
        values: dict[str, Any] = {}
        for name, (key_node, value_node) in pairs.items():
            inner = join(path, name)
            if name not in known:
                self.unknown(key_node, inner, name, known)
            elif not is_blank(value_node):
                self.places[inner] = place_of(value_node)
                if not known[name].metadata["evaluated"]:
                    self.not_evaluated.append(inner)
                values[name] = self.value(known[name].metadata["kind"], value_node, inner)
        for name, declared in known.items():
            if declared.metadata["required"] and join(path, name) not in self.not_needed:
                self.require(name, pairs, node, path, says(declared.metadata["kind"], name))
        return of(**values)

    def require(self, name: str, pairs: Pairs, node: yaml.Node, path: str, what_it_is: str) -> bool:
        """Whether a key stands in the pairs of a mapping and is filled in; if not, that is a mistake."""
        if name not in pairs:
            self.wrong(node, join(path, name), "this key is missing", f"write {what_it_is}")
        elif is_blank(pairs[name][1]):
            self.wrong(pairs[name][0], join(path, name), "this key is left empty", f"write {what_it_is}")
        else:
            return True
        return False

    def unknown(self, key_node: yaml.Node, path: str, name: str, known: Iterable[str]) -> None:
        """Keep an unknown key as a mistake, with the nearest known one."""
        if name == "<<":
            self.wrong(key_node, path, "keys are not merged here", "write them out")
        elif name[:1].isdigit():
            what = "a number stands where a key belongs"
            self.wrong(key_node, path, what, "write decimals with a point, not a comma, for example 0.5 m")
        else:
            self.wrong(key_node, path, "unknown key", nearest(name, known))

    def pairs(self, node: yaml.Node, path: str, instead: str = "write them indented below, one a line") -> Pairs | None:
        """Keys of a mapping with their nodes; a key written twice is a mistake."""
        if not isinstance(node, yaml.MappingNode):
            self.wrong(node, path, "this needs keys of its own", instead)
            return None
        found: Pairs = {}
        for key_node, value_node in node.value:
            if not isinstance(key_node, yaml.ScalarNode):
                self.wrong(key_node, path, "a key must be a word", "write a plain key")
                continue
            name = str(key_node.value)
            if name in found:
                first = place_of(found[name][0])[0]
                advice = f"keep one (the first is in line {first})"
                self.wrong(key_node, join(path, name), "this key stands twice", advice)
                continue
            found[name] = (key_node, value_node)
        return found

    def scalar(self, node: yaml.Node, path: str, instead: str) -> str | None:
        """The text of a scalar, or ``None`` with the mistake kept."""
        if isinstance(node, yaml.ScalarNode):
            return str(node.value)
        self.wrong(node, path, "one value is needed here", instead)
        return None

    @singledispatchmethod
    def value(self, kind: Any, node: yaml.Node, path: str) -> Any:
        """A node read as its kind; ``None`` with the mistake kept where it is not of that kind."""
        raise TypeError(f"no reading for kind {kind!r}")

    @value.register
    def _(self, kind: v.Text, node: yaml.Node, path: str) -> str | None:
        text = self.scalar(node, path, f"write {says(kind)}")
        if text is None:
            return None
        text = unicodedata.normalize("NFC", text).strip()
        if len(text) > kind.longest:
            self.wrong(node, path, f"the text has {len(text)} characters", f"shorten it to {kind.longest}")
            return None
        strange = next((sign for sign in text if _is_control(sign)), None)
        if strange is not None:
            self.wrong(node, path, f"the text holds the control character U+{ord(strange):04X}", "remove it")
            return None
        return text

    @value.register
    def _(self, kind: v.Choice, node: yaml.Node, path: str) -> str | None:
        text = self.scalar(node, path, f"write {says(kind)}")
        text = dict(kind.former).get(text, text) if text is not None else None
        if text is None or text in kind.options:
            return text
        self.wrong(node, path, f"'{text[:40]}' is not one of the words known here", f"write {says(kind)}")
        return None

    @value.register
    def _(self, kind: v.Whole, node: yaml.Node, path: str) -> int | None:
        text = self.scalar(node, path, f"write {says(kind)}")
        if text is None:
            return None
        number = int(text) if text.isascii() and text.isdigit() and len(text) < 10 else None
        if number is None or not kind.low <= number <= kind.high or (number - kind.low) % kind.step:
            self.wrong(node, path, f"'{text[:40]}' is not possible here", f"write {says(kind)}")
            return None
        return number

    @value.register
    def _(self, kind: v.Measure, node: yaml.Node, path: str) -> float | None:
        return self._measure(kind, node, path)

    def _measure(self, kind: v.Measure, node: yaml.Node, path: str) -> float | None:
        text = self.scalar(node, path, f"write {says(kind)}")
        if text is None:
            return None
        try:
            number = read_quantity(text, kind.dimension, difference=kind.difference)
        except UnitError as cause:
            self.wrong(node, path, str(cause), f"write {says(kind)}")
            return None
        if not within(kind, number):
            self.wrong(node, path, f"'{text[:40]}' is not possible here", f"write {says(kind)}")
            return None
        return number

    @value.register
    def _(self, kind: v.PlateMeasure, node: yaml.Node, path: str) -> float | PlateValue | None:
        if isinstance(node, yaml.MappingNode):
            return self._partly_legible(kind, node, path)
        if not isinstance(node, yaml.ScalarNode):
            return self._measure(kind, node, path)
        values = self._punched(kind, node, path)
        if values is None:
            return None
        return values[0] if len(values) == 1 else _plate_value(kind, node, values)

    def _punched(self, kind: v.PlateMeasure, node: yaml.ScalarNode, path: str) -> tuple[float, ...] | None:
        """Every value of one place of a plate in SI, or ``None`` with the mistake kept."""
        texts = values_written(str(node.value)) or (one_value(str(node.value)),)
        read = []
        for text in texts:
            alone = yaml.ScalarNode(node.tag, text, node.start_mark, node.end_mark, node.style)
            value = self._measure(kind, alone, path)
            if value is None:
                return None
            read.append(value)
        return tuple(read)

    def _partly_legible(self, kind: v.PlateMeasure, node: yaml.MappingNode, path: str) -> float | PlateValue | None:
        """A value with how well it can be read; one that can be read well is a plain value."""
        pairs = self.pairs(node, path)
        if pairs is None:
            return None
        legible = None
        for name, (key_node, value_node) in pairs.items():
            inner = join(path, name)
            if name not in ("value", "legible"):
                self.unknown(key_node, inner, name, ("value", "legible"))
            elif name == "legible" and not is_blank(value_node):
                legible = self.value(v.Choice(v.LEGIBLE), value_node, inner)
        if not self.require("value", pairs, node, path, says(kind)):
            return None
        value_node = pairs["value"][1]
        if not isinstance(value_node, yaml.ScalarNode):
            return self._measure(kind, value_node, join(path, "value"))
        values = self._punched(kind, value_node, join(path, "value"))
        if values is None:
            return None
        if legible != v.PARTLY and len(values) == 1:
            return values[0]
        return _plate_value(kind, value_node, values, partly_legible=legible == v.PARTLY)

    @value.register
    def _(self, kind: v.MeasureOf, node: yaml.Node, path: str) -> Dimensioned | None:
        text = self.scalar(node, path, f"write {says(kind)}")
        if text is None:
            return None
        try:
            return Dimensioned(*read_one_of(text, kind.dimensions), unit_written(text))
        except UnitError as cause:
            self.wrong(node, path, str(cause), f"write {says(kind)}")
            return None

    @value.register
    def _(self, kind: v.Toleranced, node: yaml.Node, path: str) -> Toleranced | None:
        if isinstance(node, yaml.ScalarNode):
            alone = self.value(kind.measure, node, path)
            return None if alone is None else Toleranced(alone)
        pairs = self.pairs(node, path)
        if pairs is None:
            return None
        spread = v.Measure(kind.measure.dimension, above=0.0, bounds="more than zero", difference=True)
        kinds = {"value": kind.measure, "tolerance": spread, "expanded_uncertainty": spread}
        got: dict[str, float | None] = {}
        for name, (key_node, value_node) in pairs.items():
            inner = join(path, name)
            if name not in kinds:
                self.unknown(key_node, inner, name, kinds)
            elif not is_blank(value_node):
                self.places[inner] = place_of(value_node)
                got[name] = self.value(kinds[name], value_node, inner)
        self.require("value", pairs, node, path, says(kind.measure))
        if len(got.keys() - {"value"}) > 1:
            self.wrong(node, path, "tolerance and expanded_uncertainty stand together", "keep one of them")
        value = got.pop("value", None)
        if value is None:
            return None
        if kind.measure.low != 0.0:
            for name, spread_ in got.items():
                if spread_ is not None and spread_ >= abs(value):
                    what = "this is not smaller than the value itself"
                    self.wrong(pairs[name][1], join(path, name), what, "write how far the value may be off")
        return Toleranced(value, got.get("tolerance"), got.get("expanded_uncertainty"))

    @value.register
    def _(self, kind: v.Day, node: yaml.Node, path: str) -> date | None:
        text = self.scalar(node, path, f"write {says(kind)}")
        if text is None:
            return None
        try:
            if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text) is None:
                raise ValueError(text)  # other ISO 8601 forms are read by fewer people than they serve
            day = date.fromisoformat(text)
        except ValueError:
            self.wrong(node, path, f"'{text[:40]}' is not a date", f"write {says(kind)}")
            return None
        if not kind.first_year <= day.year <= kind.last_year:
            what = f"{text} is no day of a motor test: the year is not from {kind.first_year} to {kind.last_year}"
            self.wrong(node, path, what, f"write {says(kind)}")
            return None
        return day

    @value.register
    def _(self, kind: v.Group, node: yaml.Node, path: str) -> Any:
        return self.group(kind.of, node, path)

    @value.register
    def _(self, kind: v.Each, node: yaml.Node, path: str) -> tuple[Any, ...] | None:
        if not isinstance(node, yaml.SequenceNode):
            self.wrong(node, path, "a list is needed here", f"write [{says(kind.kind)}, ..]")
            return None
        if len(node.value) > kind.most:
            self.wrong(node, path, f"the list has {len(node.value)} entries", f"keep it to {kind.most}")
            return None
        items = [(f"{path}[{number}]", item) for number, item in enumerate(node.value, start=1)]
        self.places.update({inner: place_of(item) for inner, item in items})
        return tuple(self.value(kind.kind, item, inner) for inner, item in items)

    @value.register
    def _(self, kind: v.Reference, node: yaml.Node, path: str) -> FileReference | None:
        text = self.scalar(node, path, f"write {says(kind)}")
        if text is None:
            return None
        if not text.strip() or not text.isprintable() or len(text) > 500:
            self.wrong(node, path, f"'{text[:40]}' is not the name of a file", f"write {says(kind)}")
            return None
        return FileReference(text, place_of(node))

    @value.register
    def _(self, kind: v.Custom, node: yaml.Node, path: str) -> Any:
        return kind.read(node, self, path)


def _plate_value(
    kind: v.Measure, node: yaml.ScalarNode, values: tuple[float, ...], *, partly_legible: bool = False
) -> PlateValue:
    return PlateValue(str(node.value).strip(), values, DIMENSIONS[kind.dimension][0], partly_legible)


def within(kind: v.Measure, number: float) -> bool:
    """Whether an SI number keeps the bounds of its kind."""
    return (
        (kind.low is None or number >= kind.low)
        and (kind.high is None or number <= kind.high)
        and (kind.above is None or number > kind.above)
    )


def is_blank(node: yaml.Node) -> bool:
    """Whether a key was left empty, as in a form not filled in."""
    if not isinstance(node, yaml.ScalarNode):
        return False
    plain = not node.style  # '' from one of the YAML parsers, None from the other
    return not node.value.strip() or (plain and node.value in ("~", "null"))


def join(path: str, name: str) -> str:
    """The path of a key within the key at ``path``; a name too long to read is cut."""
    return f"{path}.{short(name)}" if path else short(name)


def _is_control(sign: str) -> bool:
    return unicodedata.category(sign) in ("Cc", "Cf", "Cs", "Co", "Zl", "Zp") and sign not in "\n\t\u00ad\u200d"
