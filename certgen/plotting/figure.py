"""Drawings on a figure of matplotlib's: on the screen, in a picture file, or on axes of the caller's own."""

from __future__ import annotations

import io
import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from certgen.archive.store import write_whole
from certgen.errors import AlreadyIssued, CertgenError
from certgen.messages.catalogue import Message
from certgen.plotting.painter import Look, dress, fill, key_above, look_of
from certgen.plotting.subjects import PANELS, WHAT, Picture, Shown, pictures_of
from certgen.results.model import Results

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

#: Picture files by their ending.
ENDINGS = (".png", ".svg", ".pdf")
#: How a picture names what drew it: only such a file is drawn again in its place.
DRAWN_BY = "certgen plot"
#: Size of one drawing with a single panel, and of each further panel. [in]
_WIDE, _HIGH, _FURTHER = 8.0, 4.6, 1.5
_DOTS = 150
#: Letters of a key that fit across it.
_LETTERS = 120
#: Fonts of the figures, the first of them the sheet's own.
_FAMILY = ("Roboto Condensed", "DejaVu Sans")


@contextmanager
def drawing_style() -> Iterator[None]:
    """The look of every figure, whatever the user's own settings of matplotlib say; the same job gives the same bytes."""
    import matplotlib as mpl
    from matplotlib import font_manager

    known = {font.fname for font in font_manager.fontManager.ttflist}
    for file in sorted((Path(__file__).parent.parent / "sheet" / "fonts").glob("*.ttf")):
        if str(file) not in known:
            font_manager.fontManager.addfont(str(file))
    style: dict[str, Any] = {
        "font.family": list(_FAMILY),
        "font.size": 10.0,
        "axes.unicode_minus": True,
        "svg.hashsalt": "certgen",
        "svg.fonttype": "path",
        "pdf.fonttype": 42,
        "hatch.linewidth": 0.5,
    }
    settings: Any = mpl.rcParams
    with mpl.rc_context():
        settings.update({**_plain_settings(mpl), **style})
        yield


def _plain_settings(mpl: Any) -> dict[str, Any]:
    """The library's own settings; what was chosen for the screen stays."""
    kept = ("backend", "interactive", "toolbar", "webagg.", "tk.", "macosx.", "keymap.", "figure.max_open_warning")
    return {name: value for name, value in mpl.rcParamsDefault.items() if not name.startswith(kept)}


# One figure with every drawing asked for.


def figure_of(pictures: Sequence[Picture], *, make: Any = None) -> Figure:
    """The drawings below one another, up to three, else in two columns.

    Parameters
    ----------
    pictures : sequence of Picture
        One or more.
    make : callable, optional
        What makes an empty figure; one that no window shows where left out.

    Returns
    -------
    Figure
    """
    from matplotlib.figure import Figure

    columns = 1 if len(pictures) < 4 else 2
    rows = math.ceil(len(pictures) / columns)
    heights = [_HIGH + _FURTHER * (len(one.ups) - 1) for one in pictures]
    by_row = [max(heights[row * columns : (row + 1) * columns]) for row in range(rows)]
    figure: Figure = (make or Figure)(figsize=(_WIDE * columns, sum(by_row)), layout="constrained")
    parts = figure.subfigures(rows, columns, squeeze=False, height_ratios=by_row)
    for index, picture in enumerate(pictures):
        part = parts[index // columns][index % columns]
        axes = part.subplots(len(picture.ups), 1, sharex=True, squeeze=False)[:, 0]
        draw(picture, list(axes))
        if len(picture.ups) > 1 and picture.title:
            part.suptitle(picture.title, fontsize="large", fontweight="bold")
    return figure


def draw(picture: Picture, axes: Sequence[Axes], *, room: int = _LETTERS) -> None:
    """One drawing onto axes, one for each of its panels; ``room`` is how many letters of a key fit beside each other."""
    several, known = len(picture.layers) > 1, set[str]()
    for place, (panel, one) in enumerate(zip(picture.ups, axes, strict=True)):
        dress(one, picture.across, panel, last=place == len(picture.ups) - 1)
        for index, layer in enumerate(picture.layers):
            shown = layer.panels[place]
            if shown is not None:
                fill(one, shown, look_of(index) if several else Look("black"), name=layer.name if several else "")
        alone = len(picture.ups) == 1
        title = panel.title or picture.title
        key_above(one, title if alone else "", room=room, known=known)
        if alone and picture.notes:
            one.text(0.02, 0.02, " ".join(picture.notes), transform=one.transAxes, fontsize="small")


# Picture files, and the screen.


def saved(figure: Figure, path: Path) -> bytes:
    """The picture as its file's bytes, by the ending of its name, with no clock in it.

    Raises
    ------
    CertgenError
        The ending is none of a picture's.
    """
    ending = require_picture(path)
    metadata: dict[str, dict[str, Any]] = {
        ".png": {"Software": DRAWN_BY},
        ".svg": {"Creator": DRAWN_BY, "Date": None},
        ".pdf": {"Creator": DRAWN_BY, "CreationDate": None},
    }
    buffer = io.BytesIO()
    figure.savefig(buffer, format=ending[1:], dpi=_DOTS, metadata=metadata[ending])
    return buffer.getvalue()


def require_picture(path: Path) -> str:
    """The ending of a picture's name.

    Raises
    ------
    CertgenError
        It is none that is known.
    """
    ending = path.suffix.lower()
    if ending not in ENDINGS:
        raise CertgenError(str(Message("plot.ending", path=str(path))))
    return ending


def write_picture(path: Path, data: bytes) -> None:
    """Write a picture; only one that was drawn here before is drawn again in its place.

    Raises
    ------
    AlreadyIssued
        Another file stands there.
    CertgenError
        The folder is missing, not writable or full.
    """
    if path.exists() and DRAWN_BY.encode() not in path.read_bytes():
        raise AlreadyIssued(str(Message("plot.another_file", path=str(path))))
    write_whole(path, data)


def show(pictures: Sequence[Picture], title: str) -> None:
    """The drawings in a window that can be zoomed, until it is closed.

    Raises
    ------
    CertgenError
        There is no screen to draw on.
    """
    try:
        import matplotlib.pyplot as plt

        backend = str(plt.get_backend()).lower()
    except ImportError as cause:  # a window library was asked for that cannot be loaded here
        raise CertgenError(str(Message("plot.no_screen"))) from cause
    if backend in ("agg", "cairo", "pdf", "pgf", "ps", "svg", "template"):
        raise CertgenError(str(Message("plot.no_screen")))
    with drawing_style():
        figure = figure_of(pictures, make=plt.figure)
        if figure.canvas.manager is not None:
            figure.canvas.manager.set_window_title(title)
        plt.show()


# On axes of the caller's own.


def onto_axes(tests: Sequence[Shown], axes: Any, what: str, units: str) -> Any:
    """Draw one subject onto axes, those given or new ones, and return them.

    Raises
    ------
    CertgenError
        Nothing of it was measured.
    ValueError
        There is no such subject, or it takes more or fewer axes than are given.
    """
    if what not in (*WHAT, *PANELS):
        raise ValueError(f"'{what}' is nothing that can be plotted; choose one of {', '.join((*WHAT, *PANELS))}")
    pictures = pictures_of(tests, ["load" if what in PANELS else what], units)
    if len(pictures) > 1:
        raise ValueError(f"'{what}' shows one test at a time; give one result")
    picture = one_panel(pictures[0], what, units) if what in PANELS else pictures[0]
    given = _axes_for(picture, axes)
    draw(picture, given)
    return given[0] if len(given) == 1 else tuple(given)


def one_panel(picture: Picture, what: str, units: str) -> Picture:
    """The one panel of a drawing that shows a quantity.

    Raises
    ------
    CertgenError
        It was not measured.
    """
    from dataclasses import replace

    from certgen.messages.format import as_units
    from certgen.messages.languages import shipped
    from certgen.sheet.words import Words

    words = Words(language=as_units(units).language or shipped())
    called = words(f"chart.{what}")
    places = [place for place, panel in enumerate(picture.ups) if panel.up.quantity == called]
    if not places:
        raise CertgenError(str(Message("chart.none_one", quantity=words(f"name.{what}"))))
    (place,) = places
    layers = tuple(replace(layer, panels=(layer.panels[place],)) for layer in picture.layers)
    return replace(picture, title="", ups=(picture.ups[place],), layers=layers)


def _axes_for(picture: Picture, axes: Any) -> list[Axes]:
    count = len(picture.ups)
    if axes is None:
        import matplotlib.pyplot as plt

        figure = plt.figure(layout="constrained")
        return list(figure.subplots(count, 1, sharex=True, squeeze=False)[:, 0])
    given = [axes] if hasattr(axes, "plot") else list(getattr(axes, "flat", axes))
    if len(given) != count:
        raise ValueError(f"this drawing has {count} panels, {len(given)} axes are given; give {count} or none")
    return given


def shown_results(results: Results | Sequence[Results], names: Sequence[str] | None) -> list[Shown]:
    """Results with what each is called: as given, else by its certificate's number, else by its place."""
    listed = [results] if isinstance(results, Results) else list(results)
    called = names or [one.certificate.number or f"test {place}" for place, one in enumerate(listed, start=1)]
    return [Shown(one, name) for one, name in zip(listed, called, strict=True)]
