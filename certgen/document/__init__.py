"""The user's YAML files as typed values, every mistake kept with its place.

``source`` reads text into nodes that know their line and column, within bounds; ``vocabulary`` says what a
key may hold; ``build`` turns nodes into frozen dataclasses whose fields carry that vocabulary; ``schema`` writes
the same vocabulary as JSON Schema; ``references`` keeps file references inside the job's surroundings.
"""
