"""Draws results/fatigue_residuals.csv as results/fatigue_residuals.svg.

    python3 science/fatigue_plot.py

One line a figure: published value at 0 with its tolerance as a bar; the engine's constants as a filled dot, the fit that
never saw the study as a ring. Horizontal: percent that the model is above (right) or below (left) the published value.
"""
import csv
import math
import os

HERE = os.path.dirname(os.path.abspath(__file__))
ROW, LEFT, WIDTH, REACH = 26, 250, 420, 40


def main():
    with open(os.path.join(HERE, "results/fatigue_residuals.csv"), newline="") as f:
        rows = list(csv.DictReader(f))
    height = ROW * (len(rows) + 3)
    x = lambda percent: LEFT + WIDTH * (max(-REACH, min(REACH, percent)) + REACH) / (2 * REACH)
    out = ['<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" font-family="sans-serif" font-size="13" '
           'role="img"><title>Model against published fatigue figures</title>' % (LEFT + WIDTH + 30, height),
           '<rect width="100%" height="100%" fill="white"/>']
    for percent in range(-REACH, REACH + 1, 10):
        out.append('<line x1="%g" x2="%g" y1="%d" y2="%d" stroke="%s"/>' % (x(percent), x(percent), ROW, height - 1.6 * ROW,
                                                                      "#444" if percent == 0 else "#ddd"))
        out.append('<text x="%g" y="%g" text-anchor="middle" fill="#444">%+d %%</text>' % (x(percent), height - ROW, percent))
    for i, r in enumerate(rows):
        y = ROW * (i + 1.5)
        published, tolerance = float(r["published"]), float(r["tolerance_percent"])
        percent = lambda key: 100 * math.log(float(r[key]) / published)
        out.append('<text x="8" y="%g">%s  %s</text>' % (y + 4, r["id"], r["study"]))
        out.append('<line x1="%g" x2="%g" y1="%g" y2="%g" stroke="#9bb" stroke-width="9"/>' % (x(-tolerance), x(tolerance), y, y))
        out.append('<circle cx="%g" cy="%g" r="6" fill="none" stroke="#a40" stroke-width="2"/>' % (x(percent("study_left_out")), y))
        out.append('<circle cx="%g" cy="%g" r="4" fill="#036"/>' % (x(percent("engine")), y))
    out.append('<text x="8" y="%g" fill="#444">bar: tolerance; dot: the engine\'s constants; ring: fitted without the study</text>' % (height - 6))
    out.append("</svg>")
    with open(os.path.join(HERE, "results/fatigue_residuals.svg"), "w") as f:
        f.write("\n".join(out) + "\n")


main()
