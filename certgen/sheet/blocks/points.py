"""Load points and the points read off their curve as tables: a row of values and below it their uncertainties."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from certgen.messages.format import KINDS, column, forms
from certgen.results.model import Point
from certgen.sheet.content import FLAG_MEANINGS, FLAG_SIGNS, Content, coverage_factors, quantities
from certgen.sheet.content import rated_points as read_off
from certgen.sheet.engine.layout import Titled
from certgen.sheet.engine.setting import Area, Block, Flow, Setting
from certgen.sheet.engine.table import LEFT, Column, Table, divided, narrowed, set_table
from certgen.sheet.words import Words

#: The quantities shown, each with how soon it moves to a table of its own when the table is too wide: 0 never, else
#: the highest first.
_LEAVE = {
    "speed": 0,
    "slip": 2,
    "torque": 0,
    "shaft_power": 0,
    "input_power": 0,
    "apparent_power": 6,
    "current": 0,
    "voltage": 1,
    "power_factor": 0,
    "efficiency": 0,
    "losses": 4,
    "temperature": 3,
    "current_unbalance": 7,
    "voltage_unbalance": 8,
    "frequency": 9,
    "time": 10,
}
#: A column that says in the other system what its neighbour says already goes before all others.
_SECOND_SYSTEM = 20
#: Rows of a point: its values, and their uncertainties.
_ROWS = 2
_ENGLISH = Words()


def point_columns(
    points: Sequence[Point], units: str, *, read_off_by: Sequence[str] = (), words: Words = _ENGLISH
) -> tuple[Column, ...]:
    """The columns of some load points, in the order of the results: only what was measured in at least one of them.

    Each point has two cells, its value and its expanded uncertainty; what defines a point, ``read_off_by``, is set.
    """
    columns: list[Column] = []
    for name, at_once in _LEAVE.items():
        items = [getattr(point, name) for point in points]
        if all(item is None for item in items):
            continue
        largest = max(abs(item.value) for item in items if item is not None)
        for index, form in enumerate(forms(KINDS[name], units, largest)):
            called = words(f"name.{name}")
            called = words("name.in_unit", name=called, unit=form.sign) if index else called
            cells: list[str] = []
            for number, text in enumerate(column(items, form)):
                value, _, spread = text.partition(" ± ")
                fixed = bool(read_off_by) and read_off_by[number] == name
                cells += [value, words("headline.set") if fixed else f"± {spread}" if spread else ""]
            leave = _SECOND_SYSTEM + at_once if index else at_once
            columns.append(Column(heading_of(words, name), tuple(cells), form.sign, leave=leave, name=called))
    return tuple(columns)


def heading_of(words: Words, name: str) -> tuple[str, ...]:
    """The heading of a column, a word a line."""
    return tuple(words(f"column.{name}").split())


def flagged(name: str, point: Point) -> str:
    """The name of a point with the signs of its flags."""
    return name + "".join(sign for flag, sign in FLAG_SIGNS.items() if flag in point.flags)


def flag_notes(points: Sequence[Point], words: Words = _ENGLISH) -> tuple[str, ...]:
    """The meaning of every sign that stands at one of the points."""
    return tuple(
        words(meaning, sign=FLAG_SIGNS[flag])
        for flag, meaning in FLAG_MEANINGS.items()
        if any(flag in point.flags for point in points)
    )


def left_out_note(left_out: Sequence[Column], words: Words = _ENGLISH) -> str:
    """Which columns are not printed."""
    return words("page.columns_left_out", columns=", ".join(column.name for column in reversed(left_out)))


@dataclass(frozen=True)
class _Points:
    """Points as a block: the cells of the first column, the columns, and notes under the last row."""

    title: str
    first: Column
    columns: tuple[Column, ...]
    notes: tuple[str, ...]
    continued: str

    def block(self, start: int = 0, end: int | None = None) -> Block:
        """Some of the points, which may be cut again between two of them."""
        count = len(self.first.cells) // _ROWS
        last = count if end is None else end
        title = f"{self.title} {self.continued}" if start and self.title else self.title

        def set_part(area: Area) -> Setting:
            flow = Flow(area)
            flow.title(title)
            _set_tables(flow, self.first.panel(_ROWS * start, _ROWS * last), self._part(start, last))
            for note in self.notes if last == count else ():
                flow.text(note)
            return flow.done()

        def inner(first: int, second: int) -> Block:
            return self.block(start + first, start + second)

        return Block(set_part, divide=lambda area, room: divided(inner, last - start, area, room))

    def _part(self, start: int, end: int) -> tuple[Column, ...]:
        return tuple(column.panel(_ROWS * start, _ROWS * end) for column in self.columns)


def _set_tables(flow: Flow, first: Column, columns: tuple[Column, ...]) -> None:
    """As many tables below one another as the columns take, each with the names of the points."""
    waiting = columns
    while waiting:
        table = Table((first, *waiting), group=_ROWS)
        shown, left = narrowed(table, flow.area.width / flow.area.smallest)
        flow.place(set_table(shown, flow.area))
        gone = {id(one) for one in left}
        waiting = tuple(one for one in columns if id(one) in gone)
        columns = waiting


def _coverage(points: Sequence[Point], content: Content) -> tuple[str, ...]:
    """What the second row of each point is, where one has an uncertainty."""
    known = (quantity for point in points for quantity in quantities(point).values())
    factors = coverage_factors(known, content.units, content.words)
    return (content.words("points.spreads", factors=factors),) if factors else ()


def rated_points_block(content: Content, settings: Titled) -> Block:
    """The points read off the load curve: rated current, rated power, service-factor load, rated speed."""
    words = content.words
    named = read_off(content.results, words)
    points = [item.point for item in named]
    if not named:
        return _nothing(settings.title, words("rated_points.none"))
    columns = point_columns(points, content.units, read_off_by=[item.read_off_by for item in named], words=words)
    first = _first(words("rated_points.at"), [flagged(item.name, item.point) for item in named])
    notes = (*_coverage(points, content), *flag_notes(points, words))
    return _Points(settings.title, first, columns, notes, words("page.continued")).block()


def load_points(content: Content, settings: Titled) -> Block:
    """The points tested, numbered in the order of the test, each with its uncertainties."""
    points, words = content.results.points, content.words
    columns = point_columns(points, content.units, words=words)
    if not columns:
        return _nothing(settings.title, words("load_points.none"))
    first = _first(
        words("load_points.number"), [flagged(str(index), point) for index, point in enumerate(points, start=1)]
    )
    remarks = words.joined(f"{index}: {point.remark}" for index, point in enumerate(points, start=1) if point.remark)
    said = (words("load_points.remarks", remarks=remarks),) if remarks else ()
    notes = (*_coverage(points, content), *flag_notes(points, words), *said)
    return _Points(settings.title, first, columns, notes, words("page.continued")).block()


def _first(heading: str, names: Sequence[str]) -> Column:
    """The column of names, each beside the values of its point."""
    return Column((heading,), tuple(cell for name in names for cell in (name, "")), align=LEFT)


def _nothing(title: str, said: str) -> Block:
    def set_nothing(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(title)
        flow.text(said)
        return flow.done()

    return Block(set_nothing)
