"""Name of a block in a layout -> how it is made, and what a user can do when it needs too much room.

The blocks of a run sheet and of a list stand beside their functions, and are loaded with the first such sheet.
"""

from __future__ import annotations

from collections.abc import Mapping

from certgen.sheet.blocks.as_found import as_found, inspection
from certgen.sheet.blocks.budget_table import budget_table
from certgen.sheet.blocks.cautions import all_cautions, cautions
from certgen.sheet.blocks.charts import (
    heat_chart,
    load_chart,
    log_chart,
    loss_chart,
    no_load_chart,
    stray_chart,
    torque_chart,
)
from certgen.sheet.blocks.checks import checks
from certgen.sheet.blocks.code import code, tag_code
from certgen.sheet.blocks.conditions import condition, conditions, heat, instruments, remarks
from certgen.sheet.blocks.findings import comparisons, findings
from certgen.sheet.blocks.head_and_foot import (
    end_mark,
    footer,
    heading,
    identity,
    inputs,
    scope,
    signature,
)
from certgen.sheet.blocks.headline import headline
from certgen.sheet.blocks.losses import budget, budget_chart, losses
from certgen.sheet.blocks.nameplate import characteristic, nameplate
from certgen.sheet.blocks.pictures import picture, pictures
from certgen.sheet.blocks.points import load_points
from certgen.sheet.blocks.points import rated_points_block as rated_points
from certgen.sheet.blocks.tag import (
    tag_caution,
    tag_figures,
    tag_footer,
    tag_heading,
    tag_motor,
    tag_plate,
    tag_verdict,
)
from certgen.sheet.blocks.verdict import contradictions, rating, verdict
from certgen.sheet.engine.setting import BlockKind

#: The blocks of a certificate, a record and a tag.
_OF_A_TEST: Mapping[str, BlockKind] = {
    "heading": BlockKind(heading, "shorten the shop's address or contact in the job"),
    "verdict": BlockKind(verdict, "give it more of the width"),
    "identity": BlockKind(identity, "shorten the description or the condition of the motor in the job"),
    "headline": BlockKind(headline, "give it the whole width of a row"),
    "checks": BlockKind(checks, "give it the whole width of a row"),
    "condition": BlockKind(condition, "give it more of the width"),
    "remarks": BlockKind(remarks, "shorten the remarks in the job"),
    "scope": BlockKind(scope, "give it more of the width"),
    "code": BlockKind(code, "give it more of the width"),
    "loss_chart": BlockKind(loss_chart, "lower its minimum_height"),
    "heat_chart": BlockKind(heat_chart, "lower its minimum_height"),
    "no_load_chart": BlockKind(no_load_chart, "lower its minimum_height"),
    "stray_chart": BlockKind(stray_chart, "lower its minimum_height"),
    "log_chart": BlockKind(log_chart, "lower its minimum_height"),
    "budget_chart": BlockKind(budget_chart, "give it more of the width"),
    "budget_table": BlockKind(budget_table, "give it the whole width of a row"),
    "contradictions": BlockKind(contradictions, "give it more of the width"),
    "all_cautions": BlockKind(all_cautions, "give it more of the width"),
    "inputs": BlockKind(inputs, "shorten the names of the input files"),
    "end_mark": BlockKind(end_mark, "give it more of the width"),
    "nameplate": BlockKind(nameplate, "give it more of the width"),
    "findings": BlockKind(findings, "give it the whole width of a row"),
    "rated_points": BlockKind(rated_points, "let its row be dropped"),
    "budget": BlockKind(budget, "let its row be dropped"),
    "load_points": BlockKind(load_points, "let its row be dropped, or test fewer points"),
    "characteristic": BlockKind(characteristic, "let its row be dropped"),
    "losses": BlockKind(losses, "let its row be dropped"),
    "heat": BlockKind(heat, "let its row be dropped"),
    "as_found": BlockKind(as_found, "let its row be dropped"),
    "inspection": BlockKind(inspection, "shorten the findings of the inspection in the job"),
    "pictures": BlockKind(pictures, "give it the whole width of a row"),
    "picture": BlockKind(picture, "lower its minimum_height"),
    "instruments": BlockKind(instruments, "shorten the names of the rig's instruments"),
    "rating": BlockKind(rating, "give it more of the width"),
    "comparisons": BlockKind(comparisons, "let its row be dropped"),
    "torque_chart": BlockKind(torque_chart, "lower its minimum_height"),
    "load_chart": BlockKind(load_chart, "lower its minimum_height"),
    "conditions": BlockKind(conditions, "shorten the remarks in the job"),
    "cautions": BlockKind(cautions, "give it more of the width"),
    "signature": BlockKind(signature, "give it more of the width"),
    "footer": BlockKind(footer, "shorten the names of the input files"),
    "tag_heading": BlockKind(tag_heading, "shorten the name of the shop"),
    "tag_verdict": BlockKind(tag_verdict, "give it more of the width"),
    "tag_figures": BlockKind(tag_figures, "give it more of the width"),
    "tag_motor": BlockKind(tag_motor, "shorten the texts of the motor in the job"),
    "tag_plate": BlockKind(tag_plate, "give it more of the width"),
    "tag_caution": BlockKind(tag_caution, "give it more of the width"),
    "tag_code": BlockKind(tag_code, "give it more of the width"),
    "tag_footer": BlockKind(tag_footer, "give it more of the width"),
}


def block_kind(name: str) -> BlockKind:
    """How a block is made, by its name in a layout."""
    return blocks_for(name)[name]


def blocks_for(name: str) -> Mapping[str, BlockKind]:
    """The blocks that may stand on one sheet with a block of this name."""
    match name.partition("_")[0]:
        case "plan":
            from certgen.sheet.blocks.plan import BLOCKS
        case "summary" | "trend":
            from certgen.sheet.blocks.lists import BLOCKS
        case _:
            return _OF_A_TEST
    return BLOCKS
