"""Opens the files of a report with other programs and compares what they say.

The workbook is read by openpyxl. Its formulas are computed anew by LibreOffice, from a copy whose stored results are taken away, so that nothing
can be repeated that was not computed. The ledger is read from the workbook, from ledger.csv by Python's csv, and from ledger.parquet by pyarrow,
and every amount compared as a decimal.

    pip install openpyxl pyarrow
    cargo build
    python benches/peers/workbook.py --out benches/peers/workbook.json

LibreOffice is left out, and said to be, where no `soffice` is found. The exit code is 1 where anything differs.
"""

import argparse
import csv
import json
import re
import shutil
import subprocess
import sys
import tempfile
import zipfile
from decimal import Decimal
from pathlib import Path

import openpyxl
import pyarrow
import pyarrow.parquet

ROOT = Path(__file__).resolve().parents[2]
SCENARIOS = ["scenarios/river-sonde", "scenarios/first-look"]
TOTALS = ["amount", "outlay", "consumed", "avoidable"]


def report(command, scenario, folder):
    """Writes every file of a report."""
    options = ["--xlsx", "--parquet", "--force", "-o", str(folder)]
    subprocess.run([command, "report", str(ROOT / scenario), *options], check=True, capture_output=True)


def without_results(book, copy):
    """The workbook without what its formulas come to."""
    with zipfile.ZipFile(book) as old, zipfile.ZipFile(copy, "w") as new:
        for part in old.infolist():
            data = old.read(part)
            if part.filename.startswith("xl/worksheets/sheet"):
                data = re.sub(rb"(</f>)<v>[^<]*</v>", rb"\1", data)
            new.writestr(part.filename, data)


def recomputed(book, folder):
    """The workbook as LibreOffice computes and writes it; None without LibreOffice."""
    soffice = shutil.which("soffice")
    if soffice is None:
        return None
    bare, out = folder / "bare.xlsx", folder / "computed"
    without_results(book, bare)
    profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    convert = [soffice, profile, "--headless", "--convert-to", "xlsx", "--outdir", str(out), str(bare)]
    subprocess.run(convert, check=True, capture_output=True, timeout=300)
    return openpyxl.load_workbook(out / "bare.xlsx", data_only=True)


def formulas(book):
    """Every formula with its result, by sheet and cell."""
    how = openpyxl.load_workbook(book)
    told = openpyxl.load_workbook(book, data_only=True)
    found = {}
    for sheet in how:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    found[sheet.title, cell.coordinate] = told[sheet.title][cell.coordinate].value
    return how, found


def ledgers(folder, how):
    """The amounts of every entry as three readers see them."""
    with open(folder / "ledger.csv", newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    by_csv = [[Decimal(row[total]) for total in TOTALS] for row in rows]
    table = pyarrow.parquet.read_table(folder / "ledger.parquet").to_pylist()
    by_parquet = [[row[total] for total in TOTALS] for row in table]
    sheet = how["ledger"]
    columns = {cell.value: cell.column for cell in sheet[2]}
    by_sheet = [
        [Decimal(str(sheet.cell(line, columns[total]).value)) for total in TOTALS]
        for line in range(3, sheet.max_row + 1)
    ]
    texts = [name for name in table[0] if isinstance(table[0][name], str)]
    plain = lambda text: text[1:] if text[:1] == "'" else text
    same_text = all(plain(a[name]) == b[name] for a, b in zip(rows, table) for name in texts)
    return by_csv, by_parquet, by_sheet, same_text


def one(command, scenario, folder):
    report(command, scenario, folder)
    book = folder / "report.xlsx"
    how, told = formulas(book)
    by_csv, by_parquet, by_sheet, same_text = ledgers(folder, how)
    computed = recomputed(book, folder)
    differ = None
    if computed is not None:
        # Results are rounded to whole minor units: equal means equal.
        differ = [
            f"{sheet}!{cell}"
            for (sheet, cell), value in told.items()
            if computed[sheet][cell].value is None
            or Decimal(str(computed[sheet][cell].value)) != Decimal(str(value))
        ]
    answer = json.loads((folder / "answer.json").read_text(encoding="utf-8"))
    return {
        "scenario": scenario,
        "plan": answer["verdict"]["plan"],
        "entries": len(by_csv),
        "totals": {t: str(sum(row[i] for row in by_csv)) for i, t in enumerate(TOTALS)},
        "ledgers_equal": by_csv == by_parquet == by_sheet and same_text,
        "sheets": how.sheetnames,
        "charts": {sheet.title: len(sheet._charts) for sheet in how if sheet._charts},
        "formulas": len(told),
        "differ_in_libreoffice": differ,
    }


def version(computed):
    if not computed:
        return None
    said = subprocess.run(["soffice", "--version"], check=True, capture_output=True, text=True)
    return said.stdout.split(" ")[1]


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--command", default=str(ROOT / "target/debug/flipcount"))
    parser.add_argument("--out", help="where the result is stored")
    args = parser.parse_args()
    results = []
    for scenario in SCENARIOS:
        with tempfile.TemporaryDirectory() as folder:
            results.append(one(args.command, scenario, Path(folder)))
    if results[0]["differ_in_libreoffice"] is None:
        print("LEFT OUT: no soffice here, nothing was computed anew", file=sys.stderr)
    whole = {
        "openpyxl": openpyxl.__version__,
        "pyarrow": pyarrow.__version__,
        "libreoffice": version(shutil.which("soffice")),
        "reports": results,
    }
    text = json.dumps(whole, indent=2) + "\n"
    if args.out:
        Path(args.out).write_text(text, encoding="utf-8")
    print(text, end="")
    wrong = [r for r in results if not r["ledgers_equal"] or r["differ_in_libreoffice"]]
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main()
