(() => {
"use strict";
const id = (name) => document.getElementById(name);
const all = (what, within = document) => [...within.querySelectorAll(what)];
const data = JSON.parse(id("data").textContent);
let n = data.planned, total = "avoidable";

const group = (text) => {
  const [whole, rest] = text.split(".");
  const parted = whole.length > 4 ? whole.replace(/\B(?=(\d{3})+$)/g, "\u202f") : whole;
  return rest ? parted + "." + rest : parted;
};
const money = (text) => {
  const plain = text.replace("-", "");
  const shown = data.decimals ? plain : String(Math.round(+plain));
  return (text[0] === "-" && /[1-9]/.test(shown) ? "-" : "") + group(shown);
};
const tenths = (value) => (Math.round(value * 10 + 1e-7) / 10).toFixed(1);
const date = (days) => {
  const moment = data.start + Math.round(days * 86400);
  if (!data.dated) return "day " + (Math.floor(moment / 86400) - Math.floor(data.start / 86400) + 1);
  const day = new Date(moment * 1000);
  return day.toISOString().slice(0, 10);
};

// A figure of a plan at the chosen count, as the data has it.
const raw = (plan, key) => {
  const { curves, by } = data.plans[plan], at = n - 1;
  if (key[0] === "#") return (by[total][key.slice(1)] || [])[at] || "0";
  if (key === "total") return curves[total][at];
  if (key === "days" || key === "date") return curves.days[at];
  if (key === "hours") return curves.attended_h[at];
  if (key === "waste") return +curves.waste_ml[at];
  const drawn = curves[key + "_ml"];
  return drawn ? Object.values(drawn).reduce((sum, curve) => sum + +curve[at], 0) : curves[key][at];
};
const text = (plan, key) => {
  const value = raw(plan, key);
  if (typeof value === "string") return money(value);
  if (key === "date") return date(value);
  if (key === "days" || key === "hours") return tenths(value);
  return group(value && value < 10 ? tenths(value) : String(Math.round(value + 1e-9)));
};

const move = (mark) => {
  const plot = mark.closest(".plot").dataset, by = plot.by;
  const x = (days) => +plot.x0 + plot.kx * days;
  if (mark.dataset.f === "now") return mark.setAttribute("transform", `translate(${x(n).toFixed(1)} 0)`);
  const [plan, key] = mark.dataset.f.split(".");
  const y = +plot.y0 + plot.ky * raw(plan, key);
  mark.setAttribute("transform", `translate(${x(by === "n" ? n : raw(plan, "days")).toFixed(1)} ${y.toFixed(1)})`);
};
const stack = () => {
  const sums = data.plans.map((plan) => {
    const kinds = Array(7).fill(0);
    for (const [name, curve] of Object.entries(plan.by[total])) kinds[data.kinds[name]] += +curve[n - 1];
    return kinds;
  });
  const most = (sign) => Math.max(0, ...sums.map((kinds) => kinds.reduce((sum, v) => sum + Math.max(0, v * sign), 0)));
  for (const chart of all(".stacks")) {
    const below = most(-1), span = below + most(1), per = span > 0 ? chart.dataset.room / span : 0;
    all(".stack", chart).forEach((bar, plan) => {
      let left = +chart.dataset.left + below * per, right = left;
      const rects = all("rect", bar), names = all(".gn", bar);
      sums[plan].forEach((value, kind) => {
        const width = Math.abs(value) * per;
        if (value < 0) left -= width; else right += width;
        const x = value < 0 ? left : right - width;
        rects[kind].setAttribute("x", x.toFixed(1));
        rects[kind].setAttribute("width", width.toFixed(1));
        names[kind].setAttribute("x", (x + width / 2).toFixed(1));
        names[kind].textContent = width >= 13 ? kind + 1 : "";
      });
      const end = all("text.bo", bar)[0];
      end.setAttribute("x", (right + 6).toFixed(1));
      end.textContent = text(plan, "total");
    });
  }
};
const show = () => {
  id("no").textContent = n;
  for (const part of all("[data-t]")) part.hidden = part.dataset.t !== total;
  for (const place of all("[data-f]")) {
    const key = place.dataset.f;
    if (place.namespaceURI.endsWith("svg")) move(place);
    else if (key === "n") place.textContent = n;
    else if (key === "t") place.textContent = total;
    else place.textContent = text(...key.split("."));
  }
  stack();
};

const ask = id("ask");
if (ask) {
  ask.hidden = false;
  ask.reset();
  ask.addEventListener("submit", (event) => event.preventDefault());
  id("n").addEventListener("input", (event) => { n = +event.target.value; show(); });
  id("back").addEventListener("click", () => { n = data.planned; id("n").value = n; show(); });
  for (const choice of all("[name=t]")) choice.addEventListener("change", () => { total = choice.value; show(); });
}

for (const link of all("a.from")) {
  link.addEventListener("click", (event) => {
    const tree = id(link.hash.slice(1));
    if (!tree) return;
    event.preventDefault();
    tree.open = true;
    tree.firstElementChild.focus();
    tree.scrollIntoView();
  });
}

const entries = id("entries");
if (entries) {
  const body = entries.tBodies[0], rows = [...body.rows], found = id("found");
  const texts = rows.map((row) => row.textContent.toLowerCase());
  id("q").parentNode.hidden = false;
  id("q").addEventListener("input", (event) => {
    const words = event.target.value.toLowerCase().split(/\s+/);
    let count = 0;
    rows.forEach((row, at) => {
      row.hidden = !words.every((word) => texts[at].includes(word));
      if (!row.hidden) count += 1;
    });
    found.textContent = event.target.value ? count + " of " + rows.length + " entries" : "";
  });
  const heads = all("th", entries);
  heads.forEach((head, column) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = head.textContent;
    head.replaceChildren(button);
    button.addEventListener("click", () => {
      const down = head.getAttribute("aria-sort") === "ascending";
      heads.forEach((other) => other.removeAttribute("aria-sort"));
      head.setAttribute("aria-sort", down ? "descending" : "ascending");
      const keyed = rows.map((row, at) => {
        const cell = row.cells[column];
        return [cell.classList.contains("r") ? parseFloat(cell.textContent) || 0 : cell.textContent, at, row];
      });
      const order = (a, b) => (a < b ? -1 : a > b ? 1 : 0);
      keyed.sort((a, b) => (down ? -1 : 1) * order(a[0], b[0]) || a[1] - b[1]);
      body.append(...keyed.map((one) => one[2]));
    });
  });
}
})();
