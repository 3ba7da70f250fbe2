"""Times `flipcount sweep` against numpy and against a spreadsheet that LibreOffice recalculates, on the same points of the same question.

    python benches/peers/sweep.py [--command FLIPCOUNT] [--rounds K] [--sheet] [--out OUT.json]

The question: two plans of one part (`sweep/scenario.toml`) under every combination of an hour's worth, the price of resin and the price of a
piece; three totals of each plan and the plan of the verdict. numpy works out each entry for all points at once, and once for all six iterations,
which a ledger has six times. The spreadsheet has a row for each point and a cell for each of the ledger's entries; `sweep_sheet.py` runs in
the Python that has the office's own library (`uno`) and times one recalculation of all cells. Days follow from no price: they are taken from
`compare --json`.

Counted is CPU time, the least of the rounds: of flipcount its whole process, which also reads the scenario with each value, without a table (`numpy`,
which writes none) and with one as CSV; of numpy the arrays and the count of winners; of the office the recalculation alone. Ratios are printed
only if every amount of every point is the same to the last cent and every verdict too; else what differs is printed and the exit code is 1.
Growth: how many times the time ten times the points take. Needs numpy; for the spreadsheet libreoffice-calc and python3-uno.
"""

import argparse
import csv
import json
import pathlib
import platform
import resource
import shutil
import subprocess
import sys
import tempfile
import time

import numpy as np

HERE = pathlib.Path(__file__).resolve().parent
SIZES = {1_000: (10, 10, 10), 10_000: (20, 20, 25), 100_000: (40, 50, 50), 1_000_000: (100, 100, 100)}
KEYS = ("labour", "route[bench].resin", "route[print house].piece")
PLANS = ("float bung = bench", "float bung = print house")
ITERATIONS, SPOIL, ATTENDED, ORDER_TIME = 6, 0.12, 2.1, 20 / 60
SOLID, LOSS, FIRST, DELIVERY, CLOSE = 92 * 1.25, 10, 60.0, 24.0, 0.05


def axes(size):
    steps = ((20, 0.5), (100, 1.0), (80, 0.75))
    return [first + step * np.arange(count) for count, (first, step) in zip(SIZES[size], steps)]


def arguments(size):
    units = (" per h", " per L", "")
    result = []
    for key, values, unit in zip(KEYS, axes(size), units):
        step = values[1] - values[0]
        result += ["--vary", f"{key}={values[0]:g}..{values[-1]:g}/{step:g}{unit}"]
    return result


def cents(amounts):
    """Half away from zero, in cents."""
    return np.floor(amounts * 100 + 0.5)


def executions():
    return 1 / (1 - SPOIL)


def resin():
    """Millilitres of a print, in millionths as a ledger has them."""
    return round(executions() * (SOLID + LOSS), 6)


def with_numpy(size, days):
    """Three totals of each plan in cents, and the plan of the verdict, for all points."""
    labour, price, piece = (a.ravel() for a in np.meshgrid(*axes(size), indexing="ij"))
    work = cents(ATTENDED * executions() * labour)
    paid = cents(resin() * price / 1000)
    order = cents(ORDER_TIME * labour)
    out = cents(piece) + DELIVERY * 100
    first = FIRST * 100
    bench = [first + ITERATIONS * (work + paid), first + ITERATIONS * paid, ITERATIONS * (work + paid)]
    house = [ITERATIONS * (order + out), ITERATIONS * out, ITERATIONS * (order + out)]
    least = np.minimum(bench[0], house[0]) * (1 + CLOSE)
    both = (bench[0] <= least) & (house[0] <= least)
    quicker = 0 if days[0] <= days[1] else 1
    winner = np.where(both, quicker, np.where(bench[0] < house[0], 0, 1))
    return np.array([bench, house]), winner, np.bincount(winner, minlength=2)


def cpu(work):
    begun = time.process_time()
    result = work()
    return time.process_time() - begun, result


def children(args):
    """CPU seconds of a command."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(args, check=True, capture_output=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def table(file, size):
    """What flipcount wrote: totals in cents by plan, total and point, and the plan of the verdict."""
    totals, winner = np.zeros((2, 3, size)), np.full(size, -1)
    with open(file, newline="", encoding="utf-8") as lines:
        rows = csv.reader(lines)
        head = next(rows)
        plan, verdict = head.index("plan"), head.index("verdict")
        money = [head.index(name) for name in ("avoidable", "outlay", "consumed")]
        for n, row in enumerate(rows):
            which = PLANS.index(row[plan])
            for k, at in enumerate(money):
                totals[which, k, n // 2] = float(row[at].replace(".", ""))
            if row[verdict] == "yes":
                winner[n // 2] = which
    return totals, winner


def differ(name, size, ours, theirs):
    """Prints what differs; true if anything does."""
    (totals, winner), (others, chosen) = ours, theirs
    wrong = int((totals != others).any(axis=(0, 1)).sum()), int((winner != chosen).sum())
    if any(wrong):
        print(f"{name}, {size} points: {wrong[0]} points with other amounts, {wrong[1]} with another verdict")
    return any(wrong)


def sheet(size, days, folder):
    """CPU seconds of a recalculation, and what the cells come to."""
    values = [a.tolist() for a in axes(size)]
    asked = folder / "sheet.json"
    told = folder / "sheet-told.json"
    constants = dict(iterations=ITERATIONS, work=ATTENDED * executions(), order=ORDER_TIME, resin=resin() / 1000, delivery=DELIVERY, first=FIRST)
    asked.write_text(json.dumps(dict(axes=values, constants=constants, close=CLOSE, days=days, out=str(told))))
    subprocess.run(["/usr/bin/python3", str(HERE / "sweep_sheet.py"), str(asked)], check=True)
    answer = json.loads(told.read_text())
    return answer["cpu"], (np.array(answer["totals"]), np.array(answer["winner"])), answer["cells"], answer["office"]


def growth(name, times):
    sizes = sorted(times)
    for small, large in zip(sizes, sizes[1:]):
        print(f"  {name}: {small} to {large} points: {times[large] / times[small]:.1f} times the time")


def main():
    parse = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parse.add_argument("--command", default="target/release/flipcount")
    parse.add_argument("--rounds", type=int, default=3)
    parse.add_argument("--sheet", action="store_true", help="the spreadsheet too")
    parse.add_argument("--out")
    args = parse.parse_args()
    command = shutil.which(args.command) or sys.exit(f"no command {args.command}")
    scenario = str(HERE / "sweep")
    answer = json.loads(subprocess.run([command, "compare", scenario, "--json", "--samples", "0"], check=True, capture_output=True).stdout)
    by_name = {plan["name"]: plan for plan in answer["plans"]}
    days = [by_name[name]["curves"]["days"][ITERATIONS - 1] for name in PLANS]
    kept = dict(numpy=np.__version__, python=platform.python_version(), sizes={})
    wrong = False
    times = {"flipcount": {}, "flipcount with CSV": {}, "numpy": {}, "spreadsheet": {}}
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        for size in SIZES:
            file = folder / "table.csv"
            ask = [command, "sweep", scenario, *arguments(size), "--threads", "1"]
            rounds = {"flipcount": [], "flipcount with CSV": [], "numpy": []}
            for _ in range(args.rounds):
                rounds["flipcount"].append(children(ask))
                rounds["flipcount with CSV"].append(children([*ask, "-o", str(file), "--force"]))
                seconds, (totals, winner, _) = cpu(lambda: with_numpy(size, days))
                rounds["numpy"].append(seconds)
            ours = table(file, size)
            wrong |= differ("numpy", size, ours, (totals, winner))
            if args.sheet and size <= 100_000:
                seconds, theirs, cells, office = sheet(size, days, folder)
                rounds["spreadsheet"] = [seconds]
                wrong |= differ("spreadsheet", size, ours, theirs)
                kept["office"], kept["cells"] = office, cells
            for way, seconds in rounds.items():
                times[way][size] = min(seconds)
    if wrong:
        sys.exit("results differ: no ratios")
    print(f"CPU seconds; {len(PLANS)} plans, three totals and the verdict at each point; results agree at every point")
    for size in SIZES:
        row = {way: by_size[size] for way, by_size in times.items() if size in by_size}
        kept["sizes"][size] = row
        print(f"{size:>9} points: " + ", ".join(f"{way} {seconds:.4f}" for way, seconds in row.items()))
        base = row["flipcount"]
        for way in ("numpy", "spreadsheet"):
            if way in row:
                print(f"{'':>18} {way} takes {row[way] / base:.2f} times as long as flipcount, {row[way] / row['flipcount with CSV']:.2f} times with its table")
    print("growth, ten times the points:")
    for way, by_size in times.items():
        growth(way, by_size)
    if args.out:
        pathlib.Path(args.out).write_text(json.dumps(kept, indent=1) + "\n")


if __name__ == "__main__":
    main()
