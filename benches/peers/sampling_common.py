"""What the scripts that compute samples with numpy share: reading, calendars, spreads, figures, and how they are timed and compared.

`main` reads a model, runs it and `flipcount compare --samples` in turns on one thread each, and prints how their times compare if what
they say agrees. Counted for numpy: drawing, computing, and the same figures as the command prints. Not counted: importing numpy, reading
the scenario, making the tables. Counted for flipcount: its whole process. Nothing is subtracted; its time without samples is printed
beside.

Agreement: without failures and spreads every iteration's date to the second and its money to half a minor unit for each amount; sampled,
means, P10, P50, P80, P90, chances and regret within 4.5 standard errors of the difference, once as timed, and once at six iterations in
each sample, where less noise hides a difference. If anything is further apart, it is printed, no ratio, and the exit code is 1.
"""

import argparse
import csv
import datetime
import json
import math
import pathlib
import platform
import re
import resource
import shutil
import subprocess
import sys
import tempfile
import time

import numpy as np

HERE = pathlib.Path(__file__).resolve().parent
DAY, HOUR = 86_400, 3_600
# Days for which the calendar is tabulated; a lookup past them is an error of numpy, not a wrong date.
DAYS = 1_200
ERRORS = 4.5
SHARES = {"p10": 0.1, "p50": 0.5, "p80": 0.8, "p90": 0.9}


# Reading: only what this scenario uses.


def seconds(text):
    number, unit = text.split()
    return int(float(number) * {"min": 60, "h": HOUR}[unit] + 0.5)


def clock_time(text):
    hour, minute = text.split(":")
    return int(hour) * HOUR + int(minute) * 60


def spread(value, unit):
    """Low, likely, high in base units; all the same for a certain value."""
    if isinstance(value, dict):
        return tuple(unit(value[key]) for key in ("low", "likely", "high"))
    return (unit(value),) * 3


def sheet(folder, name):
    with open(folder / f"{name}.csv", newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def cents(amount):
    return math.floor(amount * 100 + 0.5 + 1e-9) / 100


# Calendars.


class BusinessDays:
    """The days of a calendar, by day from the start's midnight on."""

    def __init__(self, start, days=("Mon", "Tue", "Wed", "Thu", "Fri"), closed=()):
        names = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
        dates = [start + datetime.timedelta(days=d) for d in range(DAYS)]
        self.open = np.array([names[d.weekday()] in days and d not in closed for d in dates])
        self.list = np.flatnonzero(self.open)
        self.upto = np.cumsum(self.open)

    def on_or_after(self, day):
        return self.list[self.upto[day] - self.open[day]]

    def after(self, day, count):
        """The `count`-th business day after `day`, `count` at least 1."""
        return self.list[self.upto[day] + (count - 1)]


class Hours:
    """Opening hours as tables in steps of a grain that divides every opening, closing and attended time."""

    def __init__(self, days, spans, attended):
        self.grain = grain = math.gcd(*(t for span in spans for t in span), *attended)
        opening = np.array([d * DAY + s[0] for d in days.list for s in spans])
        closing = np.array([d * DAY + s[1] for d in days.list for s in spans])
        length = closing - opening
        self.starts = np.arange(0, (DAYS - 30) * DAY, grain)
        # The first span that closes after a moment.
        span = np.searchsorted(closing, self.starts, side="right")
        self.opening = opening[span]
        # Seconds worked up to a moment in a span, less the moment; and back.
        before = np.concatenate(([0], np.cumsum(length)))
        self.worked = (before[:-1] - opening)[span]
        marks = np.arange(grain, before[-1], grain)
        self.back = (opening - before[:-1])[np.searchsorted(before[1:], marks, side="left")]
        first = opening[:: len(spans)]
        self.morning = first[np.searchsorted(first, self.starts, side="right")]
        self.fits = {a: self._fitting(opening, closing, a) for a in set(attended)}

    def _fitting(self, opening, closing, attended):
        """By a moment rounded up to the grain: the opening of the first span in which work still fits."""
        fits = closing - opening >= attended
        opening, last = opening[fits], closing[fits] - attended
        return opening[np.searchsorted(last, self.starts, side="left")]

    def fit(self, moment, attended):
        """When work that must fit one span can start."""
        return np.maximum(moment, self.fits[attended][(moment + (self.grain - 1)) // self.grain])

    def next_open(self, moment):
        return np.maximum(moment, self.opening[moment // self.grain])

    def morning_after(self, moment):
        return self.morning[moment // self.grain]

    def work(self, moment, duration):
        """The end of work that goes on after each closing; `duration` above 0."""
        at = moment // self.grain
        done = np.maximum(moment, self.opening[at])
        done += self.worked[at]
        done += duration
        return done + self.back[(done - 1) // self.grain]


# Spreads and totals.


class Pert:
    """Low, likely, high: drawn from a beta distribution, or the likely value where nothing is drawn."""

    def __init__(self, low, likely, high):
        self.low, self.likely, self.width = low, likely, high - low
        if self.width > 0:
            self.a = 1 + 4 * (likely - low) / self.width
            self.b = 1 + 4 * (high - likely) / self.width

    def draw(self, rng, size):
        if rng is None or self.width == 0:
            return np.full(size, float(self.likely))
        values = rng.beta(self.a, self.b, size)
        values *= self.width
        values += self.low
        return values


def whole(values):
    """Rounded half up."""
    return np.floor(values + 0.5).astype(np.int64)


class Totals:
    """What a plan came to, by sample."""

    def __init__(self, size):
        self.paid = np.zeros(size)
        self.work = np.zeros(size)
        self.in_hand = np.zeros(size, dtype=np.int64)


# Samples.


def run(model, plans, rng, counts):
    """All plans for samples of these counts, descending: avoidable cost, outlay and seconds of each."""
    size = len(counts)
    release = [np.full(size, model.start)] * len(plans)
    # How many samples have at least so many iterations.
    left = np.searchsorted(-counts, -np.arange(1, counts[0] + 2), side="right")
    for now, then in zip(left, left[1:]):
        in_hand = [plan.make(at[:now]) for plan, at in zip(plans, release)]
        # The same draws for all plans. Evaluating and redesigning are one stretch of work.
        redesign = whole(model.later * whole(model.redesign.draw(rng, then)))
        redesign += model.evaluate
        release = [model.hours.work(at[:then], redesign) for at in in_hand]
    results = []
    for plan in plans:
        kept = plan.finish(counts)
        totals = plan.totals
        elapsed = totals.in_hand - model.start
        avoidable = totals.paid + totals.work * model.labour + elapsed * model.wait + kept
        results.append((avoidable, totals.paid, elapsed))
    return results


def sample(model, samples, planned=None):
    """All plans in so many samples; `planned` iterations in each, or as many as are drawn."""
    rng = np.random.Generator(np.random.SFC64(model.seed))
    drawn = model.planned.draw(rng, samples) if planned is None else np.full(samples, float(planned))
    counts = np.clip(whole(drawn), 1, model.horizon)
    return model.run(rng, np.sort(counts)[::-1])


# Figures.


def mean(values):
    return {"mean": float(values.mean()), "se": float(values.std(ddof=1) / math.sqrt(len(values)))}


def figures(model, results):
    """What the command prints of its samples: for each plan by itself, and where `model.paired` for the plans side by side."""
    answer = []
    for avoidable, outlay, took in results:
        plan = {}
        for name, values in (("avoidable", avoidable), ("outlay", outlay), ("days", took / DAY)):
            plan[name] = mean(values) | dict(zip(SHARES, np.quantile(values, list(SHARES.values())).tolist()))
        plan["p_due"] = float((model.start + took < model.due).mean())
        plan["p_budget"] = float((outlay <= model.budget).mean())
        answer.append(plan)
    if model.paired:
        cost, elapsed = (np.stack([r[f] for r in results]) for f in (0, 2))
        best, fastest, least = cost.argmin(axis=0), elapsed.argmin(axis=0), cost.min(axis=0)
        for index, plan in enumerate(answer):
            regret = mean(cost[index] - least)
            plan |= {"p_cheapest": float((best == index).mean()), "p_fastest": float((fastest == index).mean())}
            plan |= {"regret": regret["mean"], "regret_se": regret["se"]}
    return answer


# Agreement.


def compare(command, folder, samples, *more):
    arguments = [command, "compare", str(folder), "--samples", str(samples), "--threads", "1", "--json", *more]
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    begin = time.perf_counter()
    answer = subprocess.run(arguments, check=True, capture_output=True, text=True).stdout
    wall = time.perf_counter() - begin
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return json.loads(answer), {"seconds": wall, "cpu": cpu}


def in_order(plans):
    """The plans as the scripts have them: by name."""
    return sorted(plans, key=lambda plan: plan["name"])


def differs_certain(command, scenario, read):
    """Without failures and spreads everything must be the same, iteration by iteration."""
    found = []
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder) / "certain"
        shutil.copytree(scenario, folder)
        text = (folder / "scenario.toml").read_text(encoding="utf-8")
        text = re.sub(r"(spoil\s*=\s*)(\{[^}]*\}|[\d.]+)", r"\g<1>0", text)
        (folder / "scenario.toml").write_text(text, encoding="utf-8")
        answer, _ = compare(command, folder, 0)
        model = read(folder)
    for n in range(1, model.horizon + 1):
        ours = model.run(None, np.array([n]))
        for plan, (avoidable, outlay, took) in zip(in_order(answer["plans"]), ours):
            curves = {name: float(plan["curves"][name][n - 1]) for name in ("avoidable", "outlay", "days")}
            # Six decimals of a day are a tenth of a second. At most 30 amounts of money in an iteration are rounded to a cent each.
            for name, value, allowed in (
                ("days", took[0] / DAY, 0.6e-6),
                ("avoidable", avoidable[0], 0.005 * 30 * n),
                ("outlay", outlay[0], 0.005 * 30 * n),
            ):
                if abs(value - curves[name]) > allowed:
                    found.append(f"certain: {plan['name']}, {name} at {n}: numpy {value:.6f}, flipcount {curves[name]:.6f}")
    return found


def differs_sampled(results, numpy_says, sampled):
    """Every figure of the samples, within some standard errors of its difference."""
    found, largest, checks = [], 0.0, 0
    size = len(results[0][0])
    if sampled["samples"] != size or len(sampled["plans"]) != len(results):
        found.append(f"flipcount drew {sampled['samples']} samples of {len(sampled['plans'])} plans")
    for ours, theirs, arrays in zip(numpy_says, in_order(sampled["plans"]), results):
        plan = theirs["name"]
        if theirs["stopped"] > 0:
            found.append(f"{plan}: a share of {theirs['stopped']} could not be carried out")
        means = {name: (ours[name]["mean"], ours[name]["se"], theirs[name]["mean"], theirs[name]["se"]) for name in ("avoidable", "outlay", "days")}
        if "regret" in ours:
            means["regret"] = (ours["regret"], ours["regret_se"], theirs["regret"], theirs["regret_se"])
        for name, (a, a_se, b, b_se) in means.items():
            error = abs(a - b) / max(math.hypot(a_se, b_se), 1e-6)
            checks, largest = checks + 1, max(largest, error)
            if error > ERRORS:
                found.append(f"{plan}: mean {name}: numpy {a:.6f}, flipcount {b:.6f}, {error:.1f} standard errors apart")
        for name in (name for name in ours if name.startswith("p_")):
            a, b = ours[name], theirs[name]
            pooled = (a + b) / 2
            error = abs(a - b) / max(math.sqrt(2 * pooled * (1 - pooled) / size), 1 / size)
            checks, largest = checks + 1, max(largest, error)
            if error > ERRORS:
                found.append(f"{plan}: {name}: numpy {a:.6f}, flipcount {b:.6f}, {error:.1f} standard errors apart")
        for name, values in zip(("avoidable", "outlay", "days"), (arrays[0], arrays[1], arrays[2] / DAY)):
            for key, share in SHARES.items():
                # By order statistics, which also holds for figures that come in steps.
                margin = ERRORS * math.sqrt(2 * share * (1 - share) / size)
                low, high = np.quantile(values, [share - margin, share + margin])
                checks += 1
                if not low - 1e-6 <= theirs[name][key] <= high + 1e-6:
                    found.append(f"{plan}: {key} of {name}: numpy {ours[name][key]:.6f} ({low:.6f} to {high:.6f}), flipcount {theirs[name][key]:.6f}")
    return found, largest, checks


def arguments():
    parser = argparse.ArgumentParser()
    parser.add_argument("--command", default=str(HERE.parents[1] / "target" / "release" / "flipcount"), help="the release build of flipcount")
    parser.add_argument("--samples", type=int, default=200_000)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--out", help="where to store the figures as JSON")
    return parser.parse_args()


def main(scenario, read):
    """Times and compares the plans of a scenario with a model read from it."""
    args = arguments()
    begin = {"seconds": time.perf_counter(), "cpu": time.process_time()}
    model = read(scenario)
    made = {"seconds": time.perf_counter() - begin["seconds"], "cpu": time.process_time() - begin["cpu"]}
    times = {"numpy": [], "flipcount": [], "numpy, tables alone": [made], "flipcount, no samples": []}
    for _ in range(args.rounds):
        wall, cpu = time.perf_counter(), time.process_time()
        results = sample(model, args.samples)
        numpy_says = figures(model, results)
        times["numpy"].append({"seconds": time.perf_counter() - wall, "cpu": time.process_time() - cpu})
        answer, took = compare(args.command, scenario, args.samples)
        times["flipcount"].append(took)
        times["flipcount, no samples"].append(compare(args.command, scenario, 0)[1])
    fixed = sample(model, args.samples, 6)
    fixed_answer, _ = compare(args.command, scenario, args.samples, "--iterations", "6")
    runs = ((results, numpy_says, answer), (fixed, figures(model, fixed), fixed_answer))
    checked = [differs_sampled(ours, figure, theirs["sampled"]) for ours, figure, theirs in runs]
    differences = differs_certain(args.command, scenario, read) + [line for found in checked for line in found[0]]
    largest, checks = max(c[1] for c in checked), sum(c[2] for c in checked)
    if differences:
        print("results differ, no ratio:", *differences, sep="\n  ")
        sys.exit(1)
    print(f"results agree: {model.horizon} iterations of every plan without failures; {checks} sampled figures, means and chances within {largest:.1f} standard errors")
    best = {name: {key: min(t[key] for t in rounds) for key in ("seconds", "cpu")} for name, rounds in times.items()}
    for name, row in best.items():
        if name in ("numpy", "flipcount"):
            row["plan-samples per second of cpu"] = round(len(results) * args.samples / row["cpu"])
        print(f"{name:22} {row['seconds'] * 1000:9.1f} ms {row['cpu'] * 1000:9.1f} ms cpu")
    ratio = {key: best["numpy"][key] / best["flipcount"][key] for key in ("seconds", "cpu")}
    print(f"numpy takes {ratio['seconds']:.2f} times as long as flipcount ({ratio['cpu']:.2f} by cpu), one thread each, {args.samples} samples of {len(results)} plans")
    if args.out:
        version = subprocess.run([args.command, "--version"], check=True, capture_output=True, text=True).stdout.strip()
        about = {
            "machine": platform.processor() or platform.machine(),
            "python": platform.python_version(),
            "numpy": np.__version__,
            "flipcount": version,
            "samples": args.samples,
            "plans": len(results),
            "rounds": args.rounds,
            "checks": checks,
            "largest_standard_error": round(largest, 2),
        }
        document = {"about": about, "best": best, "numpy over flipcount": ratio, "numpy": numpy_says, "flipcount sampled": in_order(answer["sampled"]["plans"])}
        pathlib.Path(args.out).write_text(json.dumps(document, indent=1) + "\n", encoding="utf-8")
