// The page in a real browser: nothing is requested, figures follow the slider, everything is reached by keyboard, it prints to two pages.
// Arguments: the page, what `compare --json` answers, the browser.
import assert from "node:assert/strict";
import fs from "node:fs";
import { createRequire } from "node:module";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const [file, figures, browserPath] = process.argv.slice(2);
const address = pathToFileURL(file).href;
const answer = JSON.parse(fs.readFileSync(figures, "utf8"));
const axe = fs.readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const browser = await chromium.launch({ executablePath: browserPath, args: ["--no-sandbox"] });

const open = async (options = {}) => {
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, ...options });
  const page = await context.newPage();
  const trouble = [];
  page.on("console", (message) => trouble.push(message.type() + ": " + message.text()));
  page.on("pageerror", (error) => trouble.push("error: " + error.message));
  page.on("request", (request) => request.url() === address || trouble.push("request: " + request.url()));
  page.on("dialog", (dialog) => trouble.push("dialog: " + dialog.message()));
  await page.goto(address);
  return { context, page, trouble };
};

const number = (text) => Number(text.replaceAll("\u202f", ""));
const near = (shown, value, within, what) =>
  assert.ok(Math.abs(number(shown) - Number(value)) <= within + 1e-9, `${what}: ${shown} is not ${value}`);

// What the answer says of a plan after n iterations.
const expected = (plan, key, total, n) => {
  const curves = plan.curves, at = n - 1;
  const sum = (by) => Object.values(by).reduce((all, curve) => all + Number(curve[at]), 0);
  switch (key) {
    case "total": return [curves[total][at], 0.5];
    case "days": return [curves.days[at], 0.05];
    case "hours": return [curves.attended_h[at], 0.05];
    case "waste": return [curves.waste_ml[at], 0.5];
    case "resin": return [sum(curves.resin_ml), 0.5];
    case "solvent": return [sum(curves.solvent_ml), 0.5];
    case "dye": return [sum(curves.dye_ml), 0.5];
    default: throw new Error("unknown figure " + key);
  }
};

const checkFigures = async (page, total, n) => {
  const read = await page.evaluate(() => ({
    plans: JSON.parse(document.getElementById("data").textContent).plans.map((plan) => plan.name),
    by: JSON.parse(document.getElementById("data").textContent).plans.map((plan) => plan.by),
    shown: document.querySelector("#cost [data-t]:not([hidden])").dataset.t,
    texts: [...document.querySelectorAll("[data-f]")].filter((e) => !e.namespaceURI.endsWith("svg")).map((e) => [e.dataset.f, e.textContent]),
    dots: [...document.querySelectorAll(".plot path[data-f*='.']")].map((e) => [
      e.dataset.f, e.getAttribute("transform").match(/-?[\d.]+/g).map(Number), { ...e.closest(".plot").dataset }]),
    ends: [...document.querySelectorAll(".stack text.bo")].map((e) => e.textContent),
    bars: [...document.querySelectorAll(".stack")].map((e) => [...e.querySelectorAll("rect")].map((r) => Number(r.getAttribute("width")))),
  }));
  assert.equal(read.shown, total);
  const plan = (index) => answer.plans.find((one) => one.name === read.plans[index]);
  let seen = 0;
  for (const [key, text] of read.texts) {
    const [index, name] = key.split(".");
    const what = `${key} of ${total} after ${n}`;
    if (key === "n") assert.equal(text, String(n));
    else if (key === "t") assert.equal(text, total);
    else if (name === "date") {
      const iteration = plan(index).iterations[n - 1];
      if (iteration.in_hand) assert.equal(text, iteration.in_hand.slice(0, 10), what);
    } else if (name[0] === "#") near(text, (read.by[index][total][name.slice(1)] || [])[n - 1] || 0, 0.5, what);
    else near(text, ...expected(plan(index), name, total, n), what);
    seen += 1;
  }
  assert.ok(seen > 60, "figures that follow the slider: " + seen);
  for (const [key, [x, y], plot] of read.dots) {
    const [index, name] = key.split(".");
    const curves = plan(index).curves;
    const value = name in curves ? curves[name][n - 1] : expected(plan(index), name, total, n)[0];
    const across = plot.by === "n" ? n : curves.days[n - 1];
    assert.ok(Math.abs(y - (Number(plot.y0) + plot.ky * value)) < 0.2, `dot ${key} after ${n}`);
    assert.ok(Math.abs(x - (Number(plot.x0) + plot.kx * across)) < 0.2, `dot ${key} after ${n}`);
  }
  read.ends.forEach((text, index) => near(text, plan(index).curves[total][n - 1], 0.5, "bar of plan " + index));
  const longest = Math.max(...read.bars.map((widths) => widths.reduce((sum, width) => sum + width, 0)));
  assert.ok(longest > 300 && longest < 400, "the longest bar fills its room: " + longest);
};

const checkSlider = async () => {
  const { context, page, trouble } = await open();
  const loaded = await page.evaluate(() => performance.getEntriesByType("navigation")[0].domContentLoadedEventEnd);
  assert.ok(loaded < 1000, `interactive after ${loaded} ms`);
  await checkFigures(page, "avoidable", answer.planned);
  await page.focus("#n");
  await page.keyboard.press("ArrowRight");
  await checkFigures(page, "avoidable", answer.planned + 1);
  await page.keyboard.press("Home");
  await checkFigures(page, "avoidable", 1);
  for (const total of ["outlay", "consumed"]) {
    await page.check(`[name=t][value=${total}]`);
    for (const n of [1, 3, answer.planned, answer.horizon]) {
      await page.fill("#n", String(n));
      await checkFigures(page, total, n);
    }
  }
  await page.click("#back");
  await checkFigures(page, "consumed", answer.planned);
  assert.deepEqual(trouble, []);
  await context.close();
};

const checkSources = async () => {
  const { context, page, trouble } = await open();
  const links = await page.$$eval("#plans a.from", (links) => links.map((link) => link.hash));
  assert.equal(links.length, 2 * 4);
  for (const hash of links) {
    assert.equal(await page.$eval(hash, (tree) => tree.open), false, hash);
    await page.focus(`#plans a[href="${hash}"]`);
    await page.keyboard.press("Enter");
    assert.ok(await page.$eval(hash, (tree) => tree.open && document.activeElement === tree.firstElementChild), hash + " opens");
  }
  await page.click("#plans a.from");
  assert.ok(await page.isVisible(links[0] + " > ul > li"));
  assert.deepEqual(trouble, []);
  await context.close();
};

const checkLedger = async () => {
  const { context, page, trouble } = await open();
  const column = (name) => page.$$eval("#entries thead th", (heads, name) => heads.findIndex((h) => h.textContent === name), name);
  const cells = (at) => page.$$eval("#entries tbody tr:not([hidden])", (rows, at) => rows.map((row) => row.cells[at].textContent), at);
  const amount = await column("amount");
  const before = (await cells(amount)).map(Number);
  const rising = [...before].sort((a, b) => a - b);
  assert.notDeepEqual(before, rising);
  await page.locator("#entries th button", { hasText: "amount" }).focus();
  await page.keyboard.press("Enter");
  assert.deepEqual((await cells(amount)).map(Number), rising);
  assert.equal(await page.getAttribute("#entries th[aria-sort]", "aria-sort"), "ascending");
  await page.keyboard.press("Enter");
  assert.deepEqual((await cells(amount)).map(Number), rising.reverse());
  const category = await column("category");
  await page.locator("#entries th button", { hasText: "category" }).click();
  const words = await cells(category);
  assert.deepEqual(words, [...words].sort());
  await page.fill("#q", "Resin grey".split(" ")[0]);
  const rows = await page.$$eval("#entries tbody tr:not([hidden])", (rows) => rows.map((row) => row.textContent.toLowerCase()));
  assert.ok(rows.length > 0 && rows.length < before.length && rows.every((row) => row.includes("resin")));
  assert.match(await page.textContent("#found"), new RegExp(`^${rows.length} of ${before.length} `));
  assert.deepEqual(trouble, []);
  await context.close();
};

const checkKeyboard = async () => {
  const { context, page } = await open();
  const wanted = await page.evaluate(() => {
    const all = [...document.querySelectorAll("a[href], button, summary, input:not([type=radio]), [name=t]:checked, [tabindex='0']")];
    const seen = all.filter((e) => e.checkVisibility());
    seen.forEach((e, at) => { e.dataset.tab = at; });
    return seen.length;
  });
  const reached = new Set();
  for (let step = 0; step < wanted + 20; step += 1) {
    await page.keyboard.press("Tab");
    const at = await page.evaluate(() => {
      const e = document.activeElement;
      const style = getComputedStyle(e);
      return e === document.body ? null : [e.dataset.tab, style.outlineStyle !== "none" || e.matches(".skip")];
    });
    if (!at) continue;
    assert.ok(at[1], "focus is seen at " + at[0]);
    reached.add(at[0]);
  }
  assert.equal(reached.size, wanted, "everything that can be used is reached by Tab");
  const summary = page.locator("#cost [data-t=avoidable] summary");
  await summary.focus();
  await page.keyboard.press("Enter");
  assert.ok(await page.locator("#cost [data-t=avoidable] details table").isVisible());
  await context.close();
};

const checkPaper = async () => {
  const { context, page } = await open();
  for (const format of ["A4", "Letter"]) {
    const paper = (await page.pdf({ format, printBackground: true })).toString("latin1");
    assert.equal(paper.match(/\/Type\s*\/Page\b(?!s)/g).length, 2, "pages of " + format);
  }
  await page.emulateMedia({ media: "print" });
  for (const left of ["#ledger", "#ask"]) assert.ok(!(await page.isVisible(left)), left + " is left out in print");
  for (const kept of ["#verdict", "#plans", "#cautions"]) assert.ok(await page.isVisible(kept), kept + " is printed");
  await context.close();
};

const checkAccess = async () => {
  for (const colorScheme of ["light", "dark"]) {
    for (const width of [1280, 768, 390]) {
      const { context, page } = await open({ viewport: { width, height: 844 }, colorScheme });
      const scrolled = await page.evaluate(() => document.documentElement.scrollWidth);
      assert.ok(scrolled <= width, `the page is ${scrolled} wide at ${width}`);
      await page.$$eval("details", (all) => all.forEach((one) => { one.open = true; }));
      await page.evaluate(axe);
      const found = await page.evaluate(() => axe.run({ runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] }));
      const said = found.violations.map((one) => `${one.id}: ${one.help}\n  ${one.nodes.slice(0, 4).map((node) => node.html + " " + node.failureSummary).join("\n  ")}`);
      assert.deepEqual(said, [], `${colorScheme} at ${width}`);
      await context.close();
    }
  }
};

const checkWithoutScripts = async () => {
  const { context, page, trouble } = await open({ javaScriptEnabled: false });
  assert.ok(await page.isVisible("#verdict"));
  assert.ok(!(await page.isVisible("#ask")), "what needs a script is hidden");
  assert.ok(!(await page.isVisible("#q")), "what needs a script is hidden");
  assert.ok(await page.isVisible("#cost-avoidable"));
  assert.ok(!(await page.isVisible("#cost-outlay")));
  assert.ok((await page.textContent("#plans tbody tr")).includes("verdict"));
  assert.deepEqual(trouble, []);
  await context.close();
};

try {
  for (const check of [checkSlider, checkSources, checkLedger, checkKeyboard, checkPaper, checkAccess, checkWithoutScripts]) {
    await check();
    console.log(check.name + ": holds");
  }
} finally {
  await browser.close();
}
