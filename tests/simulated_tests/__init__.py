"""Brake tests of motors whose truth is known: the motors' own physics, their plates, benches and typed jobs."""
