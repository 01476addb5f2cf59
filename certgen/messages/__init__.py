"""Every word the program says about a motor: one catalogue a language, and one formatter of figures and units."""
