"""The yardstick: import matplotlib and save a certificate's two charts, nothing else.

python tests/benchmarks/bare_charts.py RESULTS.json OUT.pdf OUT.pdf
"""

import json
import math
import sys

import matplotlib

matplotlib.use("pdf")
import matplotlib.pyplot as plt

RPM = 30.0 / math.pi


def column(points, name, factor=1.0):
    return [point[name]["value"] * factor for point in points]


def torque_chart(results, path):
    points, curve = results["points"], results["curves"]["torque_speed"]["columns"]
    figure, axes = plt.subplots(figsize=(3.6, 2.2))
    axes.plot([one * RPM for one in curve["speed"]], curve["torque"], color="black")
    axes.plot(column(points, "speed", RPM), column(points, "torque"), "o", color="black", markersize=3)
    plate = results["nameplate"]
    rated = results["characteristic"]["rated_torque"]["value"]
    axes.plot([plate["speed"]["value"] * RPM], [rated], "D", color="black", markersize=5)
    axes.annotate("plate", (plate["speed"]["value"] * RPM, rated), (6, 6), textcoords="offset points")
    axes.set_xlabel("Speed in rpm")
    axes.set_ylabel("Torque in N·m")
    figure.savefig(path)


def load_chart(results, path):
    points, curve = results["points"], results["curves"]["load"]["columns"]
    power = [one / 1000.0 for one in curve["shaft_power"]]
    figure, left = plt.subplots(figsize=(3.6, 2.2))
    right = left.twinx()
    tested = column(points, "shaft_power", 1e-3)
    for axes, name, factor, dash, mark in (
        (left, "current", 1.0, "-", "o"),
        (right, "power_factor", 100.0, "--", "^"),
        (right, "efficiency", 100.0, "-.", "s"),
    ):
        axes.plot(power, [one * factor for one in curve[name]], dash, color="black")
        axes.plot(tested, column(points, name, factor), mark, color="black", markersize=3)
        axes.annotate(name, (power[-1], curve[name][-1] * factor), (-30, -10), textcoords="offset points")
    rated = results["nameplate"]["power"]["value"] / 1000.0
    left.axvspan(
        rated, rated * results["nameplate"]["service_factor"]["value"], facecolor="none", hatch="///", edgecolor="grey"
    )
    left.axvline(rated, color="black")
    left.set_xlabel("Shaft power in kW")
    left.set_ylabel("Current in A")
    right.set_ylabel("Power factor and efficiency in %")
    figure.savefig(path)


if __name__ == "__main__":
    with open(sys.argv[1], encoding="utf-8") as file:  # noqa: PTH123 - no import the yardstick does not need
        read = json.load(file)
    torque_chart(read, sys.argv[2])
    load_chart(read, sys.argv[3])
