"""Every figure of the motor that a test gives, made of load points and curve, and the tree of results.json."""
