"""The capacity curve against published mean repetitions: k of every row, the shape p of each class, the spread of k.

    python3 science/curve_fit.py

Reads data/curve_figures.csv, writes results/curve.csv (k of every row), results/curve_shape.csv (misfit by p) and
results/curve_spread.csv (sd of reps predicted by sd of log k). Mean reps are whole: half a rep is added.
"""
import csv
import math
import os
import random

HERE = os.path.dirname(os.path.abspath(__file__))


def rise(x, p):
    return x if abs(p) < 1e-9 else math.expm1(p * x) / p


def endurance(reps, percent, p):
    return (reps + 0.5 - 1) / rise(-math.log(percent / 100), p)


def main():
    with open(os.path.join(HERE, "data/curve_figures.csv"), newline="") as f:
        rows = list(csv.DictReader(f))
    for r in rows:
        r["percent"], r["reps"] = float(r["percent_of_1rm"]), float(r["mean_reps"])
    with open(os.path.join(HERE, "results/curve.csv"), "w", newline="") as f:
        w = csv.writer(f, lineterminator="\n")
        w.writerow(["id", "class", "exercise", "people", "percent_of_1rm", "mean_reps", "k_p1", "k_p0.2", "k_p0", "status"])
        for r in rows:
            k = ["%.1f" % endurance(r["reps"], r["percent"], p) for p in (1, 0.2, 0)]
            w.writerow([r["id"], r["class"], r["exercise"], r["people"], r["percent_of_1rm"], r["mean_reps"], *k, r["status"]])

    # Shape: one p per class, one k per group of people at one exercise; spread of log k within groups is the misfit.
    def misfit(group_rows, p):
        groups = {}
        for r in group_rows:
            groups.setdefault((r["exercise"], r["people"], r["source"]), []).append(math.log(endurance(r["reps"], r["percent"], p)))
        square = count = 0
        for ks in groups.values():
            mean = sum(ks) / len(ks)
            square += sum((k - mean) ** 2 for k in ks)
            count += len(ks) - 1
        return math.sqrt(square / count) if count else float("nan")

    shapes = [1.5, 1.0, 0.75, 0.5, 0.2, 0.0, -0.25, -0.5, -0.75, -1.0, -1.5]
    with open(os.path.join(HERE, "results/curve_shape.csv"), "w", newline="") as f:
        w = csv.writer(f, lineterminator="\n")
        w.writerow(["rows"] + ["p=%g" % p for p in shapes])
        sets = {"bench press and squat, 60 % and above": [r for r in rows if r["class"] == "barbell compound"],
                "leg press, 70 % and above": [r for r in rows if r["exercise"] == "leg press" and r["percent"] >= 70],
                "machine compounds, 40-80 % (from memory)": [r for r in rows if r["class"] == "supported compound" and r["status"] == "MEMORY"],
                "single-joint, 40-80 % (from memory)": [r for r in rows if r["class"] == "isolation" and r["status"] == "MEMORY"],
                "single-joint, 60-80 % (from memory)": [r for r in rows if r["class"] == "isolation" and r["status"] == "MEMORY" and r["percent"] >= 60],
                "knee extension, 30 and 80 % (means of 3 sets)": [r for r in rows if r["id"] in ("T05-013", "T05-017")]}
        for name, chosen in sets.items():
            w.writerow([name] + ["%.3f" % misfit(chosen, p) for p in shapes])
    isolation = [math.log(endurance(r["reps"], r["percent"], 0.2)) for r in rows if r["class"] == "isolation" and r["percent"] >= 60]
    mean = sum(isolation) / len(isolation)
    print("single-joint, 60-80 %%, p = 0.2: k %.1f, sd of log %.2f over %d rows" % (
        math.exp(mean), math.sqrt(sum((k - mean) ** 2 for k in isolation) / (len(isolation) - 1)), len(isolation)))

    # Spread between people: bench press k, noise 0.025 in the strength test and again in the set, whole reps.
    published = {80: 2.51, 70: 3.44, 60: 4.36}  # T01-012, T01-015, T01-013
    generator = random.Random(1)
    people = [(generator.gauss(0, 1), generator.gauss(0, 1), generator.gauss(0, 1)) for _ in range(40000)]
    with open(os.path.join(HERE, "results/curve_spread.csv"), "w", newline="") as f:
        w = csv.writer(f, lineterminator="\n")
        w.writerow(["sd_of_log_k"] + ["sd_reps_%d" % p for p in published] + ["rms_log_ratio"])
        w.writerow(["published"] + list(published.values()) + [""])
        for s in [0.14, 0.16, 0.18, 0.20, 0.22, 0.24, 0.26, 0.30]:
            out = []
            for percent in published:
                reps = [math.floor(1 + 32 * math.exp(s * a) * math.expm1(-math.log(percent / 100) + 0.025 * (b + c))) for a, b, c in people]
                mean = sum(reps) / len(reps)
                out.append(math.sqrt(sum((r - mean) ** 2 for r in reps) / (len(reps) - 1)))
            rms = math.sqrt(sum(math.log(o / p) ** 2 for o, p in zip(out, published.values())) / 3)
            w.writerow([s] + ["%.2f" % o for o in out] + ["%.3f" % rms])


main()
