"""Can the readings be what they say: evidence that is weighed before anything is judged."""
