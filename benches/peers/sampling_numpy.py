"""Times `flipcount compare --samples` against a vectorised numpy script of the same two plans, on one thread, in the same run.

    python benches/peers/sampling_numpy.py [--command FLIPCOUNT] [--samples N] [--rounds K] [--out OUT.json]

The numpy side computes money and dates of both plans of `sampling/scenario.toml` for all samples at once: arrays over samples, loops
only over iterations, steps and attempts; the calendar is looked up in tables, spreads are drawn with `Generator.beta`. Samples are
drawn in descending order of their number of iterations (which is drawn independently of everything else), so that those still at work
are always the first ones of each array. What is counted and what must agree is said in `sampling_common.py`. Needs numpy and Python
3.11.
"""

import datetime
import tomllib

import numpy as np

from sampling_common import DAY, DAYS, HERE, HOUR, BusinessDays, Hours, Pert, Totals, cents, clock_time, main, run, seconds, sheet, spread, whole


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

    paired = True

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
        hours = raw["hours"]
        self.spans = [tuple(map(clock_time, span.split("-"))) for span in hours["open"]]
        self.bench_days = BusinessDays(start, hours["days"], hours["closed"])
        self.read_routes(raw, prices, start)

    def read_routes(self, raw, prices, start):
        bench, order = raw["route"]
        self.read_bench(raw["part"][0], bench, prices)
        self.read_order(raw["part"], order, prices, raw["calendar"], start)
        attended = [s.attended for s in self.steps] + [self.brief, self.order_time, self.inspect]
        self.hours = Hours(self.bench_days, self.spans, attended)

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

    def read_order(self, parts, route, prices, calendars, start):
        self.brief, self.order_time = seconds(route["brief"]), seconds(route["order_time"])
        self.inspect = seconds(route["steps"][0]["attended"])
        self.reject = route["reject"]
        rows = sheet(prices, "services")
        delivery = sheet(prices, "delivery")[0]
        tax = next(float(row["value"]) for row in sheet(prices, "rates") if row["rate"] == "tax")
        self.order_cost = np.empty(DAYS)
        for row in rows:
            lines = 0.0
            for part in parts:
                volume = float(part["volume"].split()[0])
                piece = cents(max(float(row["piece_min"]), float(row["rate"]) * volume))
                lines += part.get("copies", 1) * piece + float(row["setup_per_part"])
            goods = max(float(row["order_min"]), lines)
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


    def usable(self, at, lead):
        """When the lot of an order placed at a moment can be used."""
        day = at // DAY
        late = at - day * DAY > self.cutoff
        ships = self.service.after(self.service.on_or_after(day + late), lead)
        arrives = self.carrier.after(ships, self.transit) * DAY + self.arrives
        return self.hours.next_open(arrives)

    def arrive(self, rng, placed):
        """When good lots of orders placed at some moments can be used: wrong ones are replaced, and take their lead again."""
        lead = whole(self.lead.draw(rng, len(placed)))
        at = self.usable(placed, lead)
        if rng is None:
            return at
        who = np.flatnonzero(rng.random(len(placed)) < self.reject)
        before = placed[who]
        while len(who):
            now = at[who]
            other = np.flatnonzero((before // DAY < self.changes) & (now // DAY >= self.changes))
            lead[who[other]] = whole(self.lead.draw(rng, len(other)))
            at[who] = self.usable(now, lead[who])
            again = rng.random(len(who)) < self.reject
            who, before = who[again], now[again]
        return at

    def run(self, rng, counts):
        return run(self, [Bench(self, rng, len(counts)), Order(self, rng, len(counts))], rng, counts)


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

    def make(self, release):
        model, hours, rng = self.model, self.model.hours, self.rng
        first = slice(0, len(release))
        briefed = hours.fit(release, model.brief) + model.brief
        placed = hours.fit(briefed, model.order_time) + model.order_time
        in_hand = hours.fit(model.arrive(rng, placed), model.inspect) + model.inspect
        self.totals.paid[first] += model.order_cost[placed // DAY]
        self.totals.work[first] += model.brief + model.order_time + model.inspect
        self.totals.in_hand[first] = in_hand
        return in_hand

    def finish(self, counts):
        return 0.0


if __name__ == "__main__":
    main(HERE / "sampling", Model)
