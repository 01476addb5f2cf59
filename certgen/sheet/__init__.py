"""The sheet room: a results tree and a layout file become one page of vector PDF.

``layout`` reads layout files; ``content`` puts results into words and figures; ``blocks`` sets each kind of block
for a width and a text size; ``place`` finds a place for every block before anything is drawn; ``draw`` puts the
placed page onto paper, ``charts`` with it. ``render.render`` is the one call from outside.
"""
