"""Runs every pair of flipcount and another program side by side, and prints ratios and growth.

    python benches/peers/all.py [--quick] [--out OUT.json]

It builds the release command, the measuring example and the program of the mesh-loader crate, and then lets the scripts beside it ask both of
a pair the same questions in turns, at sizes that are ten times each other: `sweep.py`, `sampling_numpy.py`, `sampling_shared_numpy.py`,
`mesh_bench.py`. What is counted, and what has to agree before a ratio is printed, stands in each of them. The times here are CPU seconds, the
least of the rounds, on one thread. A pair whose results differ has no ratio, and the exit code is 1; a peer that is not installed is left out
and said to be.

Needs numpy. For all pairs: trimesh; libreoffice-calc and python3-uno. `--quick` takes the smaller sizes and fewer rounds.
"""

import argparse
import importlib.util
import json
import pathlib
import shutil
import subprocess
import sys
import tempfile

import numpy as np

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parents[1]
SAMPLES = (2_000, 20_000, 200_000)
TRIANGLES = (10_000, 100_000, 1_000_000)


def built(*args):
    """Builds with cargo and returns where its programs are, by name."""
    command = ["cargo", "build", "--release", "--message-format=json-render-diagnostics", *args]
    lines = subprocess.run(command, cwd=ROOT, check=True, stdout=subprocess.PIPE, text=True).stdout.splitlines()
    told = [json.loads(line) for line in lines]
    return {one["target"]["name"]: one["executable"] for one in told if one.get("executable")}


def asked(script, *args):
    """Runs one of the scripts; what it stored, or None where results differ."""
    with tempfile.TemporaryDirectory() as folder:
        out = pathlib.Path(folder) / "out.json"
        args = [str(out) if arg is OUT else str(arg) for arg in args]
        print(f"-- {script} {' '.join(args)}", flush=True)
        code = subprocess.run([sys.executable, str(HERE / script), *args], check=False).returncode
        return json.loads(out.read_text()) if code == 0 else None


OUT = object()


def sweeps(programs, quick):
    """Points of a sweep: numpy's arrays, and a spreadsheet that is recalculated."""
    office = shutil.which("soffice") and pathlib.Path("/usr/lib/python3/dist-packages/uno.py").exists()
    if not office:
        print("left out: the spreadsheet (needs libreoffice-calc and python3-uno)")
    more = ["--sheet"] if office else []
    stored = asked("sweep.py", "--command", programs["flipcount"], "--rounds", 1 if quick else 3, *more, "--out", OUT)
    if stored is None:
        return None
    found = {}
    for size, row in stored["sizes"].items():
        ours = {way: seconds for way, seconds in row.items() if way.startswith("flipcount")}
        for peer, of in (("numpy", "flipcount"), ("spreadsheet", "flipcount"), ("spreadsheet", "flipcount with CSV")):
            if peer in row:
                found.setdefault((f"{of}, a sweep", peer, "points"), []).append((int(size), ours[of], row[peer]))
    return found


def samplings(script, what):
    def run(programs, quick):
        rows = []
        for samples in SAMPLES[: 2 if quick else 3]:
            stored = asked(script, "--command", programs["flipcount"], "--samples", samples, "--rounds", 2 if quick else 5, "--out", OUT)
            if stored is None:
                return None
            best = stored["best"]
            rows.append((samples, best["flipcount"]["cpu"], best["numpy"]["cpu"]))
        return {(f"samples, {what}", "numpy", "samples"): rows}

    return run


def ball(triangles, path):
    """A closed surface of about so many triangles, dented so that nothing cancels, as binary STL."""
    around = int((triangles / 2) ** 0.5)
    down = triangles // (2 * around)
    angle, height = np.meshgrid(np.arange(around + 1) * 2 * np.pi / around, np.arange(down + 1) * np.pi / down)
    far = 40 + np.sin(5 * angle) * np.sin(height) ** 2 + np.cos(3 * height)
    far[:, -1] = far[:, 0]
    angle[:, -1] = 0
    points = np.stack([far * np.sin(height) * np.cos(angle), far * np.sin(height) * np.sin(angle), far * np.cos(height)], axis=-1)
    a, b, c, d = points[:-1, :-1], points[1:, :-1], points[1:, 1:], points[:-1, 1:]
    corners = np.concatenate([np.stack([a, b, c], axis=2).reshape(-1, 3, 3), np.stack([a, c, d], axis=2).reshape(-1, 3, 3)])
    record = np.zeros(len(corners), np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")]))
    record["corners"] = corners
    with open(path, "wb") as file:
        file.write(b"\0" * 80 + np.uint32(len(corners)).tobytes() + record.tobytes())


def meshes(programs, quick):
    """Volume, area and box of a mesh file."""
    if importlib.util.find_spec("trimesh") is None:
        print("left out: meshes (needs trimesh)")
        return {}
    found = {}
    for triangles in TRIANGLES[: 2 if quick else 3]:
        with tempfile.TemporaryDirectory() as folder:
            file = pathlib.Path(folder) / "ball.stl"
            ball(triangles, file)
            stored = asked("mesh_bench.py", programs["probe"], file, OUT, programs["peer-mesh-loader"])
        if stored is None:
            return None
        best = stored["best"]
        ours = best["measure, 1 thread"]["cpu"]
        for peer in ("trimesh", "numpy script", "mesh-loader", "sum of bytes"):
            found.setdefault(("a mesh", peer, "triangles"), []).append((triangles, ours, best[peer]["cpu"]))
    return found


def told(found):
    """One line for each size of each pair, and how both grow."""
    for (ours, peer, unit), rows in found.items():
        print(f"{ours}: {peer}")
        for work, mine, theirs in rows:
            print(f"  {work:>9,} {unit:9} {mine:10.4f} s   {peer} {theirs:10.4f} s   {theirs / mine:8.2f} times as long")
        pairs = list(zip(rows, rows[1:]))
        if pairs:
            grown = [f"{after[at] / before[at]:.1f}" for at in (1, 2) for before, after in pairs]
            half = len(pairs)
            print(f"  ten times the {unit}: {', '.join(grown[:half])} times the time; {peer} {', '.join(grown[half:])}")


def main():
    parse = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parse.add_argument("--quick", action="store_true", help="smaller sizes, fewer rounds")
    parse.add_argument("--out")
    args = parse.parse_args()
    programs = built("--no-default-features", "--bin", "flipcount", "--example", "probe")
    programs |= built("--manifest-path", str(HERE / "mesh-loader" / "Cargo.toml"))
    pairs = (
        sweeps,
        samplings("sampling_numpy.py", "one part"),
        samplings("sampling_shared_numpy.py", "a bench shared by two"),
        meshes,
    )
    results = [pair(programs, args.quick) for pair in pairs]
    found = {pair: rows for result in results for pair, rows in (result or {}).items()}
    print("\nCPU seconds, one thread")
    told(found)
    if args.out:
        document = [dict(of=of, peer=peer, unit=unit, rows=rows) for (of, peer, unit), rows in found.items()]
        pathlib.Path(args.out).write_text(json.dumps(document, indent=1) + "\n", encoding="utf-8")
    if any(result is None for result in results):
        sys.exit("some results differ: those have no ratio")


if __name__ == "__main__":
    main()
