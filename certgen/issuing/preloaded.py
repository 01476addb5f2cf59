"""Everything a worker needs for a certificate, loaded once before workers are made from it."""

import certgen.assessment.tree
import certgen.issuing.many
import certgen.sheet.render  # noqa: F401
from certgen.sheet.fonts import BOLD, REGULAR, font_name

for face in (REGULAR, BOLD):
    font_name(face)
