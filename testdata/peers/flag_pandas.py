"""A stock list of a million rows flagged with pandas.

The same work as the benchmark FlagMillion does: read the CSV, take the rows that
cannot be understood apart, hold what is of a class not known, work out when each batch ends (expiry on the label; opened
life of its class; the class's life from manufacture where no expiry is printed), sort
what has ended and what ends within 30 days by urgency, and write it as CSV. Usage, with
the list and the lives of the classes as the benchmark writes them:

  BEADLINE_STOCK=$PWD/stock.csv go test ./cmd/beadline -run xx -bench FlagMillion/likely
  python3 testdata/peers/flag_pandas.py stock.csv 2027-03-29 flagged.csv

The lives are beside the list, in stock.csv.lives: class, months of unopened life, months
of opened life, whether its life may be extended. Only what such a list has is worked
out: no thaws, no holds, no inspect dates, no words. It prints the time (best of three,
after a warm-up) and the counts that cmd/beadline/flagpeers_test.go holds Beadline's
against.
"""

import sys
import time

import numpy as np
import pandas as pd

DATES = ["dom", "expiry", "opened"]


def months_after(days, months):
    """Days so many months later, clamped to the end of the month, as int64 days since 1970."""
    d = days.to_numpy().astype("datetime64[D]")
    month = d.astype("datetime64[M]")
    known = ~np.isnat(d)
    to = month + np.where(known, months, 0).astype("timedelta64[M]")
    last = (to + 1).astype("datetime64[D]") - to.astype("datetime64[D]") - 1
    return to.astype("datetime64[D]") + np.minimum(d - month.astype("datetime64[D]"), last)


def flag(name, today, out):
    rows = pd.read_csv(name, dtype={"batch": str, "class": "category", "location": "category", "quantity": str, "unit": "category"})
    lives = pd.read_csv(name + ".lives").set_index("class")
    dates = {c: pd.to_datetime(rows[c], format="%Y-%m-%d", errors="coerce") for c in DATES}
    amount = pd.to_numeric(rows["quantity"], errors="coerce")
    bad = (amount.isna() & rows["quantity"].notna()) | (amount < 0) | rows["batch"].isna() | rows["class"].isna()
    for c in DATES:
        bad |= dates[c].isna() & rows[c].notna()

    day, far = np.datetime64(today), np.datetime64("9999-12-31")
    code = rows["class"].cat.codes.to_numpy()
    of_class = {c: lives[c].reindex(rows["class"].cat.categories).to_numpy()[code] for c in lives.columns}
    unknown = np.isnan(of_class["unopened"])
    extendable = unknown | (of_class["extendable"] == 1)
    printed = dates["expiry"].to_numpy().astype("datetime64[D]")
    computed = months_after(dates["dom"], np.where(unknown, 0, of_class["unopened"]))
    end = np.where(np.isnat(printed), computed, printed)
    opened = months_after(dates["opened"], np.where(unknown, 0, of_class["opened"]))
    opened = np.where(np.isnat(opened) | unknown, far, opened)
    past_end, past_opened = end < day, opened < day
    reject = past_end & ~extendable | past_opened
    hold = ~reject & (unknown | past_end)
    governs = np.minimum(end, opened)
    governs = np.where(reject, np.minimum(np.where(past_end & ~extendable, end, far), np.where(past_opened, opened, far)), governs)
    governs = np.where(hold, end, governs)
    soon = ~reject & ~hold & (governs <= day + 30)
    unread = bad.to_numpy() & ~reject
    section = np.select([reject, unread, hold, soon], [0, 2, 1, 3], 4)
    governs[unread | hold & unknown] = np.datetime64("NaT")
    counts = [int((section == s).sum()) for s in range(5)]
    rows["section"], rows["until"], rows["line"] = section, governs, np.arange(2, len(rows) + 2)
    told = rows[section < 4].sort_values(["section", "until", "line"], na_position="first")
    told.to_csv(out, index=False, columns=["section", "until", "line", "batch", "class", "dom", "expiry", "opened", "location", "quantity", "unit"])
    return len(rows), counts


if __name__ == "__main__":
    name, today, out = sys.argv[1:4]
    n, counts = flag(name, today, out)
    times = []
    for _ in range(3 if len(sys.argv) < 5 else int(sys.argv[4])):
        begin = time.perf_counter()
        flag(name, today, out)
        times.append(time.perf_counter() - begin)
    reject, hold, unread, soon, good = counts
    print(f"rows {n} reject {reject} hold {hold} unreadable {unread} use {soon + good} expiring {soon}")
    if times:
        print(f"pandas {1000 * min(times):.0f} ms")
