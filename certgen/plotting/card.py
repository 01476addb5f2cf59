"""A picture for a shop's listing: what the motor is, its verdict with scope, the headline figures, the torque curve.

It is no certificate: it says so, names the certificate's number, and never leaves out what forbids to switch on.
"""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

from certgen.plotting.figure import draw
from certgen.plotting.subjects import TORQUE, Shown, pictures_of
from certgen.results.model import CONDITIONAL_FAIL, CONDITIONAL_PASS, FAIL, FAILED, MET, PASS
from certgen.sheet.blocks.cautions import main_cautions
from certgen.sheet.blocks.charts import unmeasured_torque
from certgen.sheet.blocks.head_and_foot import motor_line
from certgen.sheet.blocks.headline import figures_of, title_of
from certgen.sheet.blocks.verdict import headline_text, scope_text
from certgen.sheet.content import Content

if TYPE_CHECKING:
    from matplotlib.figure import Figure

#: Size of the card [in], a shape that listings show whole: 1200 by 675 dots.
_WIDE, _HIGH, DOTS = 8.0, 4.5, 150
#: Where the left column begins, its width, and the line height of its small text, in parts of the card.
_LEFT, _RIGHT, _LINE = 0.035, 0.42, 0.046
#: Letters a line of the left column holds, one of the whole width, one of the key to the chart.
_COLUMN, _WHOLE, _KEY = 50, 100, 60
_SIGNS = {MET: "●", FAILED: "✕"}
#: Figures side by side below the verdict.
_FIGURES = 3


def card(test: Shown, units: str) -> Figure:
    """The card of one test as a figure of 1200 by 675 dots.

    Parameters
    ----------
    test : Shown
        The test.
    units : str
        'si', 'us' or 'both'.

    Returns
    -------
    Figure
    """
    from matplotlib.figure import Figure

    content = Content(test.results, units)
    figure = Figure(figsize=(_WIDE, _HIGH), dpi=DOTS)
    y = _head(figure, content)
    y = _verdict(figure, content, y)
    y = _scope(figure, content, y - 0.035)
    _figures(figure, content, y - 0.01)
    _chart(figure, test, content, units)
    _foot(figure, content)
    return figure


def _head(figure: Figure, content: Content) -> float:
    """What the motor is, and whose it is by; returns how far down it reaches."""
    motor = content.results.motor
    figure.text(_LEFT, 0.93, motor_line(content), fontsize=15, fontweight="bold", va="center")
    marks = [text for text in (motor.maker, motor.model, motor.serial) if text]
    figure.text(_LEFT, 0.873, _shortened(", ".join(marks), _WHOLE), fontsize=9.5, va="center")
    return 0.84


def _shortened(text: str, most: int) -> str:
    return textwrap.shorten(text, most, placeholder=" …")


def _verdict(figure: Figure, content: Content, top: float) -> float:
    """The headline in a frame whose shape shows the outcome, as on the page: heavy, double, a black field, dashed."""
    from matplotlib.patches import Rectangle

    outcome = content.results.verdict.outcome
    high, wide = 0.105, _RIGHT
    bottom = top - high
    inks: dict[str, Any] = {"facecolor": "white", "edgecolor": "black", "linewidth": 2.6}
    if outcome == FAIL:
        inks = {"facecolor": "black", "edgecolor": "black", "linewidth": 2.6}
    elif outcome != PASS:
        inks["linewidth"] = 1.0
        inks["linestyle"] = "-" if outcome in (CONDITIONAL_PASS, CONDITIONAL_FAIL) else (0, (5, 3))
    figure.add_artist(Rectangle((_LEFT, bottom), wide, high, transform=figure.transFigure, **inks))
    if outcome in (CONDITIONAL_PASS, CONDITIONAL_FAIL):
        inner = {**inks, "facecolor": "none", "hatch": "////" if outcome == CONDITIONAL_FAIL else None}
        dx, dy = 0.005, 0.009
        figure.add_artist(
            Rectangle((_LEFT + dx, bottom + dy), wide - 2 * dx, high - 2 * dy, transform=figure.transFigure, **inner)
        )
    text, ink = headline_text(content), "white" if outcome == FAIL else "black"
    size = min(19.0, 19.0 * 26 / max(26, len(text)))
    behind = {"facecolor": "white", "edgecolor": "none", "pad": 2.0} if outcome == CONDITIONAL_FAIL else None
    figure.text(
        _LEFT + 0.02, bottom + high / 2, text, fontsize=size, fontweight="bold", color=ink, va="center", bbox=behind
    )
    return bottom


def _scope(figure: Figure, content: Content, y: float) -> float:
    """What the verdict covers, a line each; whatever forbids to switch on stands first, white on black."""
    for caution in main_cautions(content.results.cautions):
        if caution.do_not_energise:
            for line in textwrap.wrap(content.says(caution.text), _COLUMN):
                _line(figure, y, line, color="white", bbox={"facecolor": "black", "pad": 2.5}, fontweight="bold")
                y -= _LINE
    for item in content.results.verdict.scope:
        subject, state = content.words(f"scope.{item.subject}"), scope_text(item, content)
        _line(figure, y, f"{_SIGNS.get(item.state, '○')} {subject}")
        if len(subject) + len(state) > _COLUMN:
            y -= _LINE
        weight = "normal" if item.state == MET else "bold"
        text = _shortened(state, _COLUMN)
        figure.text(_LEFT + _RIGHT, y, text, fontsize=9.5, va="center", ha="right", fontweight=weight)
        y -= _LINE
    return y


def _line(figure: Figure, y: float, text: str, **how: Any) -> None:
    figure.text(_LEFT, y, text, fontsize=9.5, va="center", **how)


def _figures(figure: Figure, content: Content, y: float) -> None:
    """The headline figures with their uncertainty and the plate's values."""
    _line(figure, y, _shortened(title_of(content), _COLUMN), fontweight="bold")
    step = _RIGHT / _FIGURES
    for place, one in enumerate(figures_of(content)[: 2 * _FIGURES]):
        x, top = _LEFT + place % _FIGURES * step, y - 0.05 - place // _FIGURES * 0.155
        figure.text(x, top, one.label, fontsize=8, va="center", color="0.25")
        figure.text(x, top - 0.045, f"{one.text} {one.sign}".strip(), fontsize=12.5, fontweight="bold", va="center")
        figure.text(x, top - 0.085, _shortened(", ".join(one.below), 26), fontsize=7, va="center")


def _chart(figure: Figure, test: Shown, content: Content, units: str) -> None:
    axes = figure.add_axes((0.54, 0.15, 0.43, 0.46))
    reason = unmeasured_torque(test.results, content.words)
    if reason:
        axes.set_axis_off()
        axes.text(0.5, 0.5, textwrap.fill(reason, 40), ha="center", va="center", transform=axes.transAxes)
        return
    (picture,) = pictures_of([test], [TORQUE], units)
    draw(picture, [axes], room=_KEY)


def _foot(figure: Figure, content: Content) -> None:
    """Which certificate it is taken from, by whom and when, and that it is none."""
    certificate, words = content.results.certificate, content.words
    shop = certificate.shop.name if certificate.shop is not None else ""
    key = "plot.card.of" if certificate.number is not None else "plot.card.without_number"
    source = words(key, number=certificate.number or "", date=content.dated(certificate.tested_on.isoformat()))
    text = _shortened(" ".join(part for part in (f"{shop}." if shop else "", source) if part), 150)
    figure.text(_LEFT, 0.035, text, fontsize=8, va="center", color="0.25")
