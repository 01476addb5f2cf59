"""Published limits as data, each with its standard, clause, edition and how far it was confirmed."""
