"""Tables of readings, typed or from files, as arrays in SI."""
