"""Everything a worker needs for a certificate, imported once before workers are made from it."""

import certgen.assessment.tree
import certgen.issuing.many
import certgen.sheet.render  # noqa: F401
