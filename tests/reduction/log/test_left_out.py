from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from certgen.reduction.log.model import Reason, listed

TIME = np.arange(10.0)


def test_stretches_near_each_other_are_one_entry():
    why = np.zeros(10, dtype=np.int8)
    why[[1, 2, 7]] = Reason.OUTLIER
    assert [(one.count, one.start, one.end) for one in listed(why, TIME, 3.0)] == [(2, 1.0, 2.0), (1, 7.0, 7.0)]
    assert [(one.count, one.start, one.end) for one in listed(why, TIME, 5.0)] == [(3, 1.0, 7.0)]


def test_very_many_stretches_are_one_entry():
    why = np.tile([0, Reason.OUTLIER], 100).astype(np.int8)
    (one,) = listed(why, np.arange(200.0), 0.5)
    assert (one.count, one.start, one.end) == (100, 1.0, 199.0)


@given(st.lists(st.sampled_from([int(one) for one in Reason]), min_size=1, max_size=80))
def test_every_sample_left_out_is_counted_once(reasons):
    why = np.array(reasons, dtype=np.int8)
    found = listed(why, np.arange(why.size, dtype=float), 2.0)
    assert sum(one.count for one in found) == np.count_nonzero(why)
    assert [one.start for one in found] == sorted(one.start for one in found)


def test_every_reason_to_leave_a_sample_out_has_words():
    words = {str(reason.message) for reason in Reason if reason is not Reason.USED}
    assert len(words) == len(Reason) - 1
    assert {"the motor stalled", "time runs backwards", "outside the chosen stretches"} <= words
