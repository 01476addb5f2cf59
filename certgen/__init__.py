"""Brake-test certificates for used electric motors."""

__version__ = "0.1.0"
