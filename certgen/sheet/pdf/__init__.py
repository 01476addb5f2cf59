"""A placed page as an archive-grade PDF file: fonts, drawing, metadata, embedded files."""
