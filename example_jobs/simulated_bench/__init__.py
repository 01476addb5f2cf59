"""A bench on paper: exact machine equations and the instruments that read them, for the example jobs."""
