"""A stock list of a million rows flagged by one SQLite query.

The same work as flag_pandas.py does, which says what that is and where its files come
from. The rows are brought into a table first, as text; that is timed by itself. Usage:

  python3 testdata/peers/flag_sqlite.py stock.csv 2027-03-29 flagged.csv
"""

import csv
import sqlite3
import sys
import time

# Months later, clamped to the end of the month; SQLite's own '+n months' runs over.
LATER = """min(date({day}, '+' || {months} || ' months'),
             date({day}, 'start of month', '+' || ({months} + 1) || ' months', '-1 day'))"""

QUERY = """
with dated as (
  select s.rowid + 1 as line, s.*, l.class is null as unknown, l.class is null or l.extendable as extendable,
    case when s.expiry <> '' then s.expiry else {computed} end as ends,
    case when s.opened <> '' and l.class is not null then {opened} else '9999' end as opened_ends,
    s.quantity glob '*[^0-9.]*' or s.batch = '' or s.class = ''
      or s.dom <> '' and date(s.dom) is not s.dom or s.expiry <> '' and date(s.expiry) is not s.expiry
      or s.opened <> '' and date(s.opened) is not s.opened as bad
  from stock s left join lives l on l.class = s.class
), judged as (
  select *,
    case when opened_ends < :day or ends < :day and not extendable then 0
         when bad then 2 when unknown or ends < :day then 1
         when min(ends, opened_ends) <= date(:day, '+30 days') then 3 else 4 end as section
  from dated
)
select section, case when section = 2 or section = 1 and unknown then null when section = 1 then ends
    when section = 0 and extendable then opened_ends else min(ends, opened_ends) end as until,
  line, batch, class, dom, expiry, opened, location, quantity, unit
from judged {only} order by section, until, line
""".replace("{computed}", LATER.format(day="s.dom", months="l.unopened")).replace("{opened}", LATER.format(day="s.opened", months="l.opened"))


def bring(name):
    db = sqlite3.connect(":memory:")
    db.execute("create table stock (batch text, class text, dom text, expiry text, opened text, location text, quantity text, unit text)")
    db.execute("create table lives (class text primary key, unopened int, opened int, extendable int)")
    with open(name, newline="") as f:
        rows = csv.reader(f)
        next(rows)
        db.executemany("insert into stock values (?,?,?,?,?,?,?,?)", rows)
    with open(name + ".lives", newline="") as f:
        rows = csv.reader(f)
        next(rows)
        db.executemany("insert into lives values (?,?,?,?)", rows)
    db.commit()
    return db


def flag(db, today, out):
    with open(out, "w", newline="") as f:
        w = csv.writer(f)
        w.writerow(["section", "until", "line", "batch", "class", "dom", "expiry", "opened", "location", "quantity", "unit"])
        w.writerows(db.execute(QUERY.replace("{only}", "where section < 4"), {"day": today}))


if __name__ == "__main__":
    name, today, out = sys.argv[1:4]
    begin = time.perf_counter()
    db = bring(name)
    brought = time.perf_counter() - begin
    times = []
    flag(db, today, out)
    for _ in range(3 if len(sys.argv) < 5 else int(sys.argv[4])):
        begin = time.perf_counter()
        flag(db, today, out)
        times.append(time.perf_counter() - begin)
    counts = dict(db.execute("select section, count(*) from (" + QUERY.replace("{only}", "").replace("order by section, until, line", "") + ") group by section", {"day": today}))
    reject, hold, unread, soon, good = (counts.get(s, 0) for s in range(5))
    print(f"rows {reject + hold + unread + soon + good} reject {reject} hold {hold} unreadable {unread} use {soon + good} expiring {soon}")
    if times:
        print(f"sqlite {1000 * min(times):.0f} ms, with the import {1000 * (min(times) + brought):.0f} ms")
