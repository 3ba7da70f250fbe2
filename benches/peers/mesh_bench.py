"""Times volume, area and box of one large binary STL: this project against others, same file, same run, page cache warm.

    python benches/peers/mesh_bench.py PROBE FILE OUT.json [PEER_MESH_LOADER]

PROBE is `examples/probe.rs`, PEER_MESH_LOADER the program in benches/peers/mesh-loader, both built with --release. Needs trimesh and numpy. All
are run in turns; the least of ROUNDS is taken, once by the clock and once by processor time, since other work on the machine
lengthens the first. Times are taken inside of each process, without its start. Ratios are printed only if all results agree.
"""

import json
import pathlib
import platform
import subprocess
import sys
import time

import numpy as np

ROUNDS = 7
RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def by_trimesh(path):
    """Load without merging, then volume, area and box."""
    import trimesh

    start, cpu = time.perf_counter(), time.process_time()
    mesh = trimesh.load(path, process=False)
    volume = float(mesh.volume)
    spent = time.perf_counter() - start, time.process_time() - cpu
    return {"volume": volume, "area": float(mesh.area), "size": mesh.extents.tolist(), "seconds": spent[0], "cpu": spent[1], "version": trimesh.__version__}


def by_numpy(path):
    """What one writes in a minute: a record type, cross products, sums."""
    start, cpu = time.perf_counter(), time.process_time()
    with open(path, "rb") as file:
        file.seek(84)
        corners = np.fromfile(file, RECORD)["corners"].astype(float)
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    normal = np.cross(b - a, c - a)
    volume = float(np.einsum("ij,ij->", a, normal) / 6)
    area = float(np.sqrt(np.einsum("ij,ij->i", normal, normal)).sum() / 2)
    size = (corners.max((0, 1)) - corners.min((0, 1))).tolist()
    spent = time.perf_counter() - start, time.process_time() - cpu
    return {"volume": volume, "area": area, "size": size, "seconds": spent[0], "cpu": spent[1], "version": np.__version__}


def by_command(*command):
    import resource

    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    answer = json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    # With the start of the process, some ms: to the disadvantage of the command.
    answer["cpu"] = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return answer


def in_process(function, path):
    """Each round in a fresh interpreter."""
    code = f"import sys, json, mesh_bench; print(json.dumps(mesh_bench.{function}(sys.argv[1])))"
    run = subprocess.run([sys.executable, "-c", code, path], check=True, capture_output=True, text=True, cwd=pathlib.Path(__file__).parent)
    return json.loads(run.stdout)


def agree(a, b):
    pairs = [(a["volume"], b["volume"]), (a["area"], b["area"]), *zip(a["size"], b["size"])]
    return all(abs(x - y) <= 1e-6 * abs(y) for x, y in pairs)


def main():
    probe, path, out, *peer = sys.argv[1:]
    path = str(pathlib.Path(path).resolve())
    ways = {
        "measure, 2 threads": lambda: by_command(probe, "measure", path, "2"),
        "measure, 1 thread": lambda: by_command(probe, "measure", path, "1"),
        "weld and check": lambda: by_command(probe, "check", path),
        "sum of bytes": lambda: by_command(probe, "bytes", path),
        "trimesh": lambda: in_process("by_trimesh", path),
        "numpy script": lambda: in_process("by_numpy", path),
    }
    if peer:
        ways["mesh-loader"] = lambda: by_command(peer[0], path)
    rounds = {name: [] for name in ways}
    for _ in range(ROUNDS):
        for name, way in ways.items():
            rounds[name].append(way())
    best = {name: {key: min(answer[key] for answer in answers) for key in ("seconds", "cpu")} for name, answers in rounds.items()}
    for name, answers in rounds.items():
        best[name] |= {key: answers[0][key] for key in ("volume", "area", "peak", "version") if key in answers[0]}
    ours = rounds["measure, 2 threads"][0]
    same = [name for name, answers in rounds.items() if "size" in answers[0] and agree(answers[0], ours)]
    if len(same) < len([name for name, answers in rounds.items() if "size" in answers[0]]):
        sys.exit(f"results differ, no ratios: {rounds}")
    size = pathlib.Path(path).stat().st_size
    for name, row in best.items():
        row["GB/s"] = size / row["seconds"] / 1e9
        row["times ours"] = row["seconds"] / best["measure, 2 threads"]["seconds"]
        row["times ours, cpu"] = row["cpu"] / best["measure, 1 thread"]["cpu"]
        print(
            f"{name:20} {row['seconds'] * 1000:8.1f} ms {row['cpu'] * 1000:8.1f} ms cpu {row['GB/s']:6.2f} GB/s"
            f" {row['times ours']:7.2f} times ours, {row['times ours, cpu']:7.2f} by cpu, peak {row.get('peak', 0) / 1e6:.1f} MB"
        )
    about = {"machine": platform.processor() or platform.machine(), "python": platform.python_version(), "bytes": size, "rounds": ROUNDS}
    pathlib.Path(out).write_text(json.dumps({"about": about, "best": best}, indent=1))


if __name__ == "__main__":
    main()
