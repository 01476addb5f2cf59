from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas
import pytest

from certgen.readings.model import NoRemarks, Table


@pytest.fixture
def table() -> Table:
    return Table({"speed": np.array([150.0, 148.0]), "voltage": np.array([400.0, np.nan])}, ("cold", ""))


def test_a_column_that_was_not_read_is_nan_throughout(table: Table) -> None:
    assert table.rows == 2
    assert np.isnan(table.column("current")).all()
    assert table.column("current").shape == (2,)


def test_a_column_that_was_read_is_itself(table: Table) -> None:
    assert table.column("speed") is table.columns["speed"]


def test_the_table_as_a_pandas_frame(table: Table) -> None:
    expected = pandas.DataFrame({"speed": [150.0, 148.0], "voltage": [400.0, np.nan], "remark": ["cold", ""]})
    pandas.testing.assert_frame_equal(table.frame(), expected)


def test_no_remarks_are_as_many_empty_texts() -> None:
    none = NoRemarks(3)
    assert tuple(none) == ("", "", "")
    assert none[2] == none[-3] == ""
    assert tuple(none[1:]) == ("", "")
    assert len(NoRemarks(10)[::4]) == 3
    for beyond in (3, -4):
        with pytest.raises(IndexError):
            none[beyond]


@pytest.mark.parametrize(
    ("remarks", "remarked"), [(NoRemarks(2), False), (("", ""), False), (("", "warm"), True), ((), False)]
)
def test_a_table_is_remarked_where_a_row_is(remarks: Sequence[str], remarked: bool) -> None:
    assert Table({}, remarks).remarked is remarked
