"""Benchmark instances of scheduling solved by general-purpose constraint solvers.

The same work as schedbench does, by MiniZinc: reads .sm and .sch instances, told by what
is in them, gives rcpsp.mzn and each of them to a solver, and prints the same CSV. Usage:

  apt-get install minizinc          # Debian; brings Gecode, the solver unless said
  python3 testdata/peers/schedbench_minizinc.py --limit 10 j30/*.sm > rows.csv

Chuffed, a solver that learns from conflicts, is not packaged by Debian. The npm package
"minizinc" has it as WebAssembly, slower than it would be as a program of its own;
minizinc_npm.mjs says how to get it:

  python3 testdata/peers/schedbench_minizinc.py --npm package --solver chuffed FILES

ms is the solver's own time as it says it: reading the instance, starting programs and
turning the model into the solver's form are not counted, and the limit is for the solver
alone. --whole counts everything. bound is there only for what is proven: the solvers
tell none on the way.
"""

import argparse
import csv
import json
import os
import re
import subprocess
import sys
import tempfile
import time

HERE = os.path.dirname(os.path.abspath(__file__))

# How each solver is asked, and whether it learns; see rcpsp.mzn for the choice.
SOLVERS = {"gecode": (["--fzn-flags", "-restart luby"], False), "chuffed": (["-f"], True)}


def read(path):
    """An instance as the model's data: lags from start to start, activities from 1."""
    with open(path, encoding="utf-8") as f:
        rows = [line.split() for line in f if line.strip()]
    if any(row[0] == "PRECEDENCE" for row in rows):
        return read_sm(rows)
    return read_sch(rows)


def read_sm(rows):
    def section(title):
        begin = next(i for i, row in enumerate(rows) if row[0].startswith(title)) + 2
        end = next((i for i in range(begin, len(rows)) if rows[i][0].startswith("**")), len(rows))
        return [[int(w) for w in row] for row in rows[begin:end] if not row[0].startswith("--")]

    work = section("REQUESTS/DURATIONS")
    durations = [row[2] for row in work]
    lags = [(row[0], to, durations[row[0] - 1]) for row in section("PRECEDENCE") for to in row[3:]]
    return data(durations, [row[3:] for row in work], section("RESOURCEAVAILABILITIES")[0], lags)


def read_sch(rows):
    n = int(rows[0][0]) + 2
    lags = []
    for row in rows[1:1 + n]:
        k = int(row[2])
        lags += [(int(row[0]) + 1, int(to) + 1, int(w.strip("[]"))) for to, w in zip(row[3:3 + k], row[3 + k:])]
    work = [[int(w) for w in row] for row in rows[1 + n:1 + 2 * n]]
    units = [int(w) for w in rows[1 + 2 * n]]
    return data([row[2] for row in work], [row[3:] for row in work], units, lags)


def data(durations, requests, units, lags):
    longest = list(durations)
    for a, _, length in lags:
        longest[a - 1] = max(longest[a - 1], length)
    return {
        "activities": len(durations), "resources": len(units), "lags": len(lags), "horizon": sum(longest),
        "duration": durations, "units": units, "request": [list(r) for r in zip(*requests)],
        "from": [a for a, _, _ in lags], "to": [b for _, b, _ in lags], "length": [w for _, _, w in lags],
    }


def command(options):
    if options.npm:
        return ["node", os.path.join(HERE, "minizinc_npm.mjs"), options.npm]
    return ["minizinc"]


def solve(instance, options):
    """Status, makespan or None, and milliseconds."""
    flags, learns = SOLVERS[options.solver]
    with tempfile.NamedTemporaryFile("w", suffix=".json") as f:
        json.dump(dict(instance, learns=learns), f)
        f.flush()
        begin = time.perf_counter()
        run = subprocess.run(
            command(options) + ["--solver", options.solver, "--solver-time-limit", str(round(1000 * options.limit)), "--intermediate",
                                "--statistics", *flags, os.path.join(HERE, "rcpsp.mzn"), f.name],
            capture_output=True, text=True, check=False)
        ms = 1000 * (time.perf_counter() - begin)
    if run.returncode or "=====ERROR=====" in run.stdout:
        raise RuntimeError((run.stderr or run.stdout).strip().splitlines()[-1])
    if not options.whole:  # what is proven in translation never comes to the solver
        own = re.findall(r"mzn-stat: solveTime=([0-9.e+-]+)", run.stdout)
        ms = 1000 * float(own[-1]) if own else 0
    spans = re.findall(r"^makespan (\d+)$", run.stdout, re.M)
    if "=====UNSATISFIABLE=====" in run.stdout:
        return "infeasible", None, ms
    if not spans:
        return "unknown", None, ms
    return "optimal" if "\n==========" in run.stdout else "feasible", int(spans[-1]), ms


def main():
    parser = argparse.ArgumentParser(description="Benchmark instances solved by general-purpose constraint solvers.")
    parser.add_argument("--limit", type=float, default=10, help="seconds for each instance (default 10)")
    parser.add_argument("--solver", choices=SOLVERS, default="gecode")
    parser.add_argument("--npm", metavar="FOLDER", help='the unpacked npm package "minizinc"')
    parser.add_argument("--whole", action="store_true", help="count reading, starting and translating too")
    parser.add_argument("files", nargs="+")
    options = parser.parse_args()
    rows = csv.writer(sys.stdout, lineterminator="\n")
    rows.writerow(["instance", "status", "makespan", "bound", "ms"])
    bad = 0
    for path in options.files:
        try:
            status, makespan, ms = solve(read(path), options)
        except (OSError, ValueError, IndexError, StopIteration, RuntimeError) as e:
            print(f"error: {path}: {e or type(e).__name__}", file=sys.stderr)
            bad = 1
            continue
        bound = makespan if status == "optimal" else None
        rows.writerow([os.path.basename(path), status, makespan, bound, f"{ms:.3f}"])
        sys.stdout.flush()
    return bad


if __name__ == "__main__":
    sys.exit(main())
