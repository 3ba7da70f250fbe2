"""A spreadsheet of the points that `sweep.py` asks about: a row for each point, a cell for each entry; times one recalculation of all cells.

Runs in the Python that has the office's own library (`uno`); `sweep.py` calls it with a file that says what to do.
"""

import json
import os
import pathlib
import subprocess
import sys
import tempfile
import time

import uno
from com.sun.star.beans import PropertyValue
from com.sun.star.sheet.FillDirection import TO_BOTTOM


def ticks(pid):
    """CPU seconds of a process so far."""
    fields = pathlib.Path(f"/proc/{pid}/stat").read_text().rsplit(") ", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def office(profile):
    """Starts an office of our own and connects to it."""
    pipe = f"flipcount{os.getpid()}"
    args = ["soffice", "--headless", "--norestore", "--nologo", f"-env:UserInstallation=file://{profile}", f"--accept=pipe,name={pipe};urp;"]
    process = subprocess.Popen(args, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    resolver = uno.getComponentContext().ServiceManager.createInstance("com.sun.star.bridge.UnoUrlResolver")
    for _ in range(600):
        try:
            context = resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
            return process, context
        except Exception:
            time.sleep(0.2)
    raise SystemExit("the office does not answer")


def own_processes(parent):
    """The process and its children: the office is a child of a script."""
    found = [parent]
    for path in pathlib.Path("/proc").glob("[0-9]*/stat"):
        try:
            pid, rest = path.read_text().split(" ", 1)
            if int(rest.rsplit(") ", 1)[1].split()[1]) in found:
                found.append(int(pid))
        except OSError:
            continue
    return found


def formulas(row, asked):
    """The cells of one point behind its three values: entries of the bench, of the house, totals, the verdict."""
    c, n = asked["constants"], asked["constants"]["iterations"]
    a, b, d = f"A{row}", f"B{row}", f"C{row}"
    work = [f"=ROUND({c['work']!r}*{a};2)"] * n
    resin = [f"=ROUND({c['resin']!r}*{b};2)"] * n
    piece = [f"=ROUND({d};2)"] * n
    parcel = [f"=ROUND({c['delivery']!r};2)"] * n
    order = [f"=ROUND({c['order']!r}*{a};2)"] * n
    first = [f"={c['first']!r}"]
    cells = work + resin + first + piece + parcel + order
    name = lambda index: column(3 + index)
    span = lambda start, count: f"{name(start)}{row}:{name(start + count - 1)}{row}"
    w, r, f, p, q, o = span(0, n), span(n, n), f"{name(2 * n)}{row}", span(2 * n + 1, n), span(3 * n + 1, n), span(4 * n + 1, n)
    totals = [f"=ROUND(SUM({w};{r};{f});2)", f"=ROUND(SUM({r};{f});2)", f"=ROUND(SUM({w};{r});2)"]
    totals += [f"=ROUND(SUM({p};{q};{o});2)", f"=ROUND(SUM({p};{q});2)", f"=ROUND(SUM({p};{q};{o});2)"]
    at = len(cells)
    x, y = f"{name(at)}{row}", f"{name(at + 3)}{row}"
    limit = f"MIN({x};{y})*{1 + asked['close']!r}"
    quicker = 0 if asked["days"][0] <= asked["days"][1] else 1
    verdict = f"=IF(AND({x}<={limit};{y}<={limit});{quicker};IF({x}<{y};0;1))"
    return cells + totals + [verdict]


def column(index):
    name = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        name = chr(65 + rest) + name
    return name


def main():
    asked = json.loads(pathlib.Path(sys.argv[1]).read_text())
    first, second, third = asked["axes"]
    points = [(a, b, c) for a in first for b in second for c in third]
    with tempfile.TemporaryDirectory() as profile:
        process, context = office(profile)
        try:
            desktop = context.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", context)
            hidden = PropertyValue()
            hidden.Name, hidden.Value = "Hidden", True
            document = desktop.loadComponentFromURL("private:factory/scalc", "_blank", 0, (hidden,))
            document.enableAutomaticCalculation(False)
            cells = document.Sheets.getByIndex(0)
            width = 3 + len(formulas(1, asked))
            cells.getCellRangeByPosition(0, 0, 2, len(points) - 1).setDataArray(tuple(points))
            cells.getCellRangeByPosition(3, 0, width - 1, 0).setFormulaArray((tuple(formulas(1, asked)),))
            cells.getCellRangeByPosition(3, 0, width - 1, len(points) - 1).fillAuto(TO_BOTTOM, 1)
            document.calculateAll()
            pids = own_processes(process.pid)
            # The clock of the system ticks in hundredths: repeated until a second has been worked.
            times, before = 0, sum(ticks(pid) for pid in pids)
            while times < 3 or (times < 200 and sum(ticks(pid) for pid in pids) - before < 1):
                document.calculateAll()
                times += 1
            spent = (sum(ticks(pid) for pid in pids) - before) / times
            data = cells.getCellRangeByPosition(width - 7, 0, width - 1, len(points) - 1).getDataArray()
            document.close(True)
        finally:
            try:
                desktop.terminate()
            except Exception:
                process.terminate()
            process.wait(60)
    cents = [[[round(row[3 * plan + k] * 100) for row in data] for k in range(3)] for plan in range(2)]
    version = subprocess.run(["soffice", "--version"], capture_output=True, text=True).stdout.strip()
    told = dict(cpu=spent, totals=cents, winner=[round(row[6]) for row in data], cells=len(points) * (width - 3), office=version)
    pathlib.Path(asked["out"]).write_text(json.dumps(told))


if __name__ == "__main__":
    main()
