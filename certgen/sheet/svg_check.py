"""An SVG drawing from an untrusted file, cut down to plain shapes before anything else reads it.

What is not known to be harmless is refused: nothing is fetched, run or expanded. SVG: W3C SVG 1.1 (Second Edition).
"""

from __future__ import annotations

import re
from typing import Any
from xml.etree import ElementTree

from certgen.sheet.logo_refused import LogoRefused

_SVG = "{http://www.w3.org/2000/svg}"
#: Elements that draw, hold others, or style them.
_SHAPES = ("path", "rect", "circle", "ellipse", "line", "polyline", "polygon")
_KNOWN = frozenset(("svg", "g", "defs", "style", *_SHAPES))
#: Elements that draw nothing: taken out.
_SILENT = frozenset(("title", "desc", "metadata"))
#: What other elements would take instead.
_INSTEAD = {
    "text": "turn texts into paths",
    "tspan": "turn texts into paths",
    "use": "write every copy out",
    "linearGradient": "fill with plain colours",
    "radialGradient": "fill with plain colours",
}
_PLAIN = "save the logo as a plain SVG of filled paths, or as a PNG"
#: Bounds: elements, depth, text of style sheets.
_MOST_ELEMENTS, _DEEPEST, _MOST_STYLE = 3000, 40, 20_000
#: Properties that make transparent or cut out.
_EFFECTS = ("filter", "mask", "clip-path", "mix-blend-mode", "clip")
_EFFECT = re.compile(rf"(?:^|[;{{\s])({'|'.join(_EFFECTS)})\s*:\s*(?!none\b)", re.IGNORECASE)
_OPACITY = re.compile(r"opacity\s*:\s*([^;}\s]*)", re.IGNORECASE)


def checked(data: bytes) -> bytes:
    """The same drawing with nothing in it but plain, opaque shapes.

    Raises
    ------
    LogoRefused
        It is no SVG, is too large, or holds anything else.
    """
    root = _parsed(data)
    if root.tag != f"{_SVG}svg":
        raise LogoRefused("the drawing does not begin with <svg> in the vocabulary of SVG", _PLAIN)
    _strip(root)
    for element in root.iter():
        _check_attributes(element)
    safe: bytes = ElementTree.tostring(root, encoding="utf-8")
    return safe


def _parsed(data: bytes) -> Any:
    from defusedxml import DefusedXmlException
    from defusedxml.ElementTree import fromstring

    try:
        return fromstring(data, forbid_dtd=True)
    except DefusedXmlException as cause:
        raise LogoRefused("the drawing has a document type or entities", _PLAIN) from cause
    except (ElementTree.ParseError, ValueError, LookupError) as cause:
        raise LogoRefused("the drawing is no well-formed XML", _PLAIN) from cause


def _strip(root: Any) -> None:
    """Take out what draws nothing; refuse every element that is not known, too many, and too deep."""
    waiting, count = [(root, 1)], 0
    while waiting:
        element, depth = waiting.pop()
        count += 1
        if count > _MOST_ELEMENTS or depth > _DEEPEST:
            raise LogoRefused(
                f"the drawing has more than {_MOST_ELEMENTS} parts, or {_DEEPEST} within one another", _PLAIN
            )
        for inner in list(element):
            if not isinstance(inner.tag, str) or not inner.tag.startswith(_SVG) or _name(inner) in _SILENT:
                element.remove(inner)
                continue
            if _name(inner) not in _KNOWN:
                instead = _INSTEAD.get(_name(inner), _PLAIN)
                raise LogoRefused(f"the drawing holds <{_name(inner)[:40]}>, which a logo may not", instead)
            waiting.append((inner, depth + 1))
        _check_style_sheet(element)


def _name(element: Any) -> str:
    return str(element.tag).removeprefix(_SVG)


def _check_style_sheet(element: Any) -> None:
    if _name(element) == "style":
        if len(element.text or "") > _MOST_STYLE or len(element):
            raise LogoRefused("the drawing's style sheet is too long", _PLAIN)
        _check_style(element.text or "")
        if "@" in (element.text or ""):
            raise LogoRefused("the drawing's style sheet has a rule that begins with @", _PLAIN)
    elif (element.text or "").strip():
        element.text = None


def _check_style(text: str) -> None:
    """Declarations without references, escapes, effects or transparency."""
    lowered = text.lower()
    if "\\" in text or "url" in lowered or "/*" in text or "expression" in lowered:
        raise LogoRefused("the drawing's styles hold references, escapes or comments", "fill with plain colours")
    if _EFFECT.search(text):
        raise LogoRefused("the drawing cuts out or blends shapes", "draw each shape as it is to be seen")
    for value in _OPACITY.findall(text):
        _check_opacity(value)


def _check_opacity(value: str) -> None:
    if value.strip() not in ("1", "1.0", "100%"):
        raise LogoRefused("the drawing is transparent in parts", "make every shape opaque")


def _check_attributes(element: Any) -> None:
    """Attributes of other vocabularies taken out; no script, no reference, no effect, no transparency."""
    for name, value in list(element.attrib.items()):
        plain = name.rpartition("}")[2].lower()
        if plain == "href" or plain.startswith("on") or plain == "src":
            raise LogoRefused(f"the drawing holds the attribute {plain[:40]}, which a logo may not", _PLAIN)
        if name.startswith("{"):
            del element.attrib[name]
        elif plain.endswith("opacity"):
            _check_opacity(value)
        elif plain in _EFFECTS and value.strip().lower() != "none":
            raise LogoRefused("the drawing cuts out or blends shapes", "draw each shape as it is to be seen")
        elif plain == "style" or "url" in value.lower() or "\\" in value:
            _check_style(value)
