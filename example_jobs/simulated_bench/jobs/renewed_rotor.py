"""The motor of the worn rotor with another rotor and new bearings, tested again on the same bench."""

from __future__ import annotations

from dataclasses import replace

from simulated_bench.jobs.worn_rotor import AS_MADE, logged_test
from simulated_bench.simulated_job import SimulatedJob

NAME = "renewed_rotor"
#: A sound rotor of a motor of the same make, not quite of the same gap; bearings not yet run in.
RENEWED = replace(AS_MADE, R2=1.03 * AS_MADE.R2, R_stray=0.55, Xm=0.97 * AS_MADE.Xm, friction=0.08)


def make() -> SimulatedJob:
    """The readings of this job."""
    return logged_test(NAME, RENEWED, pulsing=0.0004)
