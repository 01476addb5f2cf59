"""The kinds of block a layout may name, one module a kind; ``registry`` is the mapping from name to kind."""
