"""Least squares with coefficients from 0 on, solved by scipy, to be compared with `analysis::fit`.

    pip install scipy
    python benches/peers/nnls_scipy.py --out tests/published/nnls_scipy.json

The problems are print runs: a column of ones, layers and volumes, and times with some noise; in some of them a coefficient would be
negative. `tests/it/published/fits.rs` reads the file.
"""

import argparse
import json
import random

import numpy
import scipy
from scipy.optimize import nnls


def problem(dice, rows, columns, slope):
    table = []
    for _ in range(rows):
        layers, volume = dice.randint(100, 2500), round(dice.uniform(5, 400), 3)
        table.append([1.0, float(layers), volume][:columns])
    truth = [dice.uniform(0, 900), dice.uniform(2, 15), slope * dice.uniform(0, 4)][:columns]
    wanted = [
        round(sum(a * x for a, x in zip(row, truth)) + dice.gauss(0, 60), 3) for row in table
    ]
    return table, wanted


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--out", required=True)
    out = parser.parse_args().out
    dice = random.Random(20260302)
    cases = []
    for number in range(40):
        columns = 1 + number % 3
        rows = columns + 2 + dice.randint(0, 20)
        # Every second problem falls with the volume: the answer has a 0 in it.
        table, wanted = problem(dice, rows, columns, -1.0 if number % 2 == 0 else 1.0)
        found, rest = nnls(numpy.array(table), numpy.array(wanted))
        cases.append(
            {"rows": table, "wanted": wanted, "coefficients": list(found), "rest": float(rest)}
        )
    tool = {"scipy": scipy.__version__, "numpy": numpy.__version__, "function": "scipy.optimize.nnls"}
    with open(out, "w", encoding="utf-8") as file:
        json.dump({"tool": tool, "cases": cases}, file, indent=1)
        file.write("\n")
    zeros = sum(any(c == 0 for c in case["coefficients"]) for case in cases)
    print(f"{len(cases)} problems, {zeros} with a coefficient of 0")


main()
