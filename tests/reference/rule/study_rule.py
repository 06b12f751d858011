"""The rule alone on made photographs: ``python -m tests.reference.rule.study_rule [COUNT [SEED [flat|bent]]]``."""

from __future__ import annotations

import sys
from collections import Counter
from functools import partial

import numpy as np

from tests.in_processes import in_processes
from tests.reference.rule.rule_made import CASES, Judged, judge


def told(every: list[Judged]) -> str:
    """What came of the photographs: refusals, and how the lengths stand against their doubt."""
    lines = []
    for case in (*CASES, "all"):
        some = [one for one in every if case in ("all", one.case)]
        got = [one for one in some if not one.code]
        codes = dict(Counter(one.code for one in some if one.code))
        line = f"{case:6} {len(some):3} photographs, {len(got):3} found {codes}"
        if got:
            line += _row("across", np.concatenate([one.across for one in got]))
            line += _row("along", np.concatenate([one.along for one in got]))
            line += _row("tilt", np.array([one.tilt_deg for one in got]))
        lines.append(line)
    return "\n".join(lines)


def _row(name: str, pairs: np.ndarray) -> str:
    error, u = np.abs(pairs[:, 0]), pairs[:, 1]
    inside = np.mean(error <= 1.96 * u)
    worst, usual = np.percentile(error, 95), 1.96 * np.median(u)
    return f"\n       {name:6} {len(pairs):4}: 95 % {worst:.3f}, u95 {usual:.3f}, inside {inside:.1%}"


def main() -> None:
    """Make, judge and print."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    flat = (sys.argv[3] if len(sys.argv) > 3 else "flat") == "flat"
    every = in_processes(partial(judge, seed, flat=flat), range(count))
    print(told(every))
    for one in every:
        bad = "" if one.code else _worst(one)
        if one.code or bad:
            print(one.number, one.case, one.kind, one.code, bad, one.flags)


def _worst(one: Judged) -> str:
    names = [
        f"{name} {np.abs(pairs[:, 0] / pairs[:, 1]).max():.1f} u"
        for name in ("across", "along")
        if len(pairs := getattr(one, name)) and np.abs(pairs[:, 0] / pairs[:, 1]).max() > 2.5
    ]
    if one.tilt_deg is not None and abs(one.tilt_deg[0]) > 2.5 * one.tilt_deg[1]:
        names.append(f"tilt {one.tilt_deg[0]:.2f} of {one.tilt_deg[1]:.2f} deg")
    return ", ".join(names)


if __name__ == "__main__":
    main()
