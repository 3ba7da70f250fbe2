"""As `sampling_numpy.py`, where two parts compete for one person and for machines: the three plans of `sampling_shared/scenario.toml`.

    python benches/peers/sampling_shared_numpy.py [--command FLIPCOUNT] [--samples N] [--rounds K] [--out OUT.json]

Which of two builds goes next differs from sample to sample, so all samples go on together in rounds: in each round every sample does the
one next step that can start earliest, and the numbers of that step are looked up by its index. Samples that have finished an iteration
are left out of its later rounds. Each plan draws its own failures and spreads of routes, so plans are not compared side by side.
"""

import numpy as np

from sampling_common import DAY, DAYS, HERE, Hours, Totals, main, run, sheet, whole
from sampling_numpy import Model, Step

# Nothing starts at such a moment: a machine whose end is not known yet, a job that is done.
NEVER = (DAYS - 31) * DAY


class Tasks:
    """The tasks of all jobs of a plan, one after another: tables by task. After each job's tasks stands one that can never start."""

    def __init__(self, model, jobs):
        self.first, tasks = [], []
        for job in jobs:
            self.first.append(len(tasks))
            tasks += [*job.tasks(model), None]
        table = lambda of, otherwise: np.array([otherwise if task is None else of(task) for task in tasks])
        self.attended = table(lambda t: t.attended, 0)
        self.fit = table(lambda t: model.fit_rows[t.attended], model.fit_rows[None])
        self.hold = table(lambda t: t.hold, 0)
        self.overnight = table(lambda t: t.overnight, False)
        self.prints = table(lambda t: t.prints, False)
        self.places = table(lambda t: t.places, False)
        self.machine = table(lambda t: model.machines.index(t.at) if t.at else model.nothing, model.nothing)
        # From when the machine is free, as far as is known once the task is done.
        self.kept = table(lambda t: NEVER if t.at else 0, 0)
        self.last = np.array([task is not None and after is None for task, after in zip(tasks, [*tasks[1:], None])])
        self.power = table(lambda t: t.watts * model.joule, 0.0)
        self.spent = table(lambda t: t.spent, 1.0)
        self.again = np.repeat(self.first, np.diff([*self.first, len(tasks)]))
        # Tasks that can fail, and their row in a table of chances.
        self.spoils = [task.spoil for task in tasks if task is not None and task.spoil is not None]
        self.fails = table(lambda t: t.spoil is not None, False)
        self.chance = np.cumsum(self.fails) - 1
        # A failure frees the machine it happens on; the next attempt must not take it for still held.
        assert all(m in (model.nothing, self.machine[a]) for m, a in zip(self.machine[self.fails], self.again[self.fails]))


class Task(Step):
    """A step with its machine; or, of an order, the brief, the placing and the look at the lot."""

    def __init__(self, raw, watts):
        super().__init__(raw, watts)
        self.at = raw.get("at")
        self.places = raw.get("places", False)
        self.prints = raw["do"] == "print"


class BuildRoute:
    """A bench route of one part."""

    prints = True

    def __init__(self, model, raw, part, prices):
        model.read_bench(part, raw, prices)
        keep = ("print_time", "supports", "loss", "resin", "supplies")
        for name in keep:
            setattr(self, name, getattr(model, name))
        self.volume = model.volume * part.get("copies", 1)
        watts = {row["equipment"]: float(row["watts"]) for row in sheet(prices, "equipment")}
        self.steps = [Task({"at": raw["printer"]} | step if i == 0 else step, watts) for i, step in enumerate(raw["steps"])]

    def tasks(self, model):
        return self.steps


class OrderOf:
    """An order of some parts, and its lot once it is there."""

    prints = False

    def __init__(self, cost, parts):
        self.cost, self.parts = cost, parts

    def tasks(self, model):
        times = {"brief": model.brief, "place": model.order_time, "inspect": model.inspect}
        do = ["brief"] * self.parts + ["place", "inspect"]
        return [Task({"do": name, "attended": f"{times[name] / 60} min", "places": name == "place"}, {}) for name in do]


class SharedModel(Model):
    """The numbers of two parts, two bench routes and one order route."""

    paired = False

    def __init__(self, folder):
        self.machines, self.orders = [], {}
        super().__init__(folder)
        attended = sorted({s.attended for r in self.builds for s in r.steps} | {self.brief, self.order_time, self.inspect})
        self.hours = Hours(self.bench_days, self.spans, attended)
        rows = [self.hours.fits[a] for a in attended] + [np.full(len(self.hours.starts), NEVER)]
        self.fit_rows = {a: i * len(self.hours.starts) for i, a in enumerate([*attended, None])}
        self.fits = np.concatenate(rows)
        seal, boots = self.builds
        both, alone = (self.orders[n] for n in (2, 1))
        self.plans = [[seal, boots], [seal, OrderOf(alone, 1)], [OrderOf(both, 2)]]
        self.tables = [Tasks(self, jobs) for jobs in self.plans]

    def read_routes(self, raw, prices, start):
        (seal, boots), (first, second, order) = raw["part"], raw["route"]
        self.builds = [BuildRoute(self, first, seal, prices), BuildRoute(self, second, boots, prices)]
        self.machines = sorted({s.at for r in self.builds for s in r.steps if s.at})
        self.nothing = len(self.machines)
        for parts in ([seal, boots], [boots]):
            self.read_order(parts, order, prices, raw["calendar"], start)
            self.orders[len(parts)] = self.order_cost

    def run(self, rng, counts):
        plans = [Floor(self, jobs, table, rng, len(counts)) for jobs, table in zip(self.plans, self.tables)]
        return run(self, plans, rng, counts)


class Floor:
    """One plan: everything drawn once is drawn here."""

    def __init__(self, model, jobs, tasks, rng, size):
        self.model, self.jobs, self.tasks, self.rng, self.size = model, jobs, tasks, rng, size
        self.totals = Totals(size)
        builds = [job for job in jobs if job.prints]
        self.print_time = [whole(job.print_time.draw(rng, size)) for job in builds]
        self.resin = [
            (job.volume * (1 + job.supports.draw(rng, size)) + job.loss.draw(rng, size)) * job.resin for job in builds
        ]
        # By task that can fail and sample, in one row.
        self.chance = np.concatenate([s.draw(rng, size) for s in tasks.spoils]) if builds else None
        self.attempts = [np.zeros(size, dtype=np.int64) for _ in builds]

    def make(self, release):
        """An iteration of the first samples, in rounds: when it is in hand."""
        model, tasks, jobs, size = self.model, self.tasks, len(self.jobs), len(release)
        in_hand = self.totals.in_hand[:size]
        lane = np.arange(size)
        ready = [release.copy() for _ in range(jobs)]
        task = [np.full(size, first) for first in tasks.first]
        held = [np.full(size, model.nothing) for _ in range(jobs)]
        # By machine and sample; the last row stands for no machine.
        until = np.zeros((model.nothing + 1, size), dtype=np.int64)
        person, paid, work = release, np.zeros(size), np.zeros(size)
        while True:
            starts = [self.earliest(ready[j], person, task[j], until) for j in range(jobs)]
            start = starts[0] if jobs == 1 else np.minimum(*starts)
            going = start < NEVER
            if not going.all():
                over = np.flatnonzero(~going)
                who, going = lane[over], np.flatnonzero(going)
                in_hand[who] = np.maximum(ready[0][over], ready[-1][over])
                self.totals.paid[who] += paid[over]
                self.totals.work[who] += work[over]
                if len(going) == 0:
                    return in_hand
                lane, person, start, paid, work = (a.take(going) for a in (lane, person, start, paid, work))
                ready, task, held, starts = ([a.take(going) for a in arrays] for arrays in (ready, task, held, starts))
                until = until.take(going, axis=1)
            if jobs == 1:
                now, before = task[0], held[0]
            else:
                # At equal starts the larger volume, which is the first job's.
                second = starts[1] < starts[0]
                now, before = np.where(second, task[1], task[0]), np.where(second, held[1], held[0])
            end, person, after, machine, free = self.do(lane, start, now, (paid, work))
            at = np.arange(len(lane))
            row = until.reshape(-1)
            row[before * len(lane) + at] = start
            row[machine * len(lane) + at] = free
            if jobs == 1:
                ready, task, held = [end], [after], [machine]
            else:
                first = ~second
                for arrays, new in ((ready, end), (task, after), (held, machine)):
                    np.copyto(arrays[0], new, where=first)
                    np.copyto(arrays[1], new, where=second)

    def earliest(self, ready, person, task, until):
        """When a job's next task can start: the person and its machine are free, and the work fits a span."""
        model, tasks = self.model, self.tasks
        start = np.maximum(ready, person)
        index = tasks.machine.take(task)
        index *= len(task)
        index += np.arange(len(task))
        np.maximum(start, until.take(index), out=start)
        at = (start + (model.hours.grain - 1)) // model.hours.grain
        at += tasks.fit.take(task)
        return np.maximum(start, model.fits.take(at), out=start)

    def do(self, lane, start, now, sums):
        """Does a task of each sample: its end, the person's, the task after it, its machine and from when that is free."""
        model, tasks = self.model, self.tasks
        paid, work = sums
        worked = tasks.attended.take(now)
        attended = start + worked
        end = attended + tasks.hold.take(now)
        nights = np.flatnonzero(tasks.overnight.take(now))
        end[nights] = model.hours.morning_after(attended[nights])
        resin = self.print(lane, now, end) if self.print_time else []
        cost = (end - attended) * tasks.power.take(now)
        for some, amount in resin:
            cost[some] += amount
        after = now + 1
        machine = tasks.machine.take(now)
        free = np.where(tasks.last.take(now), end, tasks.kept.take(now))
        placing = np.flatnonzero(tasks.places.take(now))
        if len(placing):
            placed = attended[placing]
            cost[placing] = self.jobs[-1].cost[placed // DAY]
            end[placing] = model.arrive(self.rng, placed)
        paid += cost
        work += worked
        if self.rng is not None and self.chance is not None:
            tried = np.flatnonzero(tasks.fails.take(now))
            chance = self.chance.take(tasks.chance.take(now[tried]) * self.size + lane[tried])
            failed = tried[self.rng.random(len(tried)) < chance]
            what = now[failed]
            share = tasks.spent[what]
            noticed = start[failed] + whole((end[failed] - start[failed]) * share)
            paid[failed] -= (1 - share) * cost[failed]
            work[failed] -= (1 - share) * worked[failed]
            end[failed] = free[failed] = noticed
            attended[failed] = np.minimum(attended[failed], noticed)
            after[failed] = tasks.again[what]
        return end, attended, after, machine, free

    def print(self, lane, now, end):
        """Adds the print time, counts the attempt, and says what resin costs."""
        found = []
        for j, print_time in enumerate(self.print_time):
            some = np.flatnonzero(now == self.tasks.first[j])
            who = lane[some]
            end[some] += print_time[who]
            self.attempts[j][who] += 1
            found.append((some, self.resin[j][who]))
        return found

    def finish(self, counts):
        """Packs follow from what was used of each supply."""
        used, rows = {}, {}
        # Builds stand before orders.
        for job, attempts in zip(self.jobs, self.attempts):
            for per, (amount, *row) in job.supplies.items():
                used[per] = used.get(per, 0) + amount * (counts if per == "build" else attempts)
                rows[per] = row
        return sum(self.buy(used[per], *rows[per]) for per in used)

    def buy(self, used, pack, price, stock):
        packs = np.maximum(np.ceil((used - stock) / pack), 0)
        self.totals.paid += packs * price
        return (used - packs * pack) * (price / pack) if stock > 0 else 0.0


if __name__ == "__main__":
    main(HERE / "sampling_shared", SharedModel)
