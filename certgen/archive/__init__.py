"""Keeping what was issued, and telling later whether it is still what it was.

``enclosures`` decides what travels inside a page and ``seal`` closes it; ``store`` and ``register`` keep it; ``verify``
looks at it again, with ``reading`` and ``updates`` for what a stranger may have made, ``again`` for figures and page, and
``signature`` for who put it out.
"""
