from __future__ import annotations

import numpy as np
from simulated_logs import reduced, run


def test_the_trace_is_thin_and_always_the_same():
    log = run(1, interval=0.01)
    log.speed[4000] /= 2
    first, again = reduced(log).trace, reduced(log).trace
    assert first.time.size <= 400
    assert np.array_equal(first.torque, again.torque)
    assert first.time[0] == 0.0
    assert log.time[-1] - first.time[-1] < 1.0
    assert np.all(np.diff(first.time) > 0.0)


def test_it_shows_what_was_read_without_its_faults():
    log = run(1)
    log.speed[400] /= 2
    log.torque[600] = np.nan
    trace = reduced(log).trace
    assert np.isin(trace.speed, log.speed).all()
    assert log.speed[400] not in trace.speed
    assert np.isfinite(trace.torque).all()
    assert trace.fault_speed.tolist() == [log.speed[400]]  # a sample without torque has no place on the chart


def test_more_is_drawn_where_the_load_changes():
    log = run(1, interval=0.01, held=120.0)
    trace = reduced(log).trace
    changing = sum(np.count_nonzero((trace.time > start - 3.0) & (trace.time < start)) for start, _, _ in log.truth)
    assert changing > 0.15 * trace.time.size  # in 15 s of 615
