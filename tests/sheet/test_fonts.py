"""Runs, widths and line breaking."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from reportlab.pdfbase import pdfmetrics

from certgen.sheet.pdf import fonts
from certgen.sheet.pdf.fonts import BOLD, MISSING, REGULAR, Span, fitting_size, printable, runs, width, wrap

TEXTS = st.text(st.characters(codec="utf-8", exclude_categories=["Cs"]), max_size=200)


@pytest.mark.parametrize("sign", list("aÄéßøŁΩμΔЖяі≤≥√±·²³°—†‡×−"))
def test_own_typeface_covers_what_a_bench_writes(sign: str) -> None:
    (run,) = runs(sign, REGULAR)
    assert run.font == fonts.font_name(REGULAR)
    assert run.text == sign


@pytest.mark.parametrize("sign", list("→▲□●♥"))
def test_sign_the_typeface_lacks_comes_from_the_fallback(sign: str) -> None:
    (run,) = runs(sign, BOLD)
    assert run.font.endswith("fallback")
    assert run.text == sign


@pytest.mark.parametrize("sign", ["漢", "\U000131a3"])
def test_sign_no_font_has_prints_as_a_box(sign: str) -> None:
    assert runs(f"a{sign}b", REGULAR)[1].text == MISSING


def test_runs_change_only_where_the_font_does() -> None:
    assert [run.text for run in runs("shaft → fan → air", REGULAR)] == ["shaft ", "→", " fan ", "→", " air"]


@given(TEXTS)
def test_runs_keep_every_visible_sign(text: str) -> None:
    assert len("".join(run.text for run in runs(text, REGULAR))) == len(printable(text))


def test_blanks_become_spaces_and_signs_without_shape_go() -> None:
    assert printable("a\tb\nc\u00a0d\u202fe") == "a b c\u00a0d\u00a0e"
    assert printable("soft\u00adhyphen\u202ereversed\ufeff") == "softhyphenreversed"


@given(st.text("abcXYZ019 .,;()Ωß±Ж", max_size=60), st.floats(4.0, 30.0))
def test_width_is_that_of_the_pdf_library(text: str, size: float) -> None:
    expected = sum(pdfmetrics.stringWidth(run.text, run.font, size) for run in runs(text, REGULAR))
    assert width(text, REGULAR, size) == pytest.approx(expected)


@given(TEXTS, st.floats(30.0, 300.0))
def test_no_line_is_wider_than_its_room(text: str, room: float) -> None:
    for line in wrap([Span(text), Span(text, BOLD)], room, 8.0):
        for piece in line:
            assert piece.x + width(piece.span.text, piece.span.face, 8.0) <= room + 0.01


@given(TEXTS, st.floats(30.0, 300.0))
def test_wrapping_loses_and_adds_nothing(text: str, room: float) -> None:
    lines = wrap([Span(text)], room, 8.0)
    kept = "".join(piece.span.text for line in lines for piece in line).replace(" ", "")
    assert kept == printable(text).replace(" ", "")


def test_line_break_in_the_text_is_kept() -> None:
    assert [[piece.span.text for piece in line] for line in wrap([Span("one\ntwo three")], 200.0, 8.0)] == [
        ["one"],
        ["two three"],
    ]


def test_long_word_is_broken_only_where_it_must_be() -> None:
    lines = wrap([Span("W" * 40)], 100.0, 8.0)
    assert len(lines) > 1
    first = lines[0][0].span.text
    assert width(first, REGULAR, 8.0) <= 100.0 < width(first + "W", REGULAR, 8.0)


def test_fitting_size_shrinks_only_what_is_too_wide() -> None:
    assert fitting_size("12", BOLD, 20.0, 200.0) == 20.0
    small = fitting_size("a long certificate number", BOLD, 20.0, 60.0)
    assert width("a long certificate number", BOLD, small) == pytest.approx(60.0)


def test_each_font_file_is_parsed_once() -> None:
    assert fonts._font(REGULAR, False) is fonts._font(REGULAR, False)


@pytest.mark.parametrize("face", [REGULAR, BOLD])
def test_figures_are_tabular(face: str) -> None:
    """Every digit is as wide as every other, so that columns of figures line up."""
    assert len({width(digit, face, 1.0) for digit in "0123456789"}) == 1


@pytest.mark.parametrize("text", ["at 12.4 N·m, the", "(≤ 10.0 %)", "of 115 V."])
def test_a_figure_is_not_parted_from_its_unit(text: str) -> None:
    for room in range(8, 80):
        lines = [" ".join(piece.span.text for piece in line) for line in wrap([Span(text)], float(room), 8.0)]
        figure = next(word for word in text.split() if any(sign.isdigit() for sign in word))
        whole = text[text.index(figure) :].split()[1]
        if width(f"{figure} {whole}", REGULAR, 8.0) <= room:
            assert any(f"{figure} {whole}" in line for line in lines), (room, lines)
