from __future__ import annotations

import numpy as np
import pandas
import pytest

from certgen.readings.model import Table


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
