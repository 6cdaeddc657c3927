"""Two tables of schedbench side by side: the same instances, answered by two programs.

  python3 testdata/peers/schedbench_ratio.py ours.csv theirs.csv

Says how many each decided, how far apart their schedules are, and how many times as long
the second took. An instance that one of them has not is named. Exit code 1 if their
answers contradict each other.
"""

import csv
import statistics
import sys


def table(path):
    with open(path, encoding="utf-8", newline="") as f:
        return {(row["instance"], n): row for row, n in numbered(csv.DictReader(f))}


def numbered(rows):
    """Instances of two sets may have one name: the n-th of one is the n-th of the other."""
    seen = {}
    for row in rows:
        seen[row["instance"]] = seen.get(row["instance"], 0) + 1
        yield row, seen[row["instance"]]


def decided(row):
    return row["status"] in ("optimal", "infeasible")


def contradict(a, b):
    if a["status"] == "infeasible":
        return b["status"] in ("optimal", "feasible")
    return a["status"] == "optimal" and b["makespan"] != "" and int(b["makespan"]) < int(a["makespan"])


def main(ours, theirs):
    a, b = table(ours), table(theirs)
    for key in sorted(set(a) ^ set(b)):
        print(f"{key[0]}: only in {ours if key in a else theirs}")
    both = [key for key in a if key in b]
    bad = [key[0] for key in both if contradict(a[key], b[key]) or contradict(b[key], a[key])]
    for name in bad:
        print(f"{name}: the answers contradict each other")
    for name, t in ((ours, a), (theirs, b)):
        ms = sorted(float(t[key]["ms"]) for key in both)
        print(f"{name}: {sum(decided(t[key]) for key in both)} of {len(both)} decided, "
              f"ms median {statistics.median(ms):.3f}, worst {ms[-1]:.3f}, sum {sum(ms):.3f}")
    spans = [(int(a[key]["makespan"]), int(b[key]["makespan"])) for key in both if a[key]["makespan"] and b[key]["makespan"]]
    if spans:
        print(f"schedules of the second are {100 * (sum(y for _, y in spans) / max(1, sum(x for x, _ in spans)) - 1):.2f} % longer, of {len(spans)} that both have")
    shared = [key for key in both if decided(a[key]) and decided(b[key])]
    if shared:
        # A clock that shows whole milliseconds says nothing below one.
        ratios = [max(float(b[key]["ms"]), 0.001) / max(float(a[key]["ms"]), 0.001) for key in shared]
        x, y = (sum(float(t[key]["ms"]) for key in shared) for t in (a, b))
        print(f"of {len(shared)} decided by both: the second took {y / max(x, 0.001):.1f} times as long in all, {statistics.median(ratios):.1f} times in the median")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:3]))
