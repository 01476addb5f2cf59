"""``python -m certgen``: the same as the ``certgen`` command."""

import sys

from certgen.cli import main

sys.exit(main())
