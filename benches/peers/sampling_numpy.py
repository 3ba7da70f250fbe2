"""Times `flipcount compare --samples` against a vectorised numpy script of the same two plans, on one thread, in the same run.

    python benches/peers/sampling_numpy.py [--command FLIPCOUNT] [--samples N] [--rounds K] [--out OUT.json]

The numpy side computes money and dates of both plans of `sampling/scenario.toml` for all samples at once: arrays over samples, loops
only over iterations, steps and attempts; the calendar is looked up in tables, spreads are drawn with `Generator.beta`. Samples are
drawn in descending order of their number of iterations (which is drawn independently of everything else), so that those still at work
are always the first ones of each array. Counted for numpy: drawing, computing, and the same figures as the command prints (means,
quantiles, chances, regret). Not counted: importing numpy, reading the scenario, making the tables. Counted for flipcount: its whole
process. Nothing is subtracted; its time without samples is printed beside.

First the two must agree: without failures and spreads every iteration's date to the second and its money to half a minor unit for each
amount; then, sampled, means, P10, P50, P80, P90, chances and regret of both plans within 4.5 standard errors of the difference: once as
timed, and once at six iterations in each sample, where less noise hides a difference. If they do not agree, what differs is printed, no
ratio, and the exit code is 1. Needs numpy and Python 3.11.
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
import tomllib

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


# The model.


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


class Step:
    def __init__(self, raw, watts):
        self.attended = seconds(raw["attended"])
        self.overnight = raw.get("hold") == "overnight"
        self.hold = 0 if self.overnight else seconds(raw.get("hold", "0 min"))
        self.watts = watts.get(raw.get("at"), 0.0)
        self.spoil = Pert(*spread(raw["spoil"], float)) if "spoil" in raw else None
        self.spent = raw.get("spent_share", 1.0)


class Model:
    """The numbers and tables of the scenario, for one bench route and one order route of one part."""

    def __init__(self, folder):
        raw = tomllib.loads((folder / "scenario.toml").read_text(encoding="utf-8"))
        prices = folder / raw["pricing"]
        start = raw["start"].date()
        self.start = int((raw["start"] - datetime.datetime.combine(start, datetime.time())).total_seconds())
        self.due = ((raw["due"] - start).days + 1) * DAY
        self.budget = raw["budget"]
        self.seed = raw["seed"]
        iterations = raw["iterations"]
        self.planned = Pert(*spread(iterations["planned"], float))
        self.horizon = iterations["horizon"]
        self.evaluate = seconds(iterations["evaluate"])
        self.redesign = Pert(*spread(iterations["redesign"], seconds))
        self.later = 1 - iterations["overlap"]
        self.wait = iterations["delay_cost_per_day"] / DAY
        self.labour = float(raw["labour"].split()[0]) / HOUR
        bench, order = raw["route"]
        self.read_bench(raw["part"][0], bench, prices)
        self.read_order(raw["part"][0], order, prices, raw["calendar"], start)
        hours = raw["hours"]
        spans = [tuple(map(clock_time, span.split("-"))) for span in hours["open"]]
        attended = [s.attended for s in self.steps] + [self.brief, self.order_time, self.inspect]
        self.hours = Hours(BusinessDays(start, hours["days"], hours["closed"]), spans, attended)

    def read_bench(self, part, route, prices):
        watts = {row["equipment"]: float(row["watts"]) for row in sheet(prices, "equipment")}
        self.steps = [Step(raw, watts) for raw in route["steps"]]
        self.steps[0].watts = watts[route["printer"]]
        electricity = next(row for row in sheet(prices, "rates") if row["rate"] == "electricity")
        self.joule = float(electricity["value"]) / (1000 * HOUR)
        self.print_time = Pert(*spread(route["print_time"], seconds))
        self.supports = Pert(*spread(route["supports"], float))
        self.loss = Pert(*spread(route["per_build_loss"], lambda text: float(text.split()[0])))
        self.resin = float(route["resin"].split()[0]) / 1000
        self.volume = float(part["volume"].split()[0])
        number = lambda text: float(text.split()[0]) if text else 0.0
        rows = {row["item"]: row for row in sheet(prices, "supplies")}
        # Amount, pack, price of a pack, start stock.
        self.supplies = {
            use["per"]: (number(use["amount"]), *(number(rows[use["item"]][key]) for key in ("pack", "pack_price", "stock")))
            for use in route["consumes"]
        }

    def read_order(self, part, route, prices, calendars, start):
        self.brief, self.order_time = seconds(route["brief"]), seconds(route["order_time"])
        self.inspect = seconds(route["steps"][0]["attended"])
        self.reject = route["reject"]
        rows = sheet(prices, "services")
        delivery = sheet(prices, "delivery")[0]
        tax = next(float(row["value"]) for row in sheet(prices, "rates") if row["rate"] == "tax")
        self.order_cost = np.empty(DAYS)
        for row in rows:
            piece = cents(max(float(row["piece_min"]), float(row["rate"]) * self.volume))
            goods = max(float(row["order_min"]), piece + float(row["setup_per_part"]))
            valid = (datetime.date.fromisoformat(row["valid_from"]) - start).days
            self.order_cost[max(valid, 0) :] = (goods + float(delivery["base"])) * (1 + tax)
        # The same lead in each row, but drawn for each row: an order after the change of prices has its own.
        self.changes = max((datetime.date.fromisoformat(row["valid_from"]) - start).days for row in rows)
        self.lead = Pert(*(float(rows[0][key]) for key in ("lead_low", "lead", "lead_high")))
        self.cutoff = clock_time(rows[0]["cutoff"])
        self.service = BusinessDays(start)
        carrier = calendars[delivery["calendar"]]
        self.carrier = BusinessDays(start, carrier["days"], carrier["closed"])
        # With at least one carrier day on the way nothing arrives before it is placed.
        self.transit, self.arrives = int(delivery["transit"]), clock_time(delivery["arrives"])
        assert self.transit >= 1 and min(self.lead.low, self.lead.likely) >= 1


class Totals:
    """What a plan came to, by sample."""

    def __init__(self, size):
        self.paid = np.zeros(size)
        self.work = np.zeros(size)
        self.in_hand = np.zeros(size, dtype=np.int64)


class Bench:
    """The bench plan: everything drawn once is drawn here."""

    def __init__(self, model, rng, size):
        self.model, self.rng = model, rng
        self.print_time = whole(model.print_time.draw(rng, size))
        resin = model.volume * (1 + model.supports.draw(rng, size)) + model.loss.draw(rng, size)
        self.printed = resin * model.resin + self.print_time * (model.steps[0].watts * model.joule)
        self.spoil = [step.spoil.draw(rng, size) if step.spoil and rng else None for step in model.steps]
        self.failures = np.zeros(size, dtype=np.int64)
        self.totals = Totals(size)

    def attempt(self, ready, who):
        """All steps once. Those that fail stop where it is noticed, with what was spent till then."""
        model, hours = self.model, self.model.hours
        paid = np.zeros(len(ready))
        work, own = 0.0, {}
        alive = None
        stops = []
        for number, step in enumerate(model.steps):
            start = hours.fit(ready, step.attended)
            attended = start + step.attended
            if number == 0:
                ready, cost = attended + self.print_time[who], self.printed[who]
            elif step.overnight:
                ready = hours.morning_after(attended)
                cost = (ready - attended) * (step.watts * model.joule)
            else:
                ready, cost = attended + step.hold, step.hold * step.watts * model.joule
            if self.spoil[number] is not None:
                fails = self.rng.random(len(ready)) < self.spoil[number][who]
                if alive is not None:
                    fails &= alive
                failed = np.flatnonzero(fails)
                noticed = start[failed] + whole((ready[failed] - start[failed]) * step.spent)
                spent = paid[failed] + step.spent * (cost[failed] if np.ndim(cost) else cost)
                stops.append((failed, noticed, spent, work + step.spent * step.attended))
                alive = ~fails if alive is None else alive & ~fails
            paid += cost
            work += step.attended
        worked = np.full(len(ready), float(work))
        for failed, noticed, spent, until in stops:
            ready[failed], paid[failed], worked[failed] = noticed, spent, until
        failed = np.concatenate([s[0] for s in stops]) if stops else np.empty(0, dtype=np.int64)
        return ready, paid, worked, failed

    def make(self, release):
        """An iteration of the first samples, attempt after attempt: when it is in hand."""
        size = len(release)
        first = slice(0, size)
        in_hand, paid, worked, who = self.attempt(release, first)
        while len(who):
            self.failures[who] += 1
            again, more, longer, failed = self.attempt(in_hand[who], who)
            in_hand[who] = again
            paid[who] += more
            worked[who] += longer
            who = who[failed]
        self.totals.paid[first] += paid
        self.totals.work[first] += worked
        self.totals.in_hand[first] = in_hand
        return in_hand

    def finish(self, counts):
        """Packs are bought when the stock runs out, so their number follows from what was used. A start stock is kept value used up."""
        kept = 0.0
        for per, (amount, pack, price, stock) in self.model.supplies.items():
            used = amount * (counts if per == "build" else counts + self.failures)
            packs = np.maximum(np.ceil((used - stock) / pack), 0)
            self.totals.paid += packs * price
            if stock > 0:
                kept = kept + (used - packs * pack) * (price / pack)
        return kept


class Order:
    """The order plan."""

    def __init__(self, model, rng, size):
        self.model, self.rng = model, rng
        self.totals = Totals(size)

    def usable(self, at, lead):
        model = self.model
        day = at // DAY
        late = at - day * DAY > model.cutoff
        ships = model.service.after(model.service.on_or_after(day + late), lead)
        arrives = model.carrier.after(ships, model.transit) * DAY + model.arrives
        return model.hours.next_open(arrives)

    def make(self, release):
        model, hours, rng = self.model, self.model.hours, self.rng
        size = len(release)
        first = slice(0, size)
        briefed = hours.fit(release, model.brief) + model.brief
        placed = hours.fit(briefed, model.order_time) + model.order_time
        lead = whole(model.lead.draw(rng, size))
        at = self.usable(placed, lead)
        if rng is not None:
            who = np.flatnonzero(rng.random(size) < model.reject)
            before = placed[who]
            while len(who):
                now = at[who]
                other = np.flatnonzero((before // DAY < model.changes) & (now // DAY >= model.changes))
                lead[who[other]] = whole(model.lead.draw(rng, len(other)))
                at[who] = self.usable(now, lead[who])
                again = rng.random(len(who)) < model.reject
                who, before = who[again], now[again]
        in_hand = hours.fit(at, model.inspect) + model.inspect
        self.totals.paid[first] += model.order_cost[placed // DAY]
        self.totals.work[first] += model.brief + model.order_time + model.inspect
        self.totals.in_hand[first] = in_hand
        return in_hand

    def finish(self, counts):
        return 0.0


def run(model, rng, counts):
    """Both plans for samples of these counts, descending: avoidable cost, outlay and days of each."""
    size = len(counts)
    plans = [Bench(model, rng, size), Order(model, rng, size)]
    release = [np.full(size, model.start)] * 2
    # How many samples have at least so many iterations.
    left = np.searchsorted(-counts, -np.arange(1, counts[0] + 2), side="right")
    for now, then in zip(left, left[1:]):
        in_hand = [plan.make(at[:now]) for plan, at in zip(plans, release)]
        # The same draws for both plans. Evaluating and redesigning are one stretch of work.
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
    """Both plans in so many samples; `planned` iterations in each, or as many as are drawn."""
    rng = np.random.Generator(np.random.SFC64(model.seed))
    drawn = model.planned.draw(rng, samples) if planned is None else np.full(samples, float(planned))
    counts = np.clip(whole(drawn), 1, model.horizon)
    return run(model, rng, np.sort(counts)[::-1])


# Figures.


def mean(values):
    return {"mean": float(values.mean()), "se": float(values.std(ddof=1) / math.sqrt(len(values)))}


def figures(model, results):
    """What the command prints of its samples."""
    cost, _, elapsed = zip(*results)
    least = np.minimum(*cost)
    cheapest, fastest = cost[1] < cost[0], elapsed[1] < elapsed[0]
    answer = []
    for index, (avoidable, outlay, took) in enumerate(results):
        plan = {}
        for name, values in (("avoidable", avoidable), ("outlay", outlay), ("days", took / DAY)):
            plan[name] = mean(values) | dict(zip(SHARES, np.quantile(values, list(SHARES.values())).tolist()))
        regret = mean(avoidable - least)
        plan |= {"regret": regret["mean"], "regret_se": regret["se"]}
        chances = {
            "p_cheapest": cheapest if index else ~cheapest,
            "p_fastest": fastest if index else ~fastest,
            "p_due": model.start + took < model.due,
            "p_budget": outlay <= model.budget,
        }
        for name, hits in chances.items():
            plan[name] = float(hits.mean())
        answer.append(plan)
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
    """The two plans as this script has them: bench, then order."""
    return sorted(plans, key=lambda plan: plan["name"])


def differs_certain(command, scenario):
    """Without failures and spreads everything must be the same, iteration by iteration."""
    found = []
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder) / "certain"
        shutil.copytree(scenario, folder)
        text = (folder / "scenario.toml").read_text(encoding="utf-8")
        text = re.sub(r"(spoil\s*=\s*)(\{[^}]*\}|[\d.]+)", r"\g<1>0", text)
        (folder / "scenario.toml").write_text(text, encoding="utf-8")
        answer, _ = compare(command, folder, 0)
        model = Model(folder)
    for n in range(1, model.horizon + 1):
        ours = run(model, None, np.array([n]))
        for plan, (avoidable, outlay, took) in zip(in_order(answer["plans"]), ours):
            curves = {name: float(plan["curves"][name][n - 1]) for name in ("avoidable", "outlay", "days")}
            # Six decimals of a day are a tenth of a second. At most 25 amounts of money in an iteration are rounded to a cent each.
            for name, value, allowed in (
                ("days", took[0] / DAY, 0.6e-6),
                ("avoidable", avoidable[0], 0.005 * 25 * n),
                ("outlay", outlay[0], 0.005 * 25 * n),
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
        means["regret"] = (ours["regret"], ours["regret_se"], theirs["regret"], theirs["regret_se"])
        for name, (a, a_se, b, b_se) in means.items():
            error = abs(a - b) / max(math.hypot(a_se, b_se), 1e-6)
            checks, largest = checks + 1, max(largest, error)
            if error > ERRORS:
                found.append(f"{plan}: mean {name}: numpy {a:.6f}, flipcount {b:.6f}, {error:.1f} standard errors apart")
        for name in ("p_cheapest", "p_fastest", "p_due", "p_budget"):
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
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--command", default=str(HERE.parents[1] / "target" / "release" / "flipcount"), help="the release build of flipcount")
    parser.add_argument("--samples", type=int, default=200_000)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--out", help="where to store the figures as JSON")
    return parser.parse_args()


def main():
    args = arguments()
    scenario = HERE / "sampling"
    begin = {"seconds": time.perf_counter(), "cpu": time.process_time()}
    model = Model(scenario)
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
    differences = differs_certain(args.command, scenario) + [line for found in checked for line in found[0]]
    largest, checks = max(c[1] for c in checked), sum(c[2] for c in checked)
    if differences:
        print("results differ, no ratio:", *differences, sep="\n  ")
        sys.exit(1)
    print(f"results agree: {model.horizon} iterations of both plans without failures; {checks} sampled figures, means and chances within {largest:.1f} standard errors")
    best = {name: {key: min(t[key] for t in rounds) for key in ("seconds", "cpu")} for name, rounds in times.items()}
    for name, row in best.items():
        if name in ("numpy", "flipcount"):
            row["plan-samples per second of cpu"] = round(2 * args.samples / row["cpu"])
        print(f"{name:22} {row['seconds'] * 1000:9.1f} ms {row['cpu'] * 1000:9.1f} ms cpu")
    ratio = {key: best["numpy"][key] / best["flipcount"][key] for key in ("seconds", "cpu")}
    print(f"numpy takes {ratio['seconds']:.2f} times as long as flipcount ({ratio['cpu']:.2f} by cpu), one thread each, {args.samples} samples of 2 plans")
    if args.out:
        version = subprocess.run([args.command, "--version"], check=True, capture_output=True, text=True).stdout.strip()
        about = {
            "machine": platform.processor() or platform.machine(),
            "python": platform.python_version(),
            "numpy": np.__version__,
            "flipcount": version,
            "samples": args.samples,
            "plans": 2,
            "rounds": args.rounds,
            "checks": checks,
            "largest_standard_error": round(largest, 2),
        }
        document = {"about": about, "best": best, "numpy over flipcount": ratio, "numpy": numpy_says, "flipcount sampled": in_order(answer["sampled"]["plans"])}
        pathlib.Path(args.out).write_text(json.dumps(document, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
