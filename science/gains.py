"""Strength gains of untrained people, for the priors of practice and trend.

    python3 science/gains.py

Reads data/strength_volume.csv (CC0, see data/README.md), writes results/gains.csv: mean, sd and number of people-legs of
the change in log 1RM between two tests, and the same per day. Tests: pre and session1 stand before the training, week2,
week5, week9 and post (week 12) in it; the days between are taken from those names.
"""
import csv
import math
import os
import statistics

HERE = os.path.dirname(os.path.abspath(__file__))
DAYS = {"session1": 0, "week2": 14, "week5": 35, "week9": 63, "post": 84}
PAIRS = [("pre", "session1"), ("session1", "week2"), ("week2", "week9"), ("week2", "post"), ("session1", "post"), ("pre", "post")]


def main():
    legs = {}
    with open(os.path.join(HERE, "data/strength_volume.csv"), newline="") as f:
        for r in csv.DictReader(f):
            if r["load"]:
                legs.setdefault((r["exercise"], r["sets"]), {}).setdefault((r["participant"], r["leg"]), {})[r["time"]] = float(r["load"])
    with open(os.path.join(HERE, "results/gains.csv"), "w", newline="") as f:
        w = csv.writer(f, lineterminator="\n")
        w.writerow(["exercise", "sets", "from", "to", "legs", "mean_log_gain", "sd", "mean_per_day"])
        for (exercise, sets), people in sorted(legs.items()):
            for a, b in PAIRS:
                gains = [math.log(t[b] / t[a]) for t in people.values() if t.get(a) and t.get(b)]
                per_day = "" if a == "pre" else "%.5f" % (statistics.mean(gains) / (DAYS[b] - DAYS[a]))
                w.writerow([exercise, sets, a, b, len(gains), "%.4f" % statistics.mean(gains), "%.4f" % statistics.stdev(gains), per_day])


main()
