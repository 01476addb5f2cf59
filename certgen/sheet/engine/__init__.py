"""The layout engine: a layout file and blocks become one measured, placed page."""
