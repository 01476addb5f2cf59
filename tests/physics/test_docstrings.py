"""The examples in the docstrings of the formulas: figures that can be checked by hand."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

from certgen import physics

MODULES = [f"{physics.__name__}.{module.name}" for module in pkgutil.iter_modules(physics.__path__)]


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_of_a_module_hold(name: str) -> None:
    assert doctest.testmod(importlib.import_module(name)).failed == 0


def test_the_everyday_formulas_have_examples() -> None:
    finder = doctest.DocTestFinder(exclude_empty=True)
    shown = {one.name for name in MODULES for one in finder.find(importlib.import_module(name)) if one.examples}
    for formula in ("mechanics.shaft_power", "mechanics.lever_arm_torque", "induction.slip", "electrics.unbalance"):
        assert f"{physics.__name__}.{formula}" in shown
