"""Files measured by others, in the layouts they were found in, against the results printed with them."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import numpy as np
import openpyxl
import pytest
from files_bench import read

HERE = Path(__file__).parent / "published"


def copied(folder: Path, name: str) -> None:
    (folder / name).write_bytes((HERE / name).read_bytes())


def test_a_cage_motor_with_a_comment_and_units_behind_underscores(tmp_path: Path) -> None:
    """Modelica Standard Library, IMC_withLosses.mo, commit 23439a13 (BSD-3-Clause): 14 measured points, 18.5 kW."""
    copied(tmp_path, "imc_18k5_loadtest.csv")
    columns = "{speed: , current: {from: I_line}, power_factor: {from: pf, unit: 1}, input_power: {from: P_out}}"
    found = read(tmp_path, f"{{file: imc_18k5_loadtest.csv, columns: {columns}}}")
    with (HERE / "imc_18k5_loadtest.csv").open(encoding="utf-8") as lines:
        next(lines)
        rows = list(csv.DictReader(lines))
    assert found.good.column("speed") == pytest.approx([float(row["speed_rpm"]) * np.pi / 30 for row in rows])
    assert found.good.column("current").tolist() == [float(row["I_line_A"]) for row in rows]
    assert found.good.column("power_factor").tolist() == [float(row["pf"]) for row in rows]
    assert (found.file.skipped, found.file.header_row, found.file.rows) == (1, 2, 14)


def test_a_curve_with_a_latin_dot_in_its_header(tmp_path: Path) -> None:
    """github.com/pvandervelde/electrical-motor-data, commit 39f685fa (Apache-2.0), six lines of a 12 V curve."""
    copied(tmp_path, "straight_line_curve_latin_1.csv")
    columns = "{speed: , torque: , current: , input_power: {from: Supplied Power}}"
    found = read(tmp_path, f"{{file: straight_line_curve_latin_1.csv, columns: {columns}}}")
    assert found.file.encoding == "latin-1"
    output = found.good.column("torque") * found.good.column("speed")
    assert output == pytest.approx([0, 281.875, 501.111, 782.986, 281.875, 0], abs=0.0005)  # as printed, W
    efficiency = 100 * output / found.good.column("input_power")
    assert efficiency == pytest.approx([0, 10.143, 20.269, 50.453, 86.79, 0], abs=0.0005)  # as printed, %


def test_a_dynamometer_table_in_thousandths_with_a_header_like_a_comment(tmp_path: Path) -> None:
    """github.com/Shinjinok/MultiLayerHeatTransferEx, commit 818acc0e, 220V_150W_60Hz.txt: five of its 35 lines."""
    text = (
        "%T[mN.m]\tS[r/min]\tE6[V]\tI6[mA]\tPo[mW]\tP6[mW]\tEffA[%]\tPf[%]\n"
        "97.65625\t1771.875\t220.71\t483\t18116.73\t82600\t21.93309\t77.4838\n"
        "396.875\t1721.25\t220.66\t639\t71522.78\t130100\t54.97523\t92.26836\n"
        "644.5313\t1661.25\t220.59\t853\t112105.2\t181200\t61.86819\t96.29935\n"
        "744.5313\t1623.125\t220.56\t983\t126526.5\t210300\t60.16478\t96.99715\n"
        "857.8125\t1561.875\t220.51\t1156\t140276.6\t247900\t56.58597\t97.25018\n"
    )
    columns = "{torque: {from: T}, speed: {from: S}, voltage: {from: E6}, current: {from: I6}, input_power: {from: P6}}"
    table = read(tmp_path, f"{{file: a.txt, columns: {columns}}}", {"a.txt": text}).good
    turns = table.column("speed") * 30 / np.pi
    output = table.column("torque") * turns * 0.1047  # the instrument's own 2 pi / 60
    assert 1000 * output == pytest.approx([18116.73, 71522.78, 112105.2, 126526.5, 140276.6], rel=1e-6)  # as printed
    efficiency = 100 * output / table.column("input_power")
    assert efficiency == pytest.approx([21.93309, 54.97523, 61.86819, 60.16478, 56.58597], rel=1e-6)
    factor = 100 * table.column("input_power") / table.column("voltage") / table.column("current")
    assert factor == pytest.approx([77.4838, 92.26836, 96.29935, 96.99715, 97.25018], rel=3e-5)


def test_a_hand_typed_table_of_tabs_and_blanks(tmp_path: Path) -> None:
    """The same source, experiment0917_2.txt: four lines, with the tabs where they are; %tq is a brake's amperes."""
    text = (
        "%tq(A)\trpm\tv\ti\tpout\tw\teff\tpf\n0.0 \t1786\t  216.5 \t0.4991\t0\t71.2\t0\t0.659\n"
        "0.15\t1782\t  216.4\t  0.507\t\t0 76.19\t0\t0.693\n0.35  \t1726\t  216.3\t0.6518\t0\t127.7\t0\t0.904\n"
        "0.5 \t1596\t  216.5\t  1.041\t  0\t218.4\t0\t0.969"
    )
    columns = (
        "{brake_current: {from: tq}, speed: {from: rpm, unit: rpm}, voltage: {from: v}, current: {from: i, unit: A}, "
    )
    columns = columns.replace("{from: v}", "{from: v, unit: V}") + "input_power: {from: w, unit: W}}"
    found = read(tmp_path, f"{{file: a.txt, columns: {columns}}}", {"a.txt": text})
    assert found.file.delimiter == "spaces"
    table = found.good
    factor = table.column("input_power") / table.column("voltage") / table.column("current")
    assert factor == pytest.approx([0.659, 0.693, 0.904, 0.969], abs=0.002)  # printed by the meter, to its own rounding


def test_a_power_meter_log_of_padded_cells_and_stamps(tmp_path: Path) -> None:
    """The same source, g.txt: the first two lines of a log of one sample a second."""
    text = (
        "No.                \tTime               \tVoltage[ V ]       \tCurrent[ mA ]      \tActive Power[ W ]  \tPower Factor[ PF ] \n"
        "1                  \t2021-09-06 18:38:53\t166.0000           \t711.2000           \t47.4500            \t0.4010             \n"
        "2                  \t2021-09-06 18:38:54\t166.0000           \t711.8000           \t47.5200            \t0.4010             \n"
    )
    columns = (
        "{time: , voltage: , current: , input_power: {from: Active Power}, power_factor: {from: Power Factor, unit: 1}}"
    )
    found = read(tmp_path, f"{{file: g.txt, columns: {columns}}}", {"g.txt": text})
    table = found.good
    assert found.file.delimiter == "tab"
    assert table.column("time").tolist() == [0.0, 1.0]
    apparent = table.column("voltage") * table.column("current")
    assert apparent == pytest.approx([118.0592, 118.1588], abs=0.00005)  # as the meter printed it, VA


def test_a_decimal_comma_table(tmp_path: Path) -> None:
    """Load test at 415 V in a MATLAB lab script of the public code index (id 34875431915), six points."""
    text = (
        "V1_V;I1_A;P1_kW;Q1_kVAr;N_rpm;T_Nm;Va_V;Ia_A;Vf_V\n415,7;2,01;0,29;1,37;1470;-0,46;0;0;18,4\n"
        "415,3;2,13;0,64;1,37;1467;-2,83;60;0,08;71,7\n412,9;2,32;0,94;1,35;1462;-4,54;80;0,12;92,5\n"
    )
    columns = "{voltage: {from: V1}, current: {from: I1}, input_power: {from: P1}, speed: {from: N}, torque: {from: T}}"
    found = read(tmp_path, f"{{file: a.csv, columns: {columns}}}", {"a.csv": text})
    expected = np.genfromtxt(io.StringIO(text.replace(",", ".")), delimiter=";", names=True)
    assert found.file.decimal == "comma"
    assert found.good.column("voltage").tolist() == expected["V1_V"].tolist()
    assert found.good.column("input_power") == pytest.approx(1000 * expected["P1_kW"])
    assert found.good.column("speed") == pytest.approx(expected["N_rpm"] * np.pi / 30)


def test_a_brake_test_with_two_balances(tmp_path: Path) -> None:
    """Brake test on a dc shunt motor, Scilab script of the public code index (id 39752854486); its arithmetic is kept:
    1.5 N*m a kilogram, pi = 3.14, 224 V.
    """
    text = "# brake test, 224 V\ns1_kg,s2_kg,I_A,n_rpm\n2,0.7,2,1490\n3.7,1.3,3,1475\n4.8,1.6,4,1463\n5.7,1.7,5,1450\n6.8,2,6,1440\n"
    columns = "{scale: {from: s1}, scale_2: {from: s2}, current: {from: I}, speed: {from: n}}"
    table = read(tmp_path, f"{{file: a.csv, columns: {columns}}}", {"a.csv": text}).good
    turns = table.column("speed") / (2 * np.pi)
    output = 1.5 * (table.column("scale") - table.column("scale_2")) * 2 * 3.14 * turns
    efficiency = output / (224 * table.column("current"))
    assert efficiency == pytest.approx([0.6788, 0.8271, 0.8203, 0.8130, 0.8074], abs=0.00005)


def test_a_workbook_of_a_small_dc_motor(tmp_path: Path) -> None:
    """github.com/gkret123/DC-Motor-Data-Analysis, commit 972c5218: tests 1 to 3 at 5 V; its own result for the best of
    them is an efficiency of 0.330 at 36.2 rpm and 0.096 N*m (Motor_Properties.txt).
    """
    made = openpyxl.Workbook()
    sheet = made.active
    assert sheet is not None
    sheet.append(
        ["Test #", "Scale Reading (g)", "Tach Reading (RPM)", "Current Draw (A)", "Torque (N-m)", "Applied Voltage (v)"]
    )
    for row in ([1, 20.8, 53.9, 0.09, None, 5], [2, 141.3, 13.1, 0.38, None, 5], [3, 75.8, 36.2, 0.22, None, 5]):
        sheet.append(row)
    made.save(tmp_path / "motor.xlsx")
    columns = "{scale: {from: Scale Reading}, speed: {from: Tach Reading}, current: {from: Current Draw}, voltage: {from: Applied Voltage}}"
    table = read(tmp_path, f"{{file: motor.xlsx, columns: {columns}}}").good
    torque = (table.column("scale") - 0.0117) * 9.81 * 0.1525  # lever at the end 11.7 g, arm 15.25 cm
    efficiency = torque * table.column("speed") / table.column("voltage") / table.column("current")
    assert torque[2] == pytest.approx(0.096, abs=0.0005)
    assert efficiency.max() == pytest.approx(0.330, abs=0.0005)
    assert efficiency.argmax() == 2


def test_a_map_without_headers_behind_a_byte_order_mark(tmp_path: Path) -> None:
    """github.com/UCSolarCarTeam/Helios-Motor-Efficiency, commit 857ec0a4: rpm, N*m and per cent, three of its lines."""
    text = "\ufeff80,3.5,69.8\n80,6.5,77.2\n155,3.1,67.2\n"
    found = read(
        tmp_path, "{file: m.csv, columns: {speed: {from: 1, unit: rpm}, torque: {from: 2, unit: N*m}}}", {"m.csv": text}
    )
    assert found.good.column("torque").tolist() == [3.5, 6.5, 3.1]
    assert found.good.column("speed") == pytest.approx(np.array([80, 80, 155]) * np.pi / 30)
