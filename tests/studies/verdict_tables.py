"""The tables of the verdict study, in Markdown."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence

from simulated_tests.rig import QUALITIES
from simulated_tests.slips import KINDS, SIGN, TENFOLD, TENTH, UNIT_KINDS
from studies.verdict_records import ACCEPTED, CRASHED, REFUSED, Judged, Record, SlipTold, Told

#: Distance from the limit, in expanded uncertainties.
BINS = ((0.0, 0.5), (0.5, 1.0), (1.0, 2.0), (2.0, float("inf")))
_BIN_NAMES = ("0-0.5 U", "0.5-1 U", "1-2 U", "> 2 U", "no U stated")
_SIGMAS = ((3.0, 6.0), (6.0, 10.0), (10.0, 20.0), (20.0, float("inf")))
_COUNTS = ((1, 2), (3, 3), (4, 4), (5, 6), (7, 12))
_VOLTAGES = ((0.0, 0.005), (0.005, 0.02), (0.02, 0.05), (0.05, 0.1), (0.1, 0.2))
_PASS, _FAIL, _CONDITIONAL = "pass", "fail", ("conditional pass", "conditional fail")


def tables(records: Sequence[Record]) -> list[str]:
    """Every table of the study, each with its heading."""
    slips = [(one, one.slip) for one in records if one.slip is not None]
    return [
        _outcomes(records), _false_passes(records), _false_fails(records), _off_the_plate(records), _worst(records),
        _false_alarms(records), _slips_by_kind(slips), _slips_by_size(slips), _after_a_slip(slips), _silent(slips),
        _bars(records, slips), _units(records), *_crashes(records),
    ]  # fmt: skip


def _table(title: str, head: Sequence[str], rows: Iterable[Sequence[object]], note: str = "") -> str:
    lines = [f"**{title}**" + (f" {note}" if note else ""), "", _line(head), _line(["---"] * len(head))]
    return "\n".join([*lines, *(_line([str(cell) for cell in row]) for row in rows)])


def _line(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cells)} |"


def _share(part: int, whole: int) -> str:
    return "-" if not whole else f"{100.0 * part / whole:.1f} % of {whole}"


def _counted(part: int, whole: int) -> str:
    return f"{part}/{whole}" if whole else "-"


# Tests as they were made


def _called(told: Told) -> str:
    return f"{told.outcome} ({told.kind})" if told.kind else told.outcome


def _outcomes(records: Sequence[Record]) -> str:
    counts = Counter((_called(one.clean), one.quality) for one in records)
    names = sorted({name for name, _ in counts})
    rows = [[name, *(counts[name, quality] for quality in QUALITIES), sum(counts[name, one] for one in QUALITIES)]
            for name in names]  # fmt: skip
    short = Counter(_called(one.clean) for one in records if one.short)
    told = ", ".join(f"{count} {name}" for name, count in sorted(short.items())) or "none"
    note = f"Motors that have not the power their plate promises: {told}."
    return _table("Verdicts on tests without a slip.", ["verdict", *QUALITIES, "all"], rows, note)


def _off_the_plate(records: Sequence[Record]) -> str:
    rows = []
    for low, high in _VOLTAGES:
        ours = [one for one in records if low <= abs(one.voltage_off) < high]
        missed = [one for one in ours if (worst := _worst_of(one)) is not None and not worst.truly_met]
        met = [one for one in ours if one.clean.judged and _sound(one)]
        none = sum(one.clean.outcome in ("not tested", "no verdict") for one in ours)
        rows.append([f"{100 * low:g}-{100 * high:g} %", len(ours), none,
                     _share(sum(one.clean.outcome == _PASS for one in missed), len(missed)),
                     _share(sum(one.clean.outcome == _FAIL for one in met), len(met))])  # fmt: skip
    head = [
        "voltage off by",
        "tests",
        "no verdict",
        "passed, of those that truly miss a limit",
        "failed, of those that meet all",
    ]
    return _table("Verdicts by how far the supply's voltage was off the plate's.", head, rows)


def _bin(distance: float | None) -> int:
    if distance is None:
        return len(BINS)
    return next(number for number, (low, high) in enumerate(BINS) if low <= abs(distance) < high)


def _by_distance(cases: Iterable[tuple[float | None, bool]]) -> list[str]:
    """Wrong out of all, for each bin of distance."""
    all_of, wrong_of = Counter[int](), Counter[int]()
    for distance, wrong in cases:
        all_of[_bin(distance)] += 1
        wrong_of[_bin(distance)] += wrong
    return [_counted(wrong_of[number], all_of[number]) for number in range(len(_BIN_NAMES))]


def _findings(records: Sequence[Record]) -> dict[str, list[Judged]]:
    found: dict[str, list[Judged]] = {}
    for record in records:
        for one in record.clean.judged:
            found.setdefault(one.id, []).append(one)
    return dict(sorted(found.items()))


def _false_passes(records: Sequence[Record]) -> str:
    rows = []
    for name, found in _findings(records).items():
        outside = [one for one in found if not one.truly_met]
        rows.append([name, *_by_distance((one.distance, one.outcome == _PASS) for one in outside),
                     sum(one.outcome == _CONDITIONAL[0] for one in outside)])  # fmt: skip
    cases = [(worst.distance, record.clean.outcome == _PASS, record.clean.outcome == _CONDITIONAL[0])
             for record in records if (worst := _worst_of(record)) is not None and not worst.truly_met]  # fmt: skip
    rows.append(["**verdict**", *_by_distance((one[0], one[1]) for one in cases), sum(one[2] for one in cases)])
    note = "Passed, out of all that truly miss their limit by so much; conditional passes apart."
    return _table("False passes.", ["finding", *_BIN_NAMES, "conditional pass"], rows, note)


def _worst_of(record: Record) -> Judged | None:
    """Of the findings that matter, the one whose true value lies worst to its limit."""
    told = [one for one in record.clean.judged if one.matters]
    return min(told, key=_badness, default=None)


def _badness(one: Judged) -> float:
    if one.better:
        return float("inf")
    return one.distance if one.distance is not None else one.part * 50.0


def _false_fails(records: Sequence[Record]) -> str:
    rows = []
    for name, found in _findings(records).items():
        inside = [one for one in found if one.margin >= 0.0]
        rows.append([name, *_by_distance((one.distance, one.outcome == _FAIL) for one in inside),
                     sum(one.outcome == _CONDITIONAL[1] for one in inside),
                     sum(one.better and one.outcome == _FAIL for one in found)])  # fmt: skip
    sound = [record for record in records if record.clean.judged and _sound(record)]
    cases = [(_nearest_fault(record), record.clean.outcome == _FAIL) for record in sound]
    conditional = sum(record.clean.outcome == _CONDITIONAL[1] for record in sound)
    better = sum(record.clean.outcome == _FAIL and any(one.better for one in record.clean.judged) for record in sound)
    rows.append(["**verdict**", *_by_distance(cases), conditional, better])
    note = (
        "Failed, out of all that truly keep their limit by so much; conditional fails apart, and fails of values that are "
        "off on the side that harms nobody."
    )
    return _table("False fails.", ["finding", *_BIN_NAMES, "conditional fail", "better, yet failed"], rows, note)


def _sound(record: Record) -> bool:
    """Whether the motor truly meets everything that was judged and matters."""
    return not record.short and all(one.truly_met for one in record.clean.judged if one.matters)


def _nearest_fault(record: Record) -> float | None:
    """Of a failed test the true distance of what failed, the furthest inside first; else that of the nearest limit."""
    told = [one for one in record.clean.judged if one.matters and not one.better] or list(record.clean.judged)
    failed = [one for one in told if one.outcome == _FAIL]
    if failed:
        return max(failed, key=_badness).distance
    return min(told, key=_badness).distance


def _worst(records: Sequence[Record]) -> str:
    wrong = [(one.distance or 0.0, record, one) for record in records for one in record.clean.judged
             if one.distance is not None and abs(one.distance) > 2.0 and not one.better
             and ((one.outcome == _PASS and one.margin < 0.0) or (one.outcome == _FAIL and one.margin >= 0.0))]  # fmt: skip
    listed = sorted(wrong, key=lambda case: -abs(case[0]))[:12]
    rows = [[record.index, one.id, one.outcome, f"{distance:+.1f} U", f"{100.0 * one.part:+.1f} %", record.name,
             record.quality, record.points] for distance, record, one in listed]  # fmt: skip
    counts = Counter("1-2 rows" if record.points < 3 else "3 rows" if record.points == 3 else "4 rows and more"
                     for _, record, _ in wrong)  # fmt: skip
    note = (
        f"{len(wrong)} in all: {', '.join(f'{count} with {name}' for name, count in sorted(counts.items())) or 'none'}."
    )
    head = ["motor", "finding", "outcome", "truly inside by", "", "kind", "bench", "rows"]
    return _table("Wrong by more than 2 U; the furthest.", head, rows, note)


def _false_alarms(records: Sequence[Record]) -> str:
    rows = []
    for name in sorted({one.name for one in records}):
        ours = [one for one in records if one.name == name]
        usual, past = ([one for one in ours if one.past_breakdown is beyond] for beyond in (False, True))
        rows.append([name, *(_share(sum(one.clean.raised > 0 for one in group), len(group)) for group in (usual, past)),
                     sum(one.clean.outcome == REFUSED for one in ours)])  # fmt: skip
    usual, past = ([one for one in records if one.past_breakdown is beyond] for beyond in (False, True))
    rows.append(["**all**", *(_share(sum(one.clean.raised > 0 for one in group), len(group)) for group in (usual, past)),
                 sum(one.clean.outcome == REFUSED for one in records)])  # fmt: skip
    return _table("False alarms on tests without a slip.", ["motor", "usual tests", "past breakdown", "refused"], rows)


# Tests with one slip of the pen

_Case = tuple[Record, SlipTold]


def _visible(case: _Case) -> bool:
    """More than three standard deviations between rows and 2 % (0.2 % of a speed)."""
    slip = case[1]
    return slip.sigmas > 3.0 and slip.part > (0.002 if slip.column == "speed" else 0.02)


def _noticed(cases: Sequence[_Case]) -> str:
    return _counted(sum(slip.row_named or slip.told.noticed for _, slip in cases), len(cases))


def _slips_by_kind(slips: Sequence[_Case]) -> str:
    seen = [case for case in slips if _visible(case)]
    rows = []
    for kind in (*KINDS, "**all**"):
        ours = [case for case in seen if kind in (case[1].kind, "**all**")]
        cells = []
        for low, high in _COUNTS:
            of_size = [case for case in ours if low <= case[0].points <= high]
            cells += [_noticed([case for case in of_size if case[1].inner is inner]) for inner in (True, False)]
        rows.append([kind, *cells[1:]])  # one or two rows have no inner one
    head = ["slip", "1-2 rows"] + [f"{low if low == high else f'{low}-{high}'} rows, {place}"
                                   for low, high in _COUNTS[1:] for place in ("inner", "end")]  # fmt: skip
    note = (
        "Noticed out of all, where off by more than three standard deviations between rows and 2 % (0.2 % of a speed)."
    )
    return _table("Slips noticed, by kind.", head, rows, note)


def _slips_by_size(slips: Sequence[_Case]) -> str:
    rows = []
    for place, inner in (("inner", True), ("end", False)):
        for low, high in _SIGMAS:
            ours = [
                case
                for case in slips
                if case[0].points >= 4 and case[1].inner is inner and low <= case[1].sigmas < high
            ]
            right = sum(slip.row_named for _, slip in ours)
            rows.append(
                [place, f"{low:g}-{high:g}" if high < 1e9 else f"> {low:g}", _noticed(ours), _counted(right, len(ours))]
            )
    return _table(
        "Slips noticed, by size; four rows and more.", ["row", "standard deviations", "noticed", "right row"], rows
    )


def _after_a_slip(slips: Sequence[_Case]) -> str:
    counts = Counter((_called(slip.told), slip.kind) for _, slip in slips)
    outcomes = sorted({name for name, _ in counts})
    rows = [[kind, *(counts[name, kind] for name in outcomes)] for kind in KINDS]
    rows.append(["**all**", *(sum(counts[name, kind] for kind in KINDS) for name in outcomes)])
    return _table("Verdicts on tests with one slip.", ["slip", *outcomes], rows)


def _silent_pass(slip: SlipTold) -> bool:
    return slip.told.outcome == _PASS and not slip.told.noticed


def _silent(slips: Sequence[_Case]) -> str:
    """Silent passes beyond six standard deviations."""
    rows = []
    for kind in (*KINDS, "**all**"):
        ours = [case for case in slips if kind in (case[1].kind, "**all**") and case[1].sigmas > 6.0]
        inner = [case for case in ours if case[1].inner]
        passing = [case for case in ours if case[0].clean.outcome == _PASS]
        failing = [case for case in ours if case[0].clean.judged and not _sound(case[0])]
        rows.append([kind, *(_share(sum(_silent_pass(slip) for _, slip in group), len(group))
                             for group in (inner, ours, passing, failing))])  # fmt: skip
    head = ["slip", "inner rows", "all rows", "of tests that pass without it", "of motors that truly fail"]
    note = "Pass, and not a word of the slip, which is off by more than six standard deviations between rows."
    return _table("Silent passes.", head, rows, note)


def _bars(records: Sequence[Record], slips: Sequence[_Case]) -> str:
    """The rates that are asked for, beside what was reached."""
    levels = ("scale", "scale_2", "torque", "current", "input_power", "current_a", "current_b", "current_c")

    def rate(wanted: Callable[[Record, SlipTold], bool], good: Callable[[SlipTold], bool]) -> str:
        ours = [slip for record, slip in slips if not record.past_breakdown and wanted(record, slip)]
        return _share(sum(good(slip) for slip in ours), len(ours))

    def seen(slip: SlipTold) -> bool:
        return slip.row_named or slip.told.noticed

    def level(slip: SlipTold) -> bool:
        return slip.inner and slip.column in levels

    def speed(record: Record, slip: SlipTold) -> bool:
        return slip.inner and slip.column == "speed" and record.points >= 5 and "induction" in record.motor

    usual = [one for one in records if not one.past_breakdown]
    past = [one for one in records if one.past_breakdown]
    rows = [
        ["load, current, power: 20 sigma and 5 %, 5 rows and more", ">= 95 %",
         rate(lambda r, s: level(s) and r.points >= 5 and s.sigmas >= 20.0 and s.part >= 0.05, seen)],
        ["the same, 10 to 20 sigma and 2 %", ">= 65 %",
         rate(lambda r, s: level(s) and r.points >= 5 and 10.0 <= s.sigmas < 20.0 and s.part > 0.02, seen)],
        ["the same, 20 sigma and 8 %, 4 rows", ">= 92 %",
         rate(lambda r, s: level(s) and r.points == 4 and s.sigmas >= 20.0 and s.part >= 0.08, seen)],
        ["speed of induction motors, 0.2 to 0.5 of the slip, 5 rows and more", ">= 88 %",
         rate(lambda r, s: speed(r, s) and 0.2 <= s.part_of_slip < 0.5, seen)],
        ["speed of induction motors, 0.5 of the slip and more", ">= 97 %",
         rate(lambda r, s: speed(r, s) and s.part_of_slip >= 0.5, seen)],
        ["x10, /10, sign, 4 rows and more", ">= 98 %",
         rate(lambda r, s: s.inner and s.kind in (TENFOLD, TENTH, SIGN) and r.points >= 4 and s.sigmas > 3.0, seen)],
        ["right row of those noticed, 4 rows and more", ">= 97 %",
         rate(lambda r, s: r.points >= 4 and len(s.told.rows) > 0, lambda s: s.row_named)],
        ["silent passes, inner rows, beyond 6 sigma", "<= 3 %",
         rate(lambda r, s: s.inner and s.sigmas > 6.0, _silent_pass)],
        ["false alarms", "<= 0.5 %", _share(sum(one.clean.raised > 0 for one in usual), len(usual))],
        ["false alarms past breakdown", "<= 2 %", _share(sum(one.clean.raised > 0 for one in past), len(past))],
    ]  # fmt: skip
    return _table("What is asked, and what is reached (inner rows).", ["", "asked", "reached"], rows)


# A wrong unit for a whole column


def _units(records: Sequence[Record]) -> str:
    rows = []
    for kind in (*UNIT_KINDS, "**all**"):
        ours = [one.unit for one in records if one.unit is not None and kind in (one.unit_kind, "**all**")]
        silent = sum(one.outcome in ACCEPTED and not one.noticed for one in ours)
        fails = sum(one.outcome in (_FAIL, _CONDITIONAL[1]) and not one.noticed for one in ours)
        rows.append([kind, len(ours), _counted(sum(one.raised > 0 for one in ours), len(ours)),
                     sum(one.outcome == REFUSED for one in ours), silent, fails])  # fmt: skip
    head = ["wrong unit", "tests", "noticed", "refused", "accepted unnoticed", "failed unnoticed"]
    return _table("One wrong unit.", head, rows)


def _crashes(records: Sequence[Record]) -> list[str]:
    rows = []
    for record in records:
        told = {"clean": record.clean, "slip": record.slip.told if record.slip else None, "unit": record.unit}
        rows += [[record.index, name, one.message] for name, one in told.items() if one and one.outcome == CRASHED]
    return [_table("Crashes.", ["motor", "test", "message"], rows[:20])] if rows else []
