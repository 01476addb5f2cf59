"""Layout files: the shipped one, and mistakes with their places."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable

import pytest

from certgen.sheet.blocks.registry import blocks_for
from certgen.sheet.engine.layout import (
    BLOCK_NAMES,
    PAPERS,
    Layout,
    find_layout,
    missing_of_certificate,
    shipped_layouts,
    within,
)

pytestmark = pytest.mark.slow

Read = Callable[[str], tuple[Layout | None, list[str]]]


def test_papers_have_their_standard_sizes() -> None:
    # ISO 216:2007: A4 is 210 mm by 297 mm, A5 148 mm by 210 mm, A6 105 mm by 148 mm;
    # ANSI/ASME Y14.1: size A is 8.5 in by 11 in; 1 in is 25.4 mm
    sizes = {name: (paper.width, paper.height) for name, paper in PAPERS.items()}
    assert sizes == {
        "a4": (210.0, 297.0),
        "a5": (148.0, 210.0),
        "a6": (105.0, 148.0),
        "letter": (pytest.approx(215.9), pytest.approx(279.4)),
        "4x6in": (pytest.approx(101.6), pytest.approx(152.4)),
        "strip60": (60.0, None),
    }


def test_every_kind_of_block_has_settings_and_the_other_way_round() -> None:
    kinds = {name for first in ("heading", "plan_steps", "summary_list") for name in blocks_for(first)}
    assert set(BLOCK_NAMES) == kinds


#: The parts of a certificate in their order (head, motor and verdict, cautions, figures, charts, checks, condition, foot).
PARTS = (
    "heading", "identity", "verdict", "cautions", "headline", "torque_chart", "load_chart", "checks", "condition",
    "remarks", "signature", "picture", "code", "scope",
)  # fmt: skip


def test_shipped_certificate_has_its_parts_in_their_order(certificate_layout: Layout) -> None:
    names = [part.block for row in certificate_layout.rows for _, part in within(row, "") if part.block]
    assert tuple(names) == PARTS
    assert certificate_layout.text.preferred == 9.0
    assert certificate_layout.text.smallest >= 8.0


def test_what_a_certificate_may_drop_stands_on_the_record(certificate_layout: Layout, record_layout: Layout) -> None:
    """Condition and remarks stand among its conditions, heat and insulation, pictures too; it drops nothing."""
    dropped = {part.block for row in certificate_layout.rows for _, part in within(row, "") if part.drop is not None}
    assert dropped == {"picture", "remarks", "condition"}
    held = {part.block for row in record_layout.rows for _, part in within(row, "")}
    assert {"pictures", "conditions", "heat", "characteristic"} <= held
    assert [part for row in record_layout.rows for _, part in within(row, "") if part.drop is not None] == []
    assert record_layout.text.smallest >= 7.5


def test_a_certificate_without_what_it_must_hold_is_told_what_is_missing(
    certificate_layout: Layout, record_layout: Layout, layout_from: Read
) -> None:
    assert missing_of_certificate(certificate_layout) == missing_of_certificate(record_layout) == ()
    bare, _ = layout_from("rows: [heading, identity, signature]\n")
    assert bare is not None
    assert missing_of_certificate(bare) == (
        "the verdict with its scope", "the cautions", "what the results relate to", "a title for 'heading'",
    )  # fmt: skip
    for hidden in ("{block: verdict, when: passed}", "{block: verdict, drop: 1}"):
        layout, _ = layout_from(
            f"blocks: {{heading: {{title: T}}}}\nrows: [heading, identity, {hidden}, cautions, signature, scope]\n"
        )
        assert layout is not None
        assert missing_of_certificate(layout) == ("the verdict with its scope",)


def test_shipped_layouts_are_found_by_name() -> None:
    assert "certificate" in shipped_layouts()
    assert find_layout("certificate") is not None
    assert find_layout("certificat") is None
    assert find_layout("../pyproject") is None


def test_least_layout_takes_defaults(layout_from: Read) -> None:
    layout, mistakes = layout_from("rows:\n  - columns: [[heading], [verdict]]\n")
    assert mistakes == []
    assert layout is not None
    assert layout.text.preferred > layout.text.smallest
    assert layout.rows[0].shares is None
    assert layout.rows[0].drop is None


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (
            "rows:\n  - columns: [[headng]]\n",
            "shop.yaml:2:16: rows[1].columns[1][1]: 'headng' is not one of the words known here; ",
        ),
        (
            "rows:\n  - columns: [[heading]]\n    dropp: 1\n",
            "shop.yaml:3:5: rows[1].dropp: unknown key; did you mean 'drop'.",
        ),
        (
            "rows:\n  - columns: [[heading], [heading]]\n",
            "shop.yaml:2:14: rows[1].columns: the block 'heading' stands on the sheet twice; keep one of them.",
        ),
        (
            "rows:\n  - columns: [[heading], [footer]]\n    shares: [1, 2, 3]\n",
            "shop.yaml:3:13: rows[1].shares: 3 shares for 2 columns; write one number for each column.",
        ),
        (
            "rows:\n  - {columns: [[heading]], drop: 1}\n  - {columns: [[footer]], drop: 1}\n",
            "shop.yaml:3:33: rows[2].drop: two rows have the number 1; give each its own number.",
        ),
        (
            "text: {preferred: 8 pt, smallest: 9 pt}\nrows:\n  - columns: [[heading]]\n",
            "shop.yaml:1:35: text.smallest: the smallest text is larger than the preferred; make it smaller.",
        ),
        (
            "text: {preferred: 8}\nrows:\n  - columns: [[heading]]\n",
            "shop.yaml:1:19: text.preferred: '8' is not possible for a text size; "
            "write a text size from 4 to 20 points, for example '8.2 pt'.",
        ),
        ("page: {margin: 12}\nrows:\n  - columns: [[heading]]\n", "shop.yaml:1:16: page.margin: '12' has no unit; "),
        (
            "page: {margin: 90 mm}\nrows:\n  - columns: [[heading]]\n",
            "shop.yaml:1:16: page.margin: '90 mm' is not possible",
        ),
        (
            "rows: []\n",
            "shop.yaml:1:7: rows: the sheet has no rows; write at least one, for example '- columns: [[heading]]'.",
        ),
        (
            "rows:\n  - columns: [[]]\n",
            "shop.yaml:2:14: rows[1].columns: a column without blocks; name at least one block in every column.",
        ),
        (
            "blocks:\n  load_chart: {minimum_height: 70 mm}\nrows:\n  - columns: [[load_chart]]\n",
            "shop.yaml:2:15: blocks.load_chart: the minimum, preferred and maximum height "
            "are not in rising order; let each be at least the one before.",
        ),
        ("page: {margin: 12 mm}\n", "shop.yaml:1:1: rows: this key is missing; "),
        ("rows:\n  - columns: [[heading]\n", "shop.yaml:2:14: "),
    ],
)
def test_mistake_is_told_with_its_place(layout_from: Read, text: str, expected: str) -> None:
    layout, mistakes = layout_from(text)
    assert layout is None
    assert any(mistake.startswith(expected) for mistake in mistakes), mistakes


def test_all_mistakes_of_a_file_are_told_together(layout_from: Read) -> None:
    _, mistakes = layout_from("page: {margn: 1 mm}\ntext: {smallest: tiny}\nrows:\n  - columns: [[nothing]]\n")
    assert len(mistakes) == 3


def test_reading_a_layout_loads_neither_matplotlib_nor_reportlab() -> None:
    code = (
        "import sys; import certgen.sheet.engine.layout, certgen.sheet.engine.place, certgen.sheet.pdf.draw;"
        "print(sorted({'matplotlib', 'reportlab', 'pandas', 'pint', 'scipy'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (
            "rows:\n  - {block: heading, text: Hello}\n",
            "shop.yaml:2:5: rows[1]: block and text stand together in one part; make a part of each.",
        ),
        ("rows:\n  - {caption: Alone}\n", "shop.yaml:2:5: rows[1]: the part holds nothing; "),
        (
            "rows:\n  - columns: [[{columns: [[headin], [footer]]}]]\n",
            "shop.yaml:2:28: rows[1].columns[1][1].columns[1][1]: 'headin' is not one of the words known here; ",
        ),
        (
            "rows:\n  - {block: heat, when: termal}\n",
            "shop.yaml:2:25: rows[1].when: 'termal' is no condition known here; did you mean 'thermal'.",
        ),
        (
            "rows:\n  - {block: heat, each: motor}\n",
            "shop.yaml:2:25: rows[1].each: 'motor' is not one of the words known here; ",
        ),
        (
            "rows:\n  - {columns: [[heading], [footer]], spans: [4, 8]}\n",
            "shop.yaml:2:45: rows[1].spans: the page has no grid; write for example 'page: {grid: 12}'.",
        ),
        (
            "page: {grid: 12}\nrows:\n  - {columns: [[heading], [footer]], spans: [4, 4]}\n",
            "shop.yaml:3:45: rows[1].spans: the spans add up to 8, the grid has 12 columns; let them add up to the grid.",
        ),
        (
            "page: {grid: 2}\nrows:\n  - {columns: [[heading], [footer]], spans: [1, 1], shares: [1, 1]}\n",
            "shop.yaml:3:45: rows[1].spans: shares and spans stand together; keep one of them.",
        ),
        (
            "rows:\n  - {block: heading, every_page: yes}\n",
            "shop.yaml:2:34: rows[1].every_page: only a row of a sheet with 'pages: many' can be repeated on every page; ",
        ),
        (
            "page: {papers: [a4, b4]}\nrows: [heading]\n",
            "shop.yaml:1:21: page.papers[2]: 'b4' is not one of the words known here; ",
        ),
        (
            "page: {height: 50 mm}\nrows: [heading]\n",
            "shop.yaml:1:16: page.height: a height without a width; give page.width too, or name page.papers.",
        ),
    ],
)  # fmt: skip
def test_mistake_in_a_part_is_told_with_its_place(layout_from: Read, text: str, expected: str) -> None:
    layout, mistakes = layout_from(text)
    assert layout is None
    assert any(mistake.startswith(expected) for mistake in mistakes), mistakes


def test_columns_nested_without_end_are_refused(layout_from: Read) -> None:
    text = "heading"
    for _ in range(8):
        text = f"{{columns: [[{text}]]}}"
    _, mistakes = layout_from(f"rows: [{text}]\n")
    assert mistakes


def test_a_layout_keeps_to_the_papers_it_is_made_for(layout_from: Read) -> None:
    from sheet.results_factory import make_results

    from certgen.errors import WrongPaper
    from certgen.sheet.engine.place import compose

    usual, _ = layout_from("rows: [heading]\n")
    tape, _ = layout_from("page: {papers: [strip60, a6], margin: 2 mm}\nrows: [identity]\n")
    assert usual is not None
    assert tape is not None
    with pytest.raises(WrongPaper, match=r"the layout is not made for the paper a6; choose one of: a4, letter\."):
        compose(make_results(), usual, paper="a6", units="si")
    widths = {paper: compose(make_results(), tape, paper=paper, units="si").width for paper in ("a4", "a6", "strip60")}
    assert widths["a4"] == widths["strip60"] < widths["a6"]


def test_schema_of_a_layout_takes_what_the_reader_takes(certificate_layout: Layout) -> None:
    """JSON Schema 2020-12, checked by the jsonschema library."""
    import json

    import jsonschema
    import yaml

    from certgen.commands.schema import schema_text

    schema = json.loads(schema_text("layout"))
    path = find_layout("certificate")
    assert path is not None
    shipped = yaml.safe_load(path.read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    assert list(jsonschema.Draft202012Validator(schema).iter_errors(shipped)) == []
    shipped["rows"].append({"columns": [[{"columns": [["headin"]]}]]})
    assert list(jsonschema.Draft202012Validator(schema).iter_errors(shipped)) != []
