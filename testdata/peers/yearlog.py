"""A year of 1-min air log and the milestones of polysulfide-b-2, with pandas and NumPy.

The same work as the benchmark YearLog does: read the CSV, add up the progress of each
milestone along its own line at every reading, and ask when it is reached. Usage, with
the log that the benchmark writes:

  BEADLINE_YEAR=$PWD/year.csv go test ./cmd/beadline/desk -run xx -bench YearLog
  python3 testdata/peers/yearlog.py year.csv

It prints the time of each part (best of five, after a warm-up) and the answers that
cmd/beadline/desk/yearlog_test.go holds Beadline's against. Progress is added up by the
midpoint rule, a minute at a time where it is timed and a twentieth of a minute at a time
for the answers; curves, credit, dry rule and lines are those of the
class as `beadline class show polysulfide-b-2` prints them.
"""

import sys
import time

import numpy as np
import pandas as pd

FLOOR, CEILING, REF, CREDIT_TO = -1.0, 49.0, 25.0, 40.0
MIN_RH = 40.0
HOURS = {"application": 2, "tack-free": 40, "handling": 40, "cure": 72, "full-cure": 14 * 24}


def read(name):
    return pd.read_csv(name, parse_dates=["time"])


def saturation(c):
    return 6.112 * np.exp(17.62 * c / (243.12 + c))  # WMO-No. 8, hPa


def progress(log, parts=1):
    """Progress at every reading, by milestone: midpoint rule in parts of a minute."""
    t = log["time"].astype("int64").to_numpy() / 1e9
    c = log["temp_c"].to_numpy()
    pv = log["rh_pct"].to_numpy() / 100 * saturation(c)
    sums = {name: np.zeros(len(t)) for name in HOURS}
    for k in range(parts):
        f = (k + 0.5) / parts  # temperature and vapour run straight between readings
        cm = c[:-1] + f * np.diff(c)
        dry = pv[:-1] + f * np.diff(pv) < MIN_RH / 100 * saturation(cm)
        for name, hours in HOURS.items():
            rated = hours * 3600.0
            if name == "application":  # not after: the smaller of rated time and curve
                rate = 1 / np.minimum(rated, rated * np.exp2((REF - np.maximum(cm, FLOOR)) / 10))
            else:  # not before: the larger, warmth only by the credit
                curve = rated * np.exp2((REF - np.minimum(cm, CEILING)) / 10)
                credit = rated * np.exp2((REF - np.minimum(cm, CREDIT_TO)) / 15)
                rate = 1 / np.where(cm > REF, np.maximum(credit, curve), curve)
                rate[(cm < FLOOR) | dry] = 0
            sums[name][1:] += np.diff(t) / parts * rate
    return t, {name: np.cumsum(s) for name, s in sums.items()}


def reached(t, sums, start):
    """When each milestone is reached if started at start, s since 1970."""
    out = {}
    for name, s in sums.items():
        target = np.interp(start, t, s) + 1
        out[name] = np.interp(target, s, t) if target <= s[-1] else np.nan
    return out


def best(f, *args):
    f(*args)
    times = []
    for _ in range(5):
        begin = time.perf_counter()
        result = f(*args)
        times.append(time.perf_counter() - begin)
    return min(times), result


if __name__ == "__main__":
    seconds, log = best(read, sys.argv[1])
    print(f"pandas  read                {1000 * seconds:8.1f} ms  ({len(log)} rows)")
    seconds, (t, sums) = best(progress, log)
    print(f"numpy   all milestones      {1000 * seconds:8.1f} ms")
    start = np.datetime64("2027-03-01T07:00:00").astype("datetime64[s]").astype(float)
    seconds, _ = best(reached, t, sums, start)
    print(f"numpy   one reached-when    {1e9 * seconds / len(sums):8.0f} ns")
    t, sums = progress(log, 20)
    for day in ("2027-01-20T07:00:00", "2027-03-01T07:00:00", "2027-05-10T16:30:00", "2027-07-15T12:00:00"):
        start = np.datetime64(day).astype("datetime64[s]").astype(float)
        for name, at in reached(t, sums, start).items():
            print(f"{day}Z,{name},{(at - start) / 3600:.3f}")
