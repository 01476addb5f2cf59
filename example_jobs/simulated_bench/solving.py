"""The two searches the machine equations need."""

from __future__ import annotations

from collections.abc import Callable

STEPS = 200  # halvings; a double is exhausted long before


def root_between(function: Callable[[float], float], low: float, high: float) -> float:
    """Where a function changes sign between two ends, by halving; ValueError where it does not."""
    sign = function(low) > 0
    if (function(high) > 0) == sign:
        raise ValueError(f"no change of sign between {low:g} and {high:g}")
    for _ in range(STEPS):
        middle = (low + high) / 2
        if not low < middle < high:
            break
        if (function(middle) > 0) == sign:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def largest_within(function: Callable[[float], float], low: float, high: float) -> float:
    """Where a function with one hill is largest between two ends, by thirds, to a millionth of their gap."""
    close = 1e-6 * (high - low)
    while high - low > close:
        first, second = low + (high - low) / 3, high - (high - low) / 3
        if function(first) < function(second):
            low = first
        else:
            high = second
    return (low + high) / 2
