"""The commands, one module each: ``add`` declares its arguments, ``run`` does it and returns the exit status."""
