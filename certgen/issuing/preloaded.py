"""Everything a worker needs for a certificate, loaded once before workers are made from it."""

from certgen.sheet.pdf.fonts import BOLD, REGULAR, font_name

for face in (REGULAR, BOLD):
    font_name(face)
