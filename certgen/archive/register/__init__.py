"""The register: one SQLite file in the archive folder that knows every number given and every certificate issued."""
