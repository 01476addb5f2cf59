"""From a continuous log to load points: what went wrong is marked, steady stretches become means."""
